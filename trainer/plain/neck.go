package plain

import (
	"fmt"
	"io"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// Tune tells a tune: a line for what holds for all of it, then one for each bar of
// each section, its chords, its bass line, what is struck and its words.
func Tune(w io.Writer, t *tune.Tune) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: key %s, %s, %g BPM, swing %s, form %s.\n", t.Title, t.Key, t.Meters(), t.Tempo, t.Swing, strings.Join(t.FormOrder(), " "))
	if t.Trains != "" {
		b.WriteString(t.Trains + "\n")
	}
	for k := range t.Sections {
		s := &t.Sections[k]
		fmt.Fprintf(&b, "\nSection %s.", s.Name)
		if c := t.CompingOf(s); c != tune.NoComping {
			fmt.Fprintf(&b, " Comping %s.", c)
		}
		b.WriteByte('\n')
		for i := range s.Bars {
			bar := &s.Bars[i]
			says := []string{barWords(tune.FormBar{Number: i + 1, Bar: bar, Meter: t.MeterOf(s)})}
			for beat, h := range bar.Hits {
				if h.Hit == tune.NoHit || h.Hit == tune.HitLayer {
					continue
				}
				hit := fmt.Sprintf("hit on beat %d%s", beat+1, hitWords[h.Hit])
				if h.Held {
					hit += ", held"
				}
				says = append(says, hit)
			}
			for beat, x := range bar.Shapes {
				if x.Frets != nil {
					says = append(says, fmt.Sprintf("on beat %d shape %s", beat+1, x))
				}
			}
			if bar.Words != "" {
				says = append(says, "words "+bar.Words)
			}
			b.WriteString(spoken(strings.Join(says, "; ")) + ".\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Arrangement tells where to play a tune: a line for each bar, and under it one for
// each bass note and each shape.
func Arrangement(w io.Writer, a *fretboard.Arrangement) error {
	var b strings.Builder
	form := a.Tune.Unroll()
	fmt.Fprintf(&b, "%s: key %s, %s, %g BPM, %s, %d bars.\n", a.Tune.Title, a.Tune.Key, a.Tune.Meters(), a.Tune.Tempo, spoken(a.Layer.Title()), len(form))
	for _, bar := range form {
		b.WriteString("\n" + strings.Join(barOf(a, bar), "\n") + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// barOf tells where to play a bar of the form, a line for each note and each shape.
func barOf(a *fretboard.Arrangement, bar tune.FormBar) []string {
	head := fmt.Sprintf("Bar %d, section %s bar %d.", bar.Number, bar.Section, bar.SectionBar)
	if bar.Bar.Words != "" {
		head += " " + bar.Bar.Words + "."
	}
	lines := []string{head}
	for i := range a.Events {
		if a.Events[i].At.Bar == bar.Number {
			lines = append(lines, spoken(eventWords(a.Neck, &a.Events[i])))
		}
	}
	return lines
}

// hitWords is how a hit lies to its beat.
var hitWords = map[tune.Hit]string{
	tune.HitAnd: ", on the offbeat", tune.HitBoth: ", on the beat and the offbeat", tune.HitPush: ", pushed: on the offbeat before its bass note",
}

func eventWords(n fretboard.Neck, e *fretboard.Event) string {
	beat := fmt.Sprintf("Beat %d", e.At.Beat)
	if e.At.Off {
		beat += " and"
	}
	if e.Kind == fretboard.ShapeEvent {
		hit := hitWords[e.Hit]
		if e.Held {
			hit += ", held"
		}
		return fmt.Sprintf("%s%s, shape %s. %s. Hand: %s.", beat, hit, fretboard.FormatFrets(e.Frets), capital(n.ReadOver(e.Frets, e.Chord).Says), handWords(e.Frets, e.Fingers))
	}
	finger := "open"
	if e.Finger > 0 {
		finger = fmt.Sprintf("finger %d", e.Finger)
	}
	return fmt.Sprintf("%s: %s of %s, %s, string %d fret %d, %s.", beat, e.Degree, e.Chord, e.Note.Note, e.Place.String, e.Place.Fret, finger)
}

// Choices tells what the shape of each hit does, and the best that could be struck there,
// most of them at most, as sentences.
func Choices(w io.Writer, a *fretboard.Arrangement, most int) error {
	var b strings.Builder
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != fretboard.ShapeEvent {
			continue
		}
		b.WriteString(spoken(fmt.Sprintf("Bar %d, %s, %s: %s.", e.At.Bar, beatWords(e.At), e.Chord, a.Says(i))) + "\n")
		choices := a.Choices(i)
		for k, c := range choices[:min(most, len(choices))] {
			says := "it is the one that is played"
			if k > 0 {
				says = c.Beside(choices[0])
			}
			b.WriteString(spoken(fmt.Sprintf("Choice %d, shape %s: %s.", k+1, fretboard.FormatFrets(c.Frets), says)) + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Remarks tells what is good and bad about a line, a sentence each, and a better bar for
// each fault.
func Remarks(w io.Writer, remarks []walk.Remark) error {
	var b strings.Builder
	bar := 0
	for _, r := range remarks {
		if r.At.Bar != bar {
			bar = r.At.Bar
			fmt.Fprintf(&b, "\n%s.\n", capital(r.Head()))
		}
		b.WriteString(spoken(fmt.Sprintf("%s, beat %s: %s.", capital(r.Rule.Kind()), beatWords(r.At), strings.TrimSuffix(r.Says, "."))) + "\n")
		if r.Better != nil {
			b.WriteString(spoken(fmt.Sprintf("Better: %s. That has grade %d.", tune.BassCell(r.Better), r.BetterGrade)) + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// shownShapes is how many shapes are told.
const shownShapes = 10

// Shapes tells the best of the shapes that a search found, a line each.
func Shapes(w io.Writer, n fretboard.Neck, q fretboard.Query, shapes []fretboard.Shape) error {
	var b strings.Builder
	what := q.Chord.Spoken()
	if q.Bass != (harmony.Degree{}) {
		what += " with its " + q.Bass.Spoken() + " in the bass"
	}
	switch shown := min(shownShapes, len(shapes)); {
	case shown == 0:
		fmt.Fprintf(&b, "No shape of %s fits the hand on the bass strings.\n", what)
	case shown < len(shapes):
		fmt.Fprintf(&b, "%s has %d shapes; the best %d, best first:\n", what, len(shapes), shown)
	default:
		fmt.Fprintf(&b, "%s, best first:\n", what)
	}
	for i, s := range shapes[:min(shownShapes, len(shapes))] {
		fmt.Fprintf(&b, "%d. %s\n", i+1, spoken(shapeWords(n, q.Chord, &s)))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Family tells the places of one shape's family up the neck, a line each.
func Family(w io.Writer, n fretboard.Neck, h fretboard.Hand, c harmony.Chord, shapes []fretboard.Shape) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s up the neck, %s:\n", c.Spoken(), harmony.Counted(len(shapes), "place"))
	for i := range shapes {
		wide := ""
		if shapes[i].SpanMM > h.ReachMM {
			wide = " That is past your reach."
		}
		fmt.Fprintf(&b, "%d. %s%s\n", i+1, spoken(shapeWords(n, c, &shapes[i])), wide)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// shapeWords tells what a shape is and how the hand holds it.
func shapeWords(n fretboard.Neck, c harmony.Chord, s *fretboard.Shape) string {
	return fmt.Sprintf("%s. %s. Hand: %s; reach %.0f millimeters.", s, capital(n.ReadOver(s.Frets, c).Says), handWords(s.Frets, s.Fingers), s.SpanMM)
}

// handWords tells which finger is on which string.
func handWords(frets, fingers []int) string {
	var on []string
	for str, f := range frets {
		if f > 0 && str < len(fingers) {
			on = append(on, fmt.Sprintf("%d on string %d", fingers[str], len(frets)-str))
		}
	}
	if len(on) == 0 {
		return "open strings only"
	}
	return "finger " + strings.Join(on, ", ")
}

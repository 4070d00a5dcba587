package plain

import (
	"fmt"
	"io"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
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
				hit := fmt.Sprintf("hit %s at beat %d", h.Hit, beat+1)
				if h.Held {
					hit += ", held"
				}
				says = append(says, hit)
			}
			for beat, x := range bar.Shapes {
				if x.Frets != nil {
					says = append(says, fmt.Sprintf("shape %s at beat %d", x, beat+1))
				}
			}
			if bar.Words != "" {
				says = append(says, "words "+bar.Words)
			}
			b.WriteString(strings.Join(says, "; ") + ".\n")
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
	fmt.Fprintf(&b, "%s: key %s, %s, %g BPM, %s, %d bars.\n", a.Tune.Title, a.Tune.Key, a.Tune.Meters(), a.Tune.Tempo, a.Layer, len(form))
	events := a.Events
	for _, bar := range form {
		fmt.Fprintf(&b, "\nBar %d, section %s bar %d.", bar.Number, bar.Section, bar.SectionBar)
		if bar.Bar.Words != "" {
			fmt.Fprintf(&b, " %s.", bar.Bar.Words)
		}
		b.WriteByte('\n')
		for ; len(events) > 0 && events[0].At.Bar == bar.Number; events = events[1:] {
			b.WriteString(spoken(eventWords(a.Neck, &events[0])) + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func eventWords(n fretboard.Neck, e *fretboard.Event) string {
	beat := fmt.Sprintf("Beat %d", e.At.Beat)
	if e.At.Off {
		beat += " and"
	}
	if e.Kind == fretboard.ShapeEvent {
		hit := map[tune.Hit]string{
			tune.HitAnd: ", on the offbeat", tune.HitBoth: ", on the beat and the offbeat", tune.HitPush: ", pushed: on the offbeat before its bass note",
		}[e.Hit]
		if e.Held {
			hit += ", held"
		}
		return fmt.Sprintf("%s, shape %s%s: %s.", beat, fretboard.FormatFrets(e.Frets), hit, n.ReadOver(e.Frets, e.Chord).Says)
	}
	finger := "open"
	if e.Finger > 0 {
		finger = fmt.Sprintf("finger %d", e.Finger)
	}
	return fmt.Sprintf("%s: %s of %s, %s, string %d fret %d, %s.", beat, e.Degree, e.Chord, e.Note.Note, e.Place.String, e.Place.Fret, finger)
}

// shownShapes is how many shapes are told.
const shownShapes = 10

// Shapes tells the best of the shapes that a search found, a line each.
func Shapes(w io.Writer, n fretboard.Neck, q fretboard.Query, shapes []fretboard.Shape) error {
	var b strings.Builder
	what := q.Chord.Symbol
	if q.Bass != (harmony.Degree{}) {
		what += " with its " + q.Bass.String() + " in the bass"
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
	fmt.Fprintf(&b, "%s up the neck, %s:\n", c.Symbol, counted(len(shapes), "place"))
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
	var fingers []string
	for str, f := range s.Frets {
		if f > 0 {
			fingers = append(fingers, fmt.Sprintf("%d on string %d", s.Fingers[str], len(s.Frets)-str))
		}
	}
	hand := "open strings only"
	if len(fingers) > 0 {
		hand = "finger " + strings.Join(fingers, ", ")
	}
	return fmt.Sprintf("%s: %s. Hand: %s; reach %.0f millimeters.", s, n.ReadOver(s.Frets, c).Says, hand, s.SpanMM)
}

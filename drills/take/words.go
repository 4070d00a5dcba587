package take

import (
	"fmt"
	"strings"
	"time"

	"footfall/fretboard"
)

// Report tells how the take went in a few plain lines, the sum first.
func (sc *Score) Report() []string {
	lines := []string{sc.sum()}
	lines = append(lines, sc.Causes()...)
	if sc.Matched > 0 {
		lines = append(lines, sc.timing())
	}
	if o := sc.Offbeats; o.Expected > 0 {
		line := fmt.Sprintf("On the offbeat: %d of %d right.", o.Matched, o.Expected)
		if o.Heard > 0 {
			line = fmt.Sprintf("On the offbeat: %d of %d right; swing %.1f to 1, %.1f to 1 asked; spread %s.",
				o.Matched, o.Expected, o.Heard, o.Wanted, milliseconds(o.Spread))
		}
		lines = append(lines, line)
	}
	if len(sc.Bars) > 0 && sc.Bars[0].Faults() > 0 {
		b := sc.Bars[0]
		lines = append(lines, fmt.Sprintf("Worst bar: %d (section %s, bar %d): %s.", b.Bar, b.Section, b.SectionBar, b.faults()))
	}
	if len(sc.Degrees) > 0 && sc.Degrees[0].Faults() > 0 {
		d := sc.Degrees[0]
		lines = append(lines, fmt.Sprintf("Worst degree: %s: %s of %d.", d.Degree, d.faults(), d.Expected))
	}
	if !sc.StringsKnown && len(sc.Played) > 0 {
		lines = append(lines, "Which strings were played, the input does not tell.")
	}
	if clean, why := sc.Clean(); clean {
		lines = append(lines, "A clean pass.")
	} else {
		lines = append(lines, "Not a clean pass: "+why+".")
	}
	return lines
}

func (sc *Score) sum() string {
	parts := []string{fmt.Sprintf("%d of %d right", sc.Matched, sc.Expected)}
	if sc.WrongString > 0 {
		parts[0] += fmt.Sprintf(" (%d on another string)", sc.WrongString)
	}
	if faults := sc.faults(); faults != "" {
		parts = append(parts, faults)
	}
	if sc.NotHeard > 0 {
		parts = append(parts, fmt.Sprintf("%d not heard", sc.NotHeard))
	}
	if sc.Unsure > 0 {
		parts = append(parts, fmt.Sprintf("%d unsure", sc.Unsure))
	}
	return strings.Join(parts, ", ") + "."
}

// faults lists what went wrong, "" for nothing.
func (c Counts) faults() string {
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{c.Missed, "missed"}, {c.WrongOctave, "in the wrong octave"}, {c.WrongPitch, "wrong"}, {c.Extra, "too many"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	return strings.Join(parts, ", ")
}

func (sc *Score) timing() string {
	mean := "In time on average"
	if m := sc.Lead().Round(time.Millisecond); m != 0 {
		mean = lateness(m) + " on average"
	}
	drift := "no drift"
	if d := sc.Timing.Drift.Round(time.Millisecond); d > 0 {
		drift = milliseconds(d) + " later at the end than at the beginning"
	} else if d < 0 {
		drift = milliseconds(-d) + " earlier at the end than at the beginning"
	}
	return fmt.Sprintf("%s, spread %s, %s.", mean, milliseconds(sc.Timing.Spread), drift)
}

// lateness is an offset in words: "12 ms late", "8 ms early".
func lateness(d time.Duration) string {
	if d < 0 {
		return milliseconds(-d) + " early"
	}
	return milliseconds(d) + " late"
}

func milliseconds(d time.Duration) string {
	return fmt.Sprintf("%d ms", d.Round(time.Millisecond).Milliseconds())
}

// Fault tells in a line what was not right about an event, "" if nothing was.
// A hit that counts as right may still have left a note out or added one.
func (sc *Score) Fault(i int) string {
	e, o := &sc.Events[i], &sc.Outcomes[i]
	said := sc.said(e, o)
	if said == "" || sc.Fit.StoppedBar > 0 && e.At.Bar > sc.Fit.StoppedBar {
		return "" // or told by the stop
	}
	beat := fmt.Sprint(e.At.Beat)
	if e.At.Off {
		beat += " and"
	}
	return fmt.Sprintf("Bar %d beat %s, %s: %s.", e.At.Bar, beat, e.Chord.Symbol, said)
}

func (sc *Score) said(e *Expected, o *Outcome) string {
	if o.Verdict == Skipped {
		return ""
	}
	if e.Kind == fretboard.ShapeEvent {
		return sc.saidOfHit(e, o)
	}
	want := wantWords(e, e.Notes[0])
	switch o.Verdict {
	case Missed:
		if o.Outside != 0 {
			return want + " came " + lateness(o.Outside)
		}
		return want + " missed"
	case NotHeard, Unsure:
		return want + " " + o.Verdict.String()
	case WrongString:
		return fmt.Sprintf("%s on string %d, not %d", want, sc.Played[o.Notes[0].Played].String, e.Notes[0].Place.String)
	case WrongOctave:
		return fmt.Sprintf("%s in the wrong octave", want)
	case WrongPitch:
		return fmt.Sprintf("%s played for %s", midiWords(e, sc.Played[o.Notes[0].Played].MIDI), want)
	}
	return ""
}

func (sc *Score) saidOfHit(e *Expected, o *Outcome) string {
	var parts []string
	switch o.Verdict {
	case Missed, NotHeard, Unsure:
		said := "the hit on " + e.Degree.String() + " " + o.Verdict.String()
		for _, c := range o.Absent {
			said += ", " + midiWords(e, c) + " hardly there"
		}
		for _, c := range o.Foreign {
			said += ", " + midiWords(e, c) + " in it"
		}
		return said
	case WrongOctave:
		return "the hit on " + e.Degree.String() + " in the wrong octave"
	}
	for k, m := range o.Notes {
		if o.Whole {
			break
		}
		want := wantWords(e, e.Notes[k])
		switch m.Verdict {
		case Missed:
			parts = append(parts, want+" left out")
		case WrongString:
			parts = append(parts, fmt.Sprintf("%s on string %d, not %d", want, sc.Played[m.Played].String, e.Notes[k].Place.String))
		case WrongOctave:
			parts = append(parts, want+" in the wrong octave")
		case WrongPitch:
			parts = append(parts, fmt.Sprintf("%s for %s", midiWords(e, sc.Played[m.Played].MIDI), want))
		}
	}
	for _, j := range o.Added {
		parts = append(parts, midiWords(e, sc.Played[j].MIDI)+" added")
	}
	if len(parts) == 0 {
		return ""
	}
	return "in the hit on " + e.Degree.String() + ": " + strings.Join(parts, ", ")
}

// wantWords names a note by its degree and spelling: "b7 (Eb)".
func wantWords(e *Expected, w Want) string {
	return fmt.Sprintf("%s (%s)", w.Degree, w.Degree.Of(e.Chord.Root))
}

// midiWords names a played note against the event's chord.
func midiWords(e *Expected, midi int) string {
	d := e.Chord.DegreeOf(midi)
	return fmt.Sprintf("%s (%s)", d, d.Of(e.Chord.Root))
}

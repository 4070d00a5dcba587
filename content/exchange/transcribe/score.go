// Package transcribe turns music that was written for other programs, notes at
// absolute pitches under chord symbols, into a tune: degrees with directions, on
// the range of the bass strings. What a tune cannot hold it lists.
//
// It knows no file formats: their readers hand it a Score. It is pure, and knows
// strings and frets only as the two ends of a range.
package transcribe

import (
	"errors"
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Score is music in playing order, repeats and jumps played out.
type Score struct {
	Title string
	// Key is nil where the source names none.
	Key *harmony.Key
	// Meter is that of the bars that have none of their own.
	Meter tune.Meter
	// Tempo is in quarter notes a minute, 0 where the source names none.
	Tempo  float64
	Swing  tune.Ratio
	Trains string
	Bars   []Bar
	// Told is what the reader left out, or chose where the source can be meant in
	// another way.
	Told []Loss
}

// Bar is a bar of a score.
type Bar struct {
	// Starts is set where a section starts; Section is its name, "" where the
	// source has none.
	Starts  bool
	Section string
	// Meter is the bar's own, the zero Meter where it has the score's. Where it
	// changes a section starts.
	Meter  tune.Meter
	Chords []Chord
	Notes  []Note
	// Hits and Shapes have a token a beat, or are nil.
	Hits []tune.HitToken
	// Comping is the rhythm of the bar's section, where it has no hits.
	Comping tune.Comping
	Shapes  []tune.ShapeToken
	Words   string
}

// MeterOf returns the meter of a bar, counted from 0.
func (s *Score) MeterOf(bar int) tune.Meter {
	if m := s.Bars[bar].Meter; m != (tune.Meter{}) {
		return m
	}
	return s.Meter
}

// Chord is a chord symbol and its place in the bar, in beats from 0.
type Chord struct {
	At    float64
	Chord harmony.Chord
}

// Note is a bass note. At and Length are in beats, At from the bar's start.
type Note struct {
	At, Length float64
	MIDI       int
	// Token is the degree and direction that the source itself names; Kind is
	// BassRest where it names none.
	Token tune.BassToken
}

// Loss is something in the source that the tune does not hold, or holds in
// another way.
type Loss struct {
	// Bar counts in playing order from 1; 0 is the whole piece.
	Bar  int    `json:"bar"`
	What string `json:"what"`
	// Doubt is set where the source can be meant in another way.
	Doubt bool `json:"doubt,omitempty"`
	// Kind is Title, Key, Tempo or Swing where the source names none and one was put
	// in, Letter where one may be a chord or the name of a section, else "".
	Kind string `json:"kind,omitempty"`
	// Line is the line of the source on which a Letter stands, from 1.
	Line int `json:"-"`
	// Grade is how much it matters.
	Grade Grade `json:"-"`
}

// Grade is how much a loss matters, the worst first.
type Grade uint8

// The grades.
const (
	LeftOut Grade = iota // bars, chords or notes that are not there, or stand in doubt
	Changed              // what is there in another way
	PutIn                // what the source leaves open
	Marks                // signs that a tune has no row for
)

// What a source may leave open.
const (
	Title = "title"
	Key   = "key"
	Tempo = "tempo"
	Swing = "swing"
	// Letter is the kind of a letter before the bars of a line that was read as a chord.
	Letter = "letter"
)

// Gathered puts losses that say the same of several bars together, the worst first, and
// of more than most keeps the first and says how many there are. It is for reading: none
// of its bars counts.
func Gathered(losses []Loss, most int) (out []Loss) {
	bars := map[string][]int{}
	for _, l := range losses {
		if _, known := bars[l.What]; !known {
			out = append(out, l)
		}
		bars[l.What] = append(bars[l.What], l.Bar)
	}
	slices.SortStableFunc(out, func(a, b Loss) int { return int(a.Grade) - int(b.Grade) })
	if len(out) > most {
		more := Loss{What: fmt.Sprintf("and %d more of the kind; --json lists all", len(out)-most+1)}
		out = append(out[:most-1], more)
	}
	for i := range out {
		at := bars[out[i].What]
		slices.Sort(at)
		at = slices.Compact(at)
		if len(at) < 2 {
			continue
		}
		said := ""
		for k, bar := range at[:min(len(at), 6)] {
			if k > 0 {
				said += ", "
			}
			said += fmt.Sprint(bar)
		}
		if len(at) > 6 {
			said += fmt.Sprintf(" and %d more", len(at)-6)
		}
		out[i] = Loss{What: "bars " + said + ": " + out[i].What, Doubt: out[i].Doubt}
	}
	return out
}

// ErrNoChords says that a source holds notes and no chord symbols.
var ErrNoChords = errors.New("it holds no chord symbols: name the tune whose chords it goes with")

// ChordsOf returns the chords of a tune's bar, at their share of a bar of a meter.
func ChordsOf(fb tune.FormBar, m tune.Meter) (chords []Chord) {
	for _, c := range fb.Bar.Chords {
		chords = append(chords, Chord{At: float64(c.Slot) / float64(c.Slots) * float64(m.Beats()), Chord: c.Chord})
	}
	return chords
}

// Under puts the bars' notes under the chords of a tune, bar by bar of its pass, and
// tells where the bars do not agree.
func (s *Score) Under(t *tune.Tune) []Loss {
	form := t.Unroll()
	var losses []Loss
	for i := range s.Bars {
		s.Bars[i].Chords = nil
		if i >= len(form) {
			continue
		}
		fb := form[i]
		s.Bars[i].Starts, s.Bars[i].Section = fb.SectionBar == 1, fb.Section
		if fb.Meter != s.MeterOf(i) {
			losses = append(losses, Loss{Bar: i + 1, What: fmt.Sprintf("the bar is in %s, that of %s in %s", s.MeterOf(i), t.Title, fb.Meter), Doubt: true})
		}
		s.Bars[i].Chords = ChordsOf(fb, s.MeterOf(i))
	}
	if len(form) != len(s.Bars) {
		losses = append(losses, Loss{What: fmt.Sprintf("the file has %d bars and a pass of %s %d: bars beyond either are left out or without a bass", len(s.Bars), t.Title, len(form)), Doubt: true})
	}
	s.Bars = s.Bars[:min(len(s.Bars), len(form))]
	if s.Key == nil {
		key := t.Key
		s.Key = &key
	}
	return losses
}

// String says the loss with its bar.
func (l Loss) String() string {
	if l.Bar == 0 {
		return l.What
	}
	return fmt.Sprintf("bar %d: %s", l.Bar, l.What)
}

// defaultTempo is what a tune gets whose source names no tempo, in quarter notes
// a minute. Common practice, no source.
const defaultTempo = 100

package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"footfall/fretboard"
	"footfall/harmony/tune"
)

// bar is one bar of the pass with what is written and played in it. Its places
// are half beats, counted from 0.
type bar struct {
	section string
	number  int
	start   bool // its section starts here
	meter   tune.Meter
	// turns is set where the meter is another than before.
	turns   bool
	words   string
	written *tune.Bar
	chords  map[int]string
	// bass holds the tokens of the bass row, "" where a half has none.
	bass []string
	// notes are the events that start in the bar, in order of time.
	notes, shapes []*fretboard.Event
}

// title is the bar's number, with the meter where it turns.
func (b *bar) title() string {
	if b.turns {
		return fmt.Sprintf("%d  %s", b.number, b.meter)
	}
	return strconv.Itoa(b.number)
}

// barsOf gathers an arrangement by bars.
func barsOf(a *fretboard.Arrangement) []bar {
	form := a.Tune.Unroll()
	bars := make([]bar, len(form))
	for i, fb := range form {
		halves := fb.Meter.Halves()
		b := bar{
			section: fb.Section, number: fb.Number, start: fb.SectionBar == 1, meter: fb.Meter, words: fb.Bar.Words, written: fb.Bar,
			chords: map[int]string{}, bass: make([]string, halves),
		}
		b.turns = i > 0 && fb.Meter != form[i-1].Meter
		for _, c := range fb.Bar.Chords {
			b.chords[min((c.Slot*halves+c.Slots-1)/c.Slots, halves-1)] = c.Chord.Symbol
		}
		for k, bb := range fb.Bar.Bass {
			b.bass[2*k] = bb.First.String()
			if bb.Split {
				b.bass[2*k+1] = bb.Second.String()
			}
		}
		bars[i] = b
	}
	var before *fretboard.Event
	for i := range a.Events {
		e := &a.Events[i]
		b := &bars[e.At.Bar-1]
		if e.Kind == fretboard.ShapeEvent {
			b.shapes = append(b.shapes, e)
			continue
		}
		b.notes = append(b.notes, e)
		if before != nil {
			k := e.At.Half()
			b.bass[k] = bentToken(b.written.Bass[e.At.Beat-1], e, before).String()
		}
		before = e
	}
	return bars
}

// bentToken is the token of a bass note as written, with the direction that is
// played where the line was folded in another key.
func bentToken(written tune.BassBeat, e, before *fretboard.Event) tune.BassToken {
	token := written.First
	if e.At.Off {
		token = written.Second
	}
	from, to := before.Note.MIDI(), e.Note.MIDI()
	nearest := token.Pin != 0 && token.Direction == tune.Nearest // on its string, wherever that leads
	if !nearest && tune.Move(from, e.Note.Semitone(), token.Direction) != to {
		token.Direction = tune.DirectionTo(from, to)
	}
	return token
}

// hitWord says where in its beat a shape is struck for the first or second time, and
// whether it rings on.
func hitWord(e *fretboard.Event, k int) string {
	hit := tune.HitToken{Hit: e.Hit, Held: e.Held && k+1 == len(e.Times)}
	if at := e.Times[k]; e.Hit != tune.HitPush {
		hit.Hit = map[bool]tune.Hit{false: tune.HitOn, true: tune.HitAnd}[at.Off]
	}
	return hit.String()
}

// arrows writes a token of the line with arrows for its direction, as strokes mean
// slides in tablature.
func arrows(token string) string { return drawnDirections.Replace(token) }

var drawnDirections = strings.NewReplacer("/", "↑", `\`, "↓")

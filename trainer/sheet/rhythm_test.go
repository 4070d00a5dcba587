package sheet

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// String writes a stroke as its place in eighths from 0 and its length, "r" for a rest,
// "." for a short one, "-" and "~" for its tie, and the chord of a push.
func (s stroke) String() string {
	text := fmt.Sprintf("%d+%d", s.half, s.halves)
	if s.rest {
		text = "r" + text
	}
	if s.short {
		text += "."
	}
	return text + []string{untied: "", ringing: "-", silent: "~"}[s.tied] + s.push
}

// The rhythm of the hits, as any musician would write it down (common practice, no
// source): an offbeat behind its beat, ties over beats and bar lines, a short hit with
// a dot, rests beat by beat.
func TestRhythmOfHits(t *testing.T) {
	for _, c := range []struct{ meter, chords, hits, want string }{
		{"4/4", "C | C", "on . and . | . . . .", "0+2. r2+2 r4+1 5+1. r6+2 | r0+0"},
		{"4/4", "C | C", "on- . . . | on . . .", "0+8 | 0+2. r2+2 r4+2 r6+2"},
		{"4/4", "C | C", "on- . and . | on . . .", "0+4- 4+1 5+1. r6+2 | 0+2. r2+2 r4+2 r6+2"},
		{"4/4", "C | F", ". . . push | . . on .", "r0+2 r2+2 r4+2 r6+1 7+1.~F | r0+2 r2+2 4+2. r6+2"},
		{"4/4", "C | F", ". . . push | on . . .", "r0+2 r2+2 r4+2 r6+1 7+1.F | 0+2. r2+2 r4+2 r6+2"},
		{"4/4", "C | F", ". . . push- | . . on .", "r0+2 r2+2 r4+2 r6+1 7+1-F | 0+4 4+2. r6+2"},
		{"4/4", "C | F", "both . both- . | . . . .", "0+1. 1+1. r2+2 4+1. 5+1- 6+2 | r0+0"},
		{"4/4", "C F | F", ". push- . . | . . . .", "r0+2 r2+1 3+1-F 4+4- | 0+8"},
		{"3/4", "C | C", "on- . . | . on- .", "0+6- | 0+2 2+4"},
		{"12/8", "C | C", "on- . and . | . . both .", "0+4- 4+1 5+1. r6+2 | r0+2 r2+2 4+1. 5+1. r6+2"},
		{"4/4", "C | F", "on . . . | . . . push", "0+2. r2+2 r4+2 r6+2 | r0+2 r2+2 r4+2 r6+1 7+1.C"},
		{"4/4", "C | F", ". . . . | . . . push-", "r0+0 | r0+2 r2+2 r4+2 r6+1 7+1-C"},
	} {
		beats := strings.Repeat("1 ", len(strings.Fields(strings.Split(c.hits, "|")[0])))
		a := arrange(t, fmt.Sprintf("tune T\nkey C\nmeter %s\ntempo 92\n[A]\nchords | %s |\nbass | %s| %s|\nhits | %s |\n", c.meter, c.chords, beats, beats, c.hits), fretboard.BassHalves)
		var bars []string
		for _, strokes := range rhythm(a) {
			bars = append(bars, strings.Trim(fmt.Sprint(strokes), "[]"))
		}
		assert.Equal(t, c.want, strings.Join(bars, " | "), "%s: %s over %s", c.meter, c.hits, c.chords)
	}
}

// In every tune and rhythm the strokes of a bar fill it, and each strike is there once.
func TestRhythmsFillTheirBars(t *testing.T) {
	for _, name := range content.TuneNames() {
		for _, word := range append([]string{""}, strings.Split(tune.CompingNames(), ", ")...) {
			tn, _ := tune.Read(builtIn(t, name))
			if comping, err := tune.ParseComping(word); err == nil {
				tn = tn.WithComping(comping)
			}
			a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
			if !assert.NoError(t, err) {
				continue
			}
			struck := 0
			for i, strokes := range rhythm(a) {
				halves, at := a.Tune.Unroll()[i].Meter.Halves(), 0
				tied := strokes[0].from
				for _, s := range strokes {
					assert.Equal(t, at, s.half, "%s, bar %d: %v", name, i+1, strokes)
					if at += s.halves; s.halves == 0 {
						at = halves
					}
					if !s.rest && !tied {
						struck++
					}
					tied = s.tied == ringing
				}
				assert.Equal(t, halves, at, "%s, bar %d: %v", name, i+1, strokes)
			}
			want := 0
			for i := range a.Events {
				want += len(a.Events[i].Times)
			}
			assert.Equal(t, want, struck, name)
		}
	}
}

package take

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// Two bars over and over: the first note comes early, the last one late, and
// each is counted in its own pass.
func TestTapeCutsPasses(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47, 48, 47, 45, 40)
	length := 4 * time.Second
	r := rand.New(rand.NewPCG(3, 3))
	var tape Tape
	tape.Hear(Played{Time: 9 * time.Second, MIDI: 50}) // noodling in the count-in
	at := 10 * time.Second
	for pass := range 20 {
		for i, e := range expected {
			late := time.Duration(r.IntN(90)-45) * ms
			switch i {
			case 0:
				late = -40 * ms
			case 7:
				late = 45 * ms
			}
			tape.Hear(Played{Time: at + e.Time + late, MIDI: e.Notes[0].MIDI})
		}
		if pass%3 == 0 {
			tape.Hear(Played{Time: at + 3750*ms, MIDI: 60})
		}
		// The next pass's first note is there before this one is cut.
		early := Played{Time: at + length - 40*ms, MIDI: 40}
		if pass < 19 {
			tape.Hear(early)
		}
		sc := tape.Cut(expected, at, at+length, []Span{{From: at + 8*length, To: at + 9*length}}, DefaultSettings())
		want := Counts{Expected: 8, Matched: 8}
		if pass%3 == 0 {
			want.Extra = 1
		}
		if pass > 0 {
			// It was heard twice: once above, once at the top of the loop.
			want.Extra++
		}
		assert.Equal(t, want, sc.Counts, "pass %d", pass)
		at += length
	}
	assert.LessOrEqual(t, len(tape.notes), 1)
}

// A player who is 150 ms early all through is graded so in each pass: the first note of
// each comes before it begins.
func TestTapeCutsPassesOfAnEarlyPlayer(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47, 48, 47, 45, 41)
	length := 4 * time.Second
	var tape Tape
	at := 10 * time.Second
	for pass := range 5 {
		for i := range 9 {
			if pass == 0 || i > 0 { // the next pass's first note is there before this one is cut
				e := expected[i%8]
				tape.Hear(Played{Time: at + time.Duration(i)*500*ms - 150*ms, MIDI: e.Notes[0].MIDI})
			}
		}
		sc := tape.Cut(expected, at, at+length, nil, DefaultSettings())
		assert.Equal(t, Counts{Expected: 8, Matched: 8}, sc.Counts, "pass %d", pass)
		assert.Equal(t, -150*ms, sc.Fit.Offset)
		at += length
	}
}

func TestTapeMovesTheGaps(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47)
	var tape Tape
	tape.Hear(Played{Time: 10 * time.Second, MIDI: 40})
	sc := tape.Cut(expected, 10*time.Second, 12*time.Second, []Span{{From: 10800 * ms, To: 11200 * ms}}, DefaultSettings())
	assert.Equal(t, []string{"matched", "missed", "not heard", "missed"}, verdicts(sc))
}

// An ear that was unsure of a note, or took it for another, and is sure later tells it again:
// it is one note, and what was unsure of another pitch costs nothing.
func TestTapeTakesANoteToldAgainForOne(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47)
	var tape Tape
	tape.ByEar = true
	for i, e := range expected {
		midi := e.Notes[0].MIDI
		first := Played{Time: e.Time + 20*ms, MIDI: midi, Doubt: 0.51}
		if i == 2 {
			first.MIDI++
		}
		tape.Hear(first)
		tape.Hear(Played{Time: e.Time + 21*ms, MIDI: midi, Doubt: 0.1})
	}
	assert.Len(t, tape.notes, 5)
	sc := tape.Cut(expected, 0, 2*time.Second, nil, DefaultSettings())
	assert.Equal(t, Counts{Expected: 4, Matched: 4}, sc.Counts)
}

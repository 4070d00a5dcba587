package take

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// rung is a strum that sounds certain classes: heard where just those are asked
// for, and unsure where half of them or more are.
func rung(at time.Duration, classes ...int) Strum {
	return Strum{Time: at, Hit: func(_ int, asked []int) (Verdict, float64) {
		in := 0
		for _, m := range asked {
			if slices.Contains(classes, m%12) {
				in++
			}
		}
		switch share := float64(in) / float64(len(asked)); {
		case share == 1:
			return Matched, 0.9
		case share >= 0.5:
			return Unsure, 0.5
		default:
			return Missed, 0.1
		}
	}}
}

// Two bars: a strike with its bass note on each first beat, one on the offbeat of
// each second.
func comping() []Expected {
	beat := 500 * ms
	var all []Expected
	for bar := range 2 {
		at := time.Duration(bar) * 4 * beat
		bass := line(beat, 40)[0]
		bass.Time = at
		on, off := strike(at, 0, beat, 40, 56, 59, 62), strike(at+beat+beat/2, beat/2, beat, 40, 56, 59, 62)
		all = append(all, bass, on, off)
	}
	return all
}

func ear(notes []Played, strums ...Strum) Heard {
	return Heard{Notes: notes, Strums: strums, ByEar: true}
}

func TestStrikesByEar(t *testing.T) {
	expected := comping()
	bass := []Played{{Time: 10 * ms, MIDI: 40, Doubt: 0.1}, {Time: 2010 * ms, MIDI: 40, Doubt: 0.2}}
	e7 := []int{8, 11, 2}
	for name, c := range map[string]struct {
		heard Heard
		want  []string
		sum   Counts
	}{
		"perfect": {ear(bass, rung(10*ms, e7...), rung(750*ms, e7...), rung(2010*ms, e7...), rung(2760*ms, e7...)),
			[]string{"matched", "matched", "matched", "matched", "matched", "matched"}, Counts{Expected: 6, Matched: 6}},
		"empty": {ear(nil),
			[]string{"missed", "missed", "missed", "missed", "missed", "missed"}, Counts{Expected: 6, Missed: 6}},
		"the bass alone": {ear(bass, rung(10*ms), rung(2010*ms)),
			[]string{"matched", "missed", "missed", "matched", "missed", "missed"}, Counts{Expected: 6, Matched: 2, Missed: 4}},
		"a fret away": {ear(bass, rung(10*ms, 9, 0, 3), rung(750*ms, e7...), rung(2010*ms, 9, 0, 3), rung(2750*ms, 9, 0, 3)),
			[]string{"matched", "missed", "matched", "matched", "missed", "missed"}, Counts{Expected: 6, Matched: 3, Missed: 3}},
		"unsure": {ear(bass, rung(10*ms, 8, 11), rung(750*ms, e7...), rung(2010*ms, e7...), rung(2750*ms, e7...)),
			[]string{"matched", "unsure", "matched", "matched", "matched", "matched"}, Counts{Expected: 6, Matched: 5, Unsure: 1}},
		"outside the window": {ear(bass, rung(10*ms, e7...), rung(699*ms, e7...), rung(2010*ms, e7...), rung(2861*ms, e7...)),
			[]string{"matched", "matched", "missed", "matched", "matched", "missed"}, Counts{Expected: 6, Matched: 4, Missed: 2}},
		"a roll of two plucks": {ear(bass, rung(5*ms), rung(40*ms, e7...), rung(750*ms, e7...), rung(2010*ms, e7...), rung(2750*ms, e7...)),
			[]string{"matched", "matched", "matched", "matched", "matched", "matched"}, Counts{Expected: 6, Matched: 6}},
		"chords without the bass": {ear(nil, rung(10*ms, e7...), rung(750*ms, e7...), rung(2010*ms, e7...), rung(2750*ms, e7...)),
			[]string{"missed", "matched", "matched", "missed", "matched", "matched"}, Counts{Expected: 6, Matched: 4, Missed: 2}},
		// The shape's own note, told as a bass note, neither proves it nor is too many.
		"a note of the shape": {ear([]Played{{Time: 10 * ms, MIDI: 40}, {Time: 750 * ms, MIDI: 56}, {Time: 2010 * ms, MIDI: 40}}, rung(10*ms, e7...), rung(750*ms, 3), rung(2010*ms, e7...)),
			[]string{"matched", "matched", "missed", "matched", "matched", "missed"}, Counts{Expected: 6, Matched: 4, Missed: 2}},
		// A wrong bass note is the bass's fault, not the shape's.
		"a chord tone in the bass": {ear([]Played{{Time: 10 * ms, MIDI: 44}, {Time: 2010 * ms, MIDI: 40}}, rung(10*ms, e7...), rung(750*ms, e7...), rung(2010*ms, e7...), rung(2750*ms, e7...)),
			[]string{"wrong pitch", "matched", "matched", "matched", "matched", "matched"}, Counts{Expected: 6, Matched: 5, Wrong: 1, WrongPitch: 1}},
	} {
		sc := Grade(expected, c.heard, DefaultSettings())
		assert.Equal(t, c.want, verdicts(sc), name)
		assert.Equal(t, c.sum, sc.Counts, name)
		for i, o := range sc.Outcomes {
			assert.Empty(t, o.LeftOut(expected[i]), name)
			assert.Empty(t, o.Added, name)
		}
	}
	sc := Grade(expected, ear(bass, rung(12*ms, e7...), rung(740*ms, 8, 11)), DefaultSettings())
	o := sc.Outcomes
	assert.Equal(t, []time.Duration{10 * ms, 12 * ms, -10 * ms}, []time.Duration{o[0].Offset, o[1].Offset, o[2].Offset})
	assert.Equal(t, []float64{0.9, 0.9, 0.5, 0.8, 0, 0}, []float64{o[0].Confidence, o[1].Confidence, o[2].Confidence, o[3].Confidence, o[4].Confidence, o[5].Confidence})

	away := ear(bass, rung(10*ms, e7...), rung(750*ms, e7...))
	away.Absent = []Span{{From: 2600 * ms, To: 2800 * ms}}
	assert.Equal(t, []string{"matched", "matched", "matched", "matched", "missed", "not heard"}, verdicts(Grade(expected, away, DefaultSettings())))
}

// The notes asked of a strum are those above the bass, whether the line sounds it or the
// shape; a push is asked for whole.
func TestNotesAboveTheBass(t *testing.T) {
	above := func(e Expected, bass int, notes ...int) {
		b, n := e.above()
		assert.Equal(t, bass, b)
		assert.Equal(t, notes, n)
	}
	above(strike(0, 0, 500*ms, 40, 56, 59, 62, 64), 40, 56, 59, 62, 64)
	resting := strike(0, 0, 500*ms, 40, 56, 59)
	resting.Notes, resting.Free = append(resting.Free, resting.Notes...), nil
	resting.Notes[0].Place.String = 6
	above(resting, 40, 56, 59)
	push := strike(0, 0, 500*ms, 40, 56, 59)
	push.Free, push.Notes[0].Place.String = nil, 4
	above(push, 0, 56, 59)
	above(strike(0, 0, 500*ms, 40), 40, 40)
}

// What is marked live, in whatever order notes and strums are told, is what is
// graded in the end.
func TestLiveByEarAgreesWithGrade(t *testing.T) {
	expected := comping()
	for seed := range 300 {
		r := rand.New(rand.NewPCG(uint64(seed), 8))
		l := NewLive(DefaultSettings(), true)
		l.Add(expected)
		var heard Heard
		heard.ByEar = true
		live := make([]Verdict, len(expected))
		mark := func(m LiveMark) {
			if m.Event >= 0 {
				live[m.Event] = m.Verdict
			}
		}
		for _, e := range expected {
			at := e.Time + time.Duration(r.IntN(90)-45)*ms
			if len(e.Free) == 0 {
				p := Played{Time: at, MIDI: 40, Doubt: []float64{0, 0.4, 0.6}[r.IntN(3)]}
				heard.Notes = append(heard.Notes, p)
				m := l.Hear(p)
				require.False(t, m.Extra)
				mark(m)
				continue
			}
			for range r.IntN(3) {
				s := rung(at+time.Duration(r.IntN(50))*ms, []int{8, 11, 2}[:r.IntN(4)]...)
				heard.Strums = append(heard.Strums, s)
				mark(l.Strum(s))
			}
		}
		for _, i := range l.Missed(time.Hour) {
			require.Equal(t, Missed, live[i])
		}
		sc := Grade(expected, heard, DefaultSettings())
		for i, o := range sc.Outcomes {
			require.Equal(t, o.Verdict, live[i], "seed %d event %d", seed, i)
		}
	}
}

// Over the line between two passes a strum goes to the pass that it serves.
func TestTapeCutsStrums(t *testing.T) {
	expected := comping()
	tape := Tape{ByEar: true}
	length := 4 * time.Second
	at := 10 * time.Second
	for pass := range 3 {
		for _, e := range expected {
			if len(e.Free) > 0 && (pass == 0 || e.Time > 0) {
				tape.Strum(rung(at+e.Time, 8, 11, 2))
			}
		}
		tape.Strum(rung(at+length-40*ms, 8, 11, 2)) // the early first strike of the next
		sc := tape.Cut(expected, at, at+length, nil, DefaultSettings())
		assert.Equal(t, Counts{Expected: 6, Matched: 4, Missed: 2}, sc.Counts, "pass %d", pass)
		at += length
	}
	assert.Len(t, tape.strums, 1)
}

// A hit by ear that is not sure says which of its notes was hardly there and which other
// sounded.
func TestTheOddNoteOfAHitIsNamed(t *testing.T) {
	c := harmony.Chord{Symbol: "C7", Degrees: []harmony.Degree{{Number: 1}, {Number: 3}, {Number: 5}, {Number: 7, Alter: -1}}}
	e := strike(0, 0, 500*ms, 48, 64, 70)
	e.Chord, e.Degree = c, harmony.Degree{Number: 1}
	heard := Heard{ByEar: true, Strums: []Strum{{
		Hit: func(int, []int) (Verdict, float64) { return Unsure, 0.5 },
		Odd: func(_ int, notes []int) (absent, foreign int) {
			assert.ElementsMatch(t, []int{64, 70}, notes)
			return 10, 9
		},
	}}}
	sc := Grade([]Expected{e}, heard, DefaultSettings())
	assert.Equal(t, Unsure, sc.Outcomes[0].Verdict)
	assert.Equal(t, "Bar 1 beat 1, C7: the hit on 1 unsure, b7 (Bb) hardly there, 13 (A) in it.", sc.Fault(0))
}

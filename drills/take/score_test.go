package take

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

const ms = time.Millisecond

// line makes bass notes of these pitches, one a beat, in 4/4.
func line(beat time.Duration, midi ...int) []Expected {
	var all []Expected
	for i, m := range midi {
		all = append(all, Expected{
			Section: "A", SectionBar: i/4 + 1, At: tune.Position{Bar: i/4 + 1, Beat: i%4 + 1},
			Degree: harmony.Degrees[i%len(harmony.Degrees)], Time: time.Duration(i) * beat, Beat: beat,
			Notes: []Want{{MIDI: m, Place: fretboard.Place{String: 6, Fret: m - 40}}},
		})
	}
	return all
}

// strike makes a shape of these pitches, the first of them the free bass note.
func strike(at, into, beat time.Duration, midi ...int) Expected {
	e := Expected{
		Section: "A", SectionBar: 1, Kind: fretboard.ShapeEvent, Time: at, Into: into, Beat: beat,
		At: tune.Position{Bar: 1, Beat: 1 + int(at/beat), Off: into > 0}, Degree: harmony.Degree{Number: 1},
	}
	for i, m := range midi {
		w := Want{MIDI: m, Place: fretboard.Place{String: 6 - i}}
		if i == 0 {
			e.Free = append(e.Free, w)
		} else {
			e.Notes = append(e.Notes, w)
		}
	}
	return e
}

func verdicts(sc *Score) []string {
	var out []string
	for _, o := range sc.Outcomes {
		out = append(out, o.Verdict.String())
	}
	return out
}

func TestNothingAskedOrPlayed(t *testing.T) {
	sc := Grade(nil, Heard{Notes: []Played{{Time: ms, MIDI: 40}}}, DefaultSettings())
	assert.Equal(t, Counts{Extra: 1}, sc.Counts)
	clean, why := sc.Clean()
	assert.False(t, clean)
	assert.Equal(t, "nothing was asked", why)

	sc = Grade(line(500*ms, 40, 43), Heard{Notes: nil}, DefaultSettings())
	assert.Equal(t, Counts{Expected: 2, Missed: 2}, sc.Counts)
	assert.Zero(t, sc.Timing)
}

func TestPerfectIsOne(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47, 40, 43, 45, 47)
	var played []Played
	for _, e := range expected {
		played = append(played, Played{Time: e.Time, MIDI: e.Notes[0].MIDI, String: 6})
	}
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	assert.Equal(t, Counts{Expected: 8, Matched: 8}, sc.Counts)
	assert.Zero(t, sc.Timing)
	clean, _ := sc.Clean()
	assert.True(t, clean)
}

func TestEachFaultByItsName(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47, 48, 50, 52)
	played := []Played{
		{Time: 10 * ms, MIDI: 40, String: 6},  // right
		{Time: 520 * ms, MIDI: 55, String: 6}, // an octave high
		{Time: 990 * ms, MIDI: 46, String: 6}, // a semitone high
		// the fourth is left out
		{Time: 2030 * ms, MIDI: 48, String: 5}, // another string
		{Time: 2250 * ms, MIDI: 60},            // between the beats
		{Time: 2580 * ms, MIDI: 50, String: 6}, // 80 ms late: outside
		{Time: 3000 * ms, MIDI: 52},            // string not known
	}
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	assert.Equal(t, []string{"matched", "wrong octave", "wrong pitch", "missed", "wrong string", "missed", "matched"}, verdicts(sc))
	assert.Equal(t, Counts{Expected: 7, Matched: 3, Missed: 2, Wrong: 2, Extra: 1, WrongString: 1, WrongOctave: 1, WrongPitch: 1}, sc.Counts)
	assert.Equal(t, []int{4}, sc.Extras, "a late note is one fault, not two")
	assert.Equal(t, 80*ms, sc.Outcomes[5].Outside)
	assert.Equal(t, 20*ms, sc.Outcomes[1].Offset)
	assert.InDelta(t, 2, sc.Outcomes[0].Percent(expected[0]), 1e-9)
	assert.True(t, sc.StringsKnown)
	// Bar 1 has two wrong and one missed, bar 2 one late and one extra.
	require.Len(t, sc.Bars, 2)
	assert.Equal(t, 3, sc.Bars[0].Faults())
	assert.Equal(t, 2, sc.Bars[1].Faults())
	assert.NotEqual(t, sc.Bars[0].Bar, sc.Bars[1].Bar)
}

// Of two notes that would both serve, the one played on the right string does, if
// it is less than 20 ms farther off; with a plain input the nearest does.
func TestTheRightStringIsPreferred(t *testing.T) {
	expected := line(500*ms, 43)
	other := func(far time.Duration, str int) []Played {
		return []Played{{Time: 5 * ms, MIDI: 43, String: 5}, {Time: far, MIDI: 43, String: str}}
	}
	sc := Grade(expected, Heard{Notes: other(20*ms, 6)}, DefaultSettings())
	assert.Equal(t, []string{"matched"}, verdicts(sc))
	assert.Equal(t, 20*ms, sc.Outcomes[0].Offset)
	assert.Equal(t, []int{0}, sc.Extras)
	sc = Grade(expected, Heard{Notes: other(30*ms, 6)}, DefaultSettings())
	assert.Equal(t, []string{"wrong string"}, verdicts(sc))
	assert.Equal(t, 5*ms, sc.Outcomes[0].Offset)
	sc = Grade(expected, Heard{Notes: []Played{{Time: 20 * ms, MIDI: 43}, {Time: -5 * ms, MIDI: 43}}}, DefaultSettings())
	assert.Equal(t, []string{"matched"}, verdicts(sc))
	assert.Equal(t, -5*ms, sc.Outcomes[0].Offset)
}

func TestWindowsAreSettingsAndFollowTheBeat(t *testing.T) {
	s := DefaultSettings()
	assert.Equal(t, 50*ms, s.WindowOf(500*ms))
	assert.Equal(t, 50*ms, s.WindowOf(250*ms))
	assert.Equal(t, 40*ms, s.WindowOf(200*ms))
	for _, c := range []struct {
		window, late time.Duration
		matched      int
	}{{50 * ms, 50 * ms, 1}, {50 * ms, 51 * ms, 0}, {50 * ms, -50 * ms, 1}, {50 * ms, -51 * ms, 0}, {90 * ms, 89 * ms, 1}, {10 * ms, 11 * ms, 0}} {
		s.Window = c.window
		sc := Grade(line(time.Second, 40), Heard{Notes: []Played{{Time: c.late, MIDI: 40}}}, s)
		assert.Equal(t, c.matched, sc.Matched, "%v", c)
	}
}

// What was hardly struck is right where it is right, and else nothing: neither wrong nor
// too much, nor an octave off.
func TestGhostNotesCostNothing(t *testing.T) {
	expected := line(500*ms, 40, 43, 45, 47)
	played := []Played{
		{Time: 0, MIDI: 40, Velocity: 0.7}, {Time: 100 * ms, MIDI: 52, Velocity: 0.1}, {Time: 500 * ms, MIDI: 43, Velocity: 0.1},
		{Time: 1000 * ms, MIDI: 46, Velocity: 0.12}, {Time: 1010 * ms, MIDI: 45, Velocity: 0.8}, {Time: 1500 * ms, MIDI: 48, Velocity: 0.15},
		{Time: 1510 * ms, MIDI: 47, Velocity: 0.7},
	}
	assert.Equal(t, Counts{Expected: 4, Matched: 4}, Grade(expected, Heard{Notes: played}, DefaultSettings()).Counts)
	for i := range played {
		played[i].Velocity = 0
	}
	assert.Equal(t, 3, Grade(expected, Heard{Notes: played}, DefaultSettings()).Extra, "where it is not known how hard")
}

func TestMeanAndSpreadStandApart(t *testing.T) {
	expected := line(500*ms, 40, 41, 42, 43, 44, 45, 46, 47)
	var played []Played
	for i, e := range expected {
		late := -30 * ms
		if i%2 == 1 {
			late = -20 * ms
		}
		played = append(played, Played{Time: e.Time + late, MIDI: e.Notes[0].MIDI})
	}
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	assert.Equal(t, -25*ms, sc.Fit.Offset)
	assert.Equal(t, -25*ms, sc.Lead())
	assert.Zero(t, sc.Timing.Mean)
	assert.Equal(t, -30*ms, sc.Raw(0))
	assert.Equal(t, 5*ms, sc.Timing.Spread)
	clean, why := sc.Clean()
	assert.True(t, clean, why)
}

func TestDrift(t *testing.T) {
	expected := line(500*ms, make([]int, 33)...)
	var played []Played
	for i := range expected {
		expected[i].Notes[0].MIDI = 40 + i%7
		played = append(played, Played{Time: expected[i].Time + time.Duration(i)*ms - 10*ms, MIDI: 40 + i%7})
	}
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	assert.InDelta(t, float64(32*ms), float64(sc.Timing.Drift), 1000)
	assert.InDelta(t, 500.0/501, sc.Fit.TempoRatio, 1e-6)
	assert.InDelta(t, float64(-10*ms), float64(sc.Fit.Offset), 1000)
	assert.InDelta(t, 0, float64(sc.Timing.Mean), 1000)
}

// A strummed chord arrives spread out: six messages take 5.8 ms on a MIDI cable
// (31,250 baud), a slow strum far longer.
func TestStrikeIsOneEvent(t *testing.T) {
	expected := []Expected{
		line(500*ms, 40)[0],
		strike(0, 0, 500*ms, 40, 55, 59, 64),
		strike(833*ms, 333*ms, 500*ms, 43, 55, 59, 64),
	}
	played := []Played{
		{Time: 4 * ms, MIDI: 40}, {Time: 12 * ms, MIDI: 55}, {Time: 20 * ms, MIDI: 59}, {Time: 30 * ms, MIDI: 64},
		{Time: 843 * ms, MIDI: 43}, {Time: 860 * ms, MIDI: 55}, {Time: 880 * ms, MIDI: 62}, {Time: 900 * ms, MIDI: 64}, {Time: 905 * ms, MIDI: 69},
	}
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	assert.Equal(t, []string{"matched", "matched", "matched"}, verdicts(sc))
	assert.Equal(t, []time.Duration{4 * ms, 12 * ms, 10 * ms}, []time.Duration{sc.Outcomes[0].Offset, sc.Outcomes[1].Offset, sc.Outcomes[2].Offset})
	// 62 stands for the 59 that was left out, 69 was added.
	o := sc.Outcomes[2]
	assert.Equal(t, WrongPitch, o.Notes[1].Verdict)
	assert.Equal(t, []int{8}, o.Added)
	assert.Equal(t, 1, sc.Extra)
	assert.Empty(t, o.LeftOut(expected[2]))
	// The offbeat is asked at 333:167, and comes later against the beat, which is
	// itself 8 ms late (the mean of 4 and 12).
	assert.InDelta(t, 333.0/167, sc.Offbeats.Wanted, 1e-6)
	assert.InDelta(t, 335.0/165, sc.Offbeats.Heard, 1e-6)

	left := Grade(expected[2:], Heard{Notes: []Played{{Time: 833 * ms, MIDI: 55}, {Time: 840 * ms, MIDI: 64}}}, DefaultSettings())
	assert.Equal(t, []string{"matched"}, verdicts(left))
	require.Len(t, left.Outcomes[0].LeftOut(expected[2]), 1)
	assert.Equal(t, 59, left.Outcomes[0].LeftOut(expected[2])[0].MIDI)

	few := Grade(expected[2:], Heard{Notes: []Played{{Time: 833 * ms, MIDI: 55}}}, DefaultSettings())
	assert.Equal(t, []string{"missed"}, verdicts(few))

	octave := Grade(expected[2:], Heard{Notes: []Played{{Time: 833 * ms, MIDI: 67}, {Time: 834 * ms, MIDI: 71}, {Time: 835 * ms, MIDI: 76}}}, DefaultSettings())
	assert.Equal(t, []string{"wrong octave"}, verdicts(octave))
	assert.Equal(t, Counts{Expected: 1, Wrong: 1, WrongOctave: 1}, octave.Counts)
}

// A strike of which as many notes are an octave off as are another pitch is in the
// wrong octave; of more wrong pitches than octaves, or of them alone, at the wrong
// pitch.
func TestOctaveAndPitchOfAStrike(t *testing.T) {
	for want, played := range map[string][]int{
		"wrong octave": {55 + 12, 59 + 1},
		"wrong pitch":  {55 + 12, 59 + 1, 64 + 1},
	} {
		var notes []Played
		for i, midi := range played {
			notes = append(notes, Played{Time: time.Duration(i) * ms, MIDI: midi})
		}
		sc := Grade([]Expected{strike(0, 0, 500*ms, 43, 55, 59, 64)}, Heard{Notes: notes}, DefaultSettings())
		assert.Equal(t, []string{want}, verdicts(sc), "%v", sc.Outcomes[0].Notes)
	}
	sc := Grade([]Expected{strike(0, 0, 500*ms, 43, 55, 59)}, Heard{Notes: []Played{{MIDI: 56}, {Time: ms, MIDI: 60}}}, DefaultSettings())
	assert.Equal(t, []string{"wrong pitch"}, verdicts(sc))
}

func TestGapIsNotHeard(t *testing.T) {
	expected := line(500*ms, 40, 41, 42, 43, 44)
	played := []Played{{Time: 0, MIDI: 40}, {Time: 1500 * ms, MIDI: 43}}
	sc := Grade(expected, Heard{
		Notes:  played,
		Absent: []Span{{From: 300 * ms, To: 700 * ms}, {From: 960 * ms, To: 1200 * ms}},
	}, DefaultSettings())
	assert.Equal(t, []string{"matched", "not heard", "not heard", "matched", "missed"}, verdicts(sc))
	assert.Equal(t, Counts{Expected: 5, Matched: 2, Missed: 1, NotHeard: 2}, sc.Counts)
	clean, why := sc.Clean()
	assert.False(t, clean)
	assert.Equal(t, "2 of 5 could not be heard: the input was away", why)
}

// What an input by ear is not sure of proves no note right or wrong and is never
// extra.
func TestUnsureNotesCostNothing(t *testing.T) {
	beat := 500 * ms
	expected := line(beat, 40, 43, 45, 47)
	sc := Grade(expected, Heard{Notes: []Played{
		{Time: 0, MIDI: 40, Doubt: 0.6},    // may be right
		{Time: beat, MIDI: 44, Doubt: 0.7}, // may be wrong
		{Time: 2 * beat, MIDI: 45, Doubt: 0.5},
		{Time: 2 * beat, MIDI: 57, Doubt: 0.51},
	}, ByEar: true}, DefaultSettings())
	assert.Equal(t, []string{"unsure", "unsure", "matched", "missed"}, verdicts(sc))
	assert.Equal(t, Counts{Expected: 4, Matched: 1, Missed: 1, Unsure: 2}, sc.Counts)
	for i, want := range []float64{0.4, 0.3, 0.5, 0} {
		assert.InDelta(t, want, sc.Outcomes[i].Confidence, 1e-9)
	}
	assert.Equal(t, "1 of 4 right, 1 missed, 2 unsure.", sc.sum())

	// A tie breaks one way only.
	tied := []Played{{Time: 0, MIDI: 41, Rival: 40}, {Time: beat, MIDI: 43, Rival: 44}, {Time: 2 * beat, MIDI: 46, Rival: 47}, {Time: 3 * beat, MIDI: 59, Rival: 47}}
	sc = Grade(expected, Heard{Notes: tied, ByEar: true}, DefaultSettings())
	assert.Equal(t, []string{"unsure", "matched", "wrong pitch", "unsure"}, verdicts(sc))
	l := NewLive(DefaultSettings(), true)
	l.Add(expected)
	for i, p := range tied {
		assert.Equal(t, sc.Outcomes[i].Verdict, l.Hear(p).Verdict)
	}
}

// Unsure events are set apart: a pass is clean by the others, if those are half
// of it at least.
func TestUnsureEventsDoNotMakeAPassUnclean(t *testing.T) {
	expected := line(500*ms, 40, 41, 42, 43, 44, 45, 46, 47, 48, 49)
	played := func(unsure int) (notes []Played) {
		for i, e := range expected {
			p := Played{Time: e.Time, MIDI: e.Notes[0].MIDI}
			if i < unsure {
				p.Doubt = 0.9
			}
			notes = append(notes, p)
		}
		return notes
	}
	clean, _ := Grade(expected, Heard{Notes: played(5), ByEar: true}, DefaultSettings()).Clean()
	assert.True(t, clean)
	notes := played(5)
	notes[9].MIDI++
	clean, why := Grade(expected, Heard{Notes: notes, ByEar: true}, DefaultSettings()).Clean()
	assert.False(t, clean)
	assert.Equal(t, "4 of 5 were right; 5 are needed", why)
	clean, why = Grade(expected, Heard{Notes: played(6), ByEar: true}, DefaultSettings()).Clean()
	assert.False(t, clean)
	assert.Equal(t, "only 4 of 10 were heard surely", why)
}

func TestCleanSaysWhyNot(t *testing.T) {
	expected := line(500*ms, make([]int, 20)...)
	var perfect []Played
	for i := range expected {
		expected[i].Notes[0].MIDI = 40 + i
		perfect = append(perfect, Played{Time: expected[i].Time, MIDI: 40 + i})
	}
	for _, c := range []struct {
		played []Played
		why    string
	}{
		{perfect, ""},
		{perfect[1:], ""},
		{perfect[2:], "18 of 20 were right; 19 are needed"},
		{append([]Played{{Time: 200 * ms, MIDI: 90}}, perfect...), ""},
		{append([]Played{{Time: 200 * ms, MIDI: 90}, {Time: 210 * ms, MIDI: 90}}, perfect...), "2 notes too many; 1 are let pass"},
	} {
		clean, why := Grade(expected, Heard{Notes: c.played}, DefaultSettings()).Clean()
		assert.Equal(t, c.why, why)
		assert.Equal(t, c.why == "", clean)
	}
	for i := range perfect {
		perfect[i].Time += time.Duration(i%2)*60*ms - 30*ms
	}
	_, why := Grade(expected, Heard{Notes: perfect}, DefaultSettings()).Clean()
	assert.Equal(t, "the spread was 30 ms; 25 ms are let pass", why)
}

// manyBars is a pass of n bars with a bass note a beat and a strike of four notes
// on two of them, and a performance of it with small faults.
func manyBars(n int) ([]Expected, []Played) {
	r := rand.New(rand.NewPCG(1, 2))
	const beat = 375 * ms // 160 a minute
	var all []Expected
	for b := range 4 * n {
		at := time.Duration(b) * beat
		note := line(beat, 40+r.IntN(16))[0]
		note.Time, note.At, note.SectionBar = at, tune.Position{Bar: b/4 + 1, Beat: b%4 + 1}, b/4+1
		all = append(all, note)
		if b%2 == 0 {
			all = append(all, strike(at, 0, beat, note.Notes[0].MIDI, 55, 59, 62, 65))
		}
	}
	return all, perform(r, all, false)
}

// Budget: 32 bars under 5 ms, 1,000 bars at the same time a bar.
func BenchmarkGrade(b *testing.B) {
	for _, n := range []int{32, 250, 1000} {
		expected, played := manyBars(n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			for b.Loop() {
				Grade(expected, Heard{Notes: played}, DefaultSettings())
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/bar")
		})
	}
}

// The worst case for the band: one pitch all along, at the fastest tempo, and a
// player who trills.
func BenchmarkGradeOnePitch(b *testing.B) {
	for _, n := range []int{32, 1000} {
		var expected []Expected
		var played []Played
		for i := range 4 * n {
			e := line(200*ms, 40)[0]
			e.Time = time.Duration(i) * 200 * ms
			expected = append(expected, e)
			for k := range 8 {
				played = append(played, Played{Time: e.Time + time.Duration(k)*25*ms, MIDI: 40})
			}
		}
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			for b.Loop() {
				Grade(expected, Heard{Notes: played}, DefaultSettings())
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/bar")
		})
	}
}

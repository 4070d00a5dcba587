package transcribe_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

var fourFour = tune.Meter{Upper: 4, Lower: 4}

// sounding is a note of a line as it sounds.
type sounding struct {
	at     tune.Position
	halves int
	midi   int
}

func soundings(line []tune.LineNote) []sounding {
	out := make([]sounding, len(line))
	for i, n := range line {
		out[i] = sounding{n.At, n.Halves, n.Pitch.MIDI()}
	}
	return out
}

// scoreOf plays a tune out into a score at absolute pitches, moved by octaves,
// without the degrees that the tune names.
func scoreOf(tn *tune.Tune, line []tune.LineNote, octaves int) *transcribe.Score {
	s := &transcribe.Score{Title: tn.Title, Key: &tn.Key, Meter: tn.Meter, Tempo: tn.Tempo, Swing: tn.Swing.Ratio}
	for _, fb := range tn.Unroll() {
		bar := transcribe.Bar{Starts: fb.SectionBar == 1, Section: fb.Section, Meter: fb.Meter, Comping: fb.Comping, Words: fb.Bar.Words, Hits: fb.Bar.Hits, Shapes: fb.Bar.Shapes}
		for _, c := range fb.Bar.Chords {
			bar.Chords = append(bar.Chords, transcribe.Chord{At: float64(c.Slot*fb.Meter.Beats()) / float64(c.Slots), Chord: c.Chord})
		}
		s.Bars = append(s.Bars, bar)
	}
	for _, n := range line {
		note := transcribe.Note{At: float64(n.At.Beat - 1), Length: float64(n.Halves) / 2, MIDI: n.Pitch.MIDI() + 12*octaves}
		if n.At.Off {
			note.At += 0.5
		}
		s.Bars[n.At.Bar-1].Notes = append(s.Bars[n.At.Bar-1].Notes, note)
	}
	return s
}

// Whatever tune is played out at whatever octave comes back with the same line,
// the same chords, hits, shapes and words, and a text that can be read.
func TestPlayedOutAndWrittenBack(t *testing.T) {
	const low, high = 20, 115
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		line, err := tn.Line(tune.Within(low, high))
		if err != nil {
			t.Skip(err)
		}
		tried++
		octaves := rapid.IntRange(-1, 3).Draw(t, "octaves")
		back, losses := scoreOf(tn, line, octaves).Tune(low, high)
		if len(line) > 0 && octaves != 0 {
			require.Len(t, losses, 1)
			require.Equal(t, fmt.Sprintf("the bass line stands %+d half steps from where it was, so that it starts as low as the bass strings allow", -12*octaves), losses[0].String())
		} else {
			require.Empty(t, losses)
		}
		again, err := back.Line(tune.Within(low, high))
		require.NoError(t, err)
		require.Equal(t, soundings(line), soundings(again), "%s\nas\n%s", tune.Write(tn), tune.Write(back))
		want, got := tn.Unroll(), back.Unroll()
		require.Equal(t, len(want), len(got))
		for i := range want {
			w, g := want[i].Bar, got[i].Bar
			for beat := 1; beat <= want[i].Meter.Beats(); beat++ {
				for _, off := range []bool{false, true} {
					a, _ := w.ChordAt(want[i].Meter, beat, off)
					b, _ := g.ChordAt(got[i].Meter, beat, off)
					require.Equal(t, a.Symbol, b.Symbol, "bar %d beat %d", i+1, beat)
				}
				require.Equal(t, at(w.Shapes, beat).String(), at(g.Shapes, beat).String())
			}
			require.Equal(t, w.Words, g.Words)
			require.Equal(t, want[i].Meter, got[i].Meter)
		}
		require.Equal(t, struck(tn), struck(back))
		_, faults := tune.Read(tune.Write(back))
		require.Empty(t, faults)
	})
	require.NotZero(t, tried)
}

// struck is when a tune's shapes are struck.
func struck(tn *tune.Tune) (out []tune.Position) {
	for _, s := range tn.Strikes(tune.BassHalves) {
		out = append(out, s.Times...)
	}
	return out
}

func at[T any](row []T, beat int) (none T) {
	if beat <= len(row) {
		return row[beat-1]
	}
	return none
}

func chord(t testing.TB, symbol string) harmony.Chord {
	c, err := harmony.ParseChord(symbol)
	require.NoError(t, err)
	return c
}

// oneBar is a score of one bar of C7 with notes, each at, length, MIDI number.
func oneBar(t testing.TB, notes ...[3]float64) *transcribe.Score {
	s := &transcribe.Score{Title: "T", Key: &harmony.Key{}, Meter: fourFour, Tempo: 100}
	bar := transcribe.Bar{Chords: []transcribe.Chord{{Chord: chord(t, "C7")}}}
	for _, n := range notes {
		bar.Notes = append(bar.Notes, transcribe.Note{At: n[0], Length: n[1], MIDI: int(n[2])})
	}
	s.Bars = []transcribe.Bar{bar}
	return s
}

func says(losses []transcribe.Loss) string {
	var lines []string
	for _, l := range losses {
		lines = append(lines, l.String())
	}
	return strings.Join(lines, "\n")
}

// Notes of one bar of C7 between E2 and C4, worked out by hand.
func TestNotesOfABar(t *testing.T) {
	for name, c := range map[string]struct {
		notes  [][3]float64
		bass   string
		losses string
	}{
		"quarters":        {[][3]float64{{0, 1, 48}, {1, 1, 52}, {2, 1, 55}, {3, 1, 58}}, "1 3 5 b7", ""},
		"a swung eighth":  {[][3]float64{{0, 0.67, 48}, {0.67, 0.33, 52}, {1, 3, 55}}, "1,3 5 - -", ""},
		"let go early":    {[][3]float64{{0, 0.9, 48}, {1, 0.2, 52}}, "1 3,. . .", ""},
		"half a rest":     {[][3]float64{{0, 0.5, 48}, {2, 2, 52}}, "1,. . 3 -", ""},
		"off the halves":  {[][3]float64{{0.2, 0.8, 48}, {1.8, 0.2, 52}}, "1 .,3 . .", "bass notes that stand off the half beats, and are put on the nearest: 2, first in bar 1"},
		"just before":     {[][3]float64{{0, 1, 48}, {1.9, 1, 52}}, "1 . 3 .", "bass notes that stand off the half beats, and are put on the nearest: 1, first in bar 1"},
		"two at a time":   {[][3]float64{{0, 1, 48}, {0, 1, 52}}, "1 . . .", "bass notes that share a half beat with another, and are left out: 1, first in bar 1"},
		"behind the bar":  {[][3]float64{{0, 1, 48}, {3.9, 0.1, 52}}, "1 . . .", "bass notes that stand behind the last beat, and are left out: 1, first in bar 1"},
		"the lowest C":    {[][3]float64{{0, 4, 36}}, "1 - - -", "the bass line stands +12 half steps from where it was, so that it starts as low as the bass strings allow"},
		"up out of range": {[][3]float64{{0, 1, 48}, {1, 1, 60}, {2, 1, 64}}, `1 /1 \3 .`, "bass notes in another octave, to stay on the bass strings: 1"},
	} {
		t.Run(name, func(t *testing.T) {
			tn, losses := oneBar(t, c.notes...).Tune(40, 60)
			assert.Equal(t, c.bass, tune.BassCell(tn.Sections[0].Bars[0].Bass))
			for _, want := range strings.Split(c.losses, "\n") {
				assert.Contains(t, says(losses), want)
			}
			if c.losses == "" {
				assert.Empty(t, losses)
			}
			_, err := tn.Line(tune.Within(40, 60))
			assert.NoError(t, err)
		})
	}
}

// A degree that the source names is kept where it is that note, and its
// direction where it leads to the pitch.
func TestDegreesThatTheSourceNames(t *testing.T) {
	s := oneBar(t, [3]float64{0, 1, 48}, [3]float64{1, 1, 51}, [3]float64{2, 1, 51}, [3]float64{3, 1, 55})
	notes := s.Bars[0].Notes
	token := func(text string) tune.BassToken {
		b, err := tune.ParseBassBeat(text)
		require.NoError(t, err)
		return b.First
	}
	notes[1].Token = token("/b3") // #9 by the chord
	notes[2].Token = token("b6")  // no such note
	notes[3].Token = token(`\5`)  // it rises
	tn, losses := s.Tune(40, 60)
	assert.Empty(t, losses)
	assert.Equal(t, "1 /b3 #9 5", tune.BassCell(tn.Sections[0].Bars[0].Bass))
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	assert.Equal(t, []int{48, 51, 51, 55}, []int{line[0].Pitch.MIDI(), line[1].Pitch.MIDI(), line[2].Pitch.MIDI(), line[3].Pitch.MIDI()})
}

func TestWhereThereIsNoLine(t *testing.T) {
	s := oneBar(t, [3]float64{0, 1, 48})
	s.Bars[0].Chords[0].Chord = chord(t, "N.C.")
	tn, losses := s.Tune(40, 60)
	assert.Nil(t, tn.Sections[0].Bars[0].Bass)
	assert.Equal(t, "bass notes that sound where there is no chord, and are left out: 1, first in bar 1", says(losses))

	tn, losses = oneBar(t, [3]float64{0, 1, 48}).Tune(40, 50)
	assert.Nil(t, tn.Sections[0].Bars[0].Bass, "less than an octave is no range for a line")
	assert.Empty(t, losses)
}

// What a source leaves unsaid or says beyond a tune's bounds.
func TestHeaders(t *testing.T) {
	for _, c := range []struct {
		tempo  float64
		want   float64
		losses string
	}{
		{0, 100, "no tempo is named: 100 is put in"},
		{12, 30, "tempo 12 is put within 30 to 300"},
		{480, 300, "tempo 480 is put within 30 to 300"},
		{120.00049, 120, ""},
	} {
		s := oneBar(t)
		s.Title, s.Tempo = " ", c.tempo
		tn, losses := s.Tune(40, 60)
		assert.Equal(t, c.want, tn.Tempo)
		assert.Equal(t, c.losses, says(losses))
		assert.Equal(t, "Untitled", tn.Title)
		assert.Equal(t, tune.Ratio{Long: 1, Short: 1}, tn.Swing.Ratio)
	}
	s := oneBar(t)
	s.Key = nil
	tn, losses := s.Tune(40, 60)
	assert.Equal(t, "no key is named: "+tn.Key.String()+" fits the chords, and Dm almost as well", says(losses))
}

// Chords at places of a bar of 4/4, in beats, as its chords row has them.
func TestChordsOfABar(t *testing.T) {
	type at = struct {
		beat   float64
		symbol string
	}
	for name, c := range map[string]struct {
		chords []at
		row    string
		losses string
	}{
		"none":              {nil, "N.C.", ""},
		"from the middle":   {[]at{{2, "F7"}}, "N.C. F7", ""},
		"the same again":    {[]at{{0, "F7"}, {2, "F7"}}, "F7", ""},
		"two in one place":  {[]at{{0, "F7"}, {0, "G7"}}, "F7", "bar 1: G7 stands where F7 does; G7 is left out"},
		"three to a bar":    {[]at{{0, "F"}, {4.0 / 3, "G"}, {8.0 / 3, "A"}}, "F G A", ""},
		"uneven":            {[]at{{0, "F"}, {0.7, "G"}}, "F G . . . . . .", "bar 1: chords that share the bar unevenly are put on its nearest 8 parts"},
		"too close":         {[]at{{0, "F"}, {0.7, "G"}, {0.72, "A"}}, "F G . . . . . .", "bar 1: A comes too close to G and is left out"},
		"a held one begins": {[]at{{1, "N.C."}, {2, "G"}}, "N.C. G", ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := oneBar(t)
			s.Bars[0].Chords = nil
			for _, x := range c.chords {
				s.Bars[0].Chords = append(s.Bars[0].Chords, transcribe.Chord{At: x.beat, Chord: chord(t, x.symbol)})
			}
			tn, losses := s.Tune(40, 60)
			assert.Equal(t, c.row, tune.ChordCell(tn.Sections[0].Bars[0].Chords))
			assert.Contains(t, says(losses), c.losses)
			if c.losses == "" {
				assert.Empty(t, losses)
			}
		})
	}
}

// labelled is a score with a bar, of its own chord, for each section label.
func labelled(t testing.TB, labels, chords []string) *transcribe.Score {
	s := &transcribe.Score{Title: "T", Key: &harmony.Key{}, Meter: fourFour, Tempo: 100}
	for i, l := range labels {
		s.Bars = append(s.Bars, transcribe.Bar{Starts: true, Section: l, Chords: []transcribe.Chord{{Chord: chord(t, chords[i])}}})
	}
	return s
}

func names(tn *tune.Tune) (out []string) {
	for _, s := range tn.Sections {
		out = append(out, s.Name)
	}
	return out
}

func TestSectionNames(t *testing.T) {
	tn, _ := labelled(t, []string{" Verse 1! ", "(Bridge)", "Verse 1! ", "", "12", "Verse 1", "Verse 1", "Été"},
		[]string{"C", "F", "C", "G", "A", "D", "D", "E"}).Tune(40, 60)
	assert.Equal(t, []string{"Verse-1", "Bridge", "A", "B", "Verse-1-2", "Été"}, names(tn))
	assert.Equal(t, []string{"Verse-1", "Bridge", "Verse-1", "A", "B", "Verse-1-2", "Verse-1-2", "Été"}, tn.Form)

	// Letters that the source uses itself are left to it; behind Z comes AA.
	labels, chords := []string{"B"}, []string{"N.C."}
	for i := range 27 {
		labels = append(labels, "")
		chords = append(chords, []string{"C", "D", "E", "F", "G", "A", "B"}[i%7]+[]string{"", "m", "7", "m7"}[i/7])
	}
	tn, _ = labelled(t, labels, chords).Tune(40, 60)
	got := names(tn)
	assert.Equal(t, []string{"B", "A", "C", "D"}, got[:4])
	assert.Equal(t, []string{"Z", "AA", "AB"}, got[25:])
	assert.Nil(t, tn.Form, "each comes once, in order")

	tn, _ = labelled(t, []string{strings.Repeat("long ", 20)}, []string{"C"}).Tune(40, 60)
	assert.LessOrEqual(t, len(tn.Sections[0].Name), 32)
}

// A section that is entered from two places keeps one text where a direction
// leads to the same pitch from both; notes that had to change octave may.
func TestSectionsEnteredFromTwoPlaces(t *testing.T) {
	s := &transcribe.Score{Title: "T", Key: &harmony.Key{}, Meter: fourFour, Tempo: 100}
	bar := func(starts bool, symbol string, midi ...int) {
		b := transcribe.Bar{Starts: starts, Chords: []transcribe.Chord{{Chord: chord(t, symbol)}}}
		for i, m := range midi {
			b.Notes = append(b.Notes, transcribe.Note{At: float64(i), Length: 1, MIDI: m})
		}
		s.Bars = append(s.Bars, b)
	}
	bar(true, "C", 48, 52, 55, 52) // ends on E3
	bar(true, "F", 53, 57, 60, 57) // F3 from E3: the nearest
	bar(true, "G", 55, 59, 55, 43) // ends on G2
	bar(true, "F", 53, 57, 60, 57) // F3 from G2: rising
	bar(true, "G", 55, 59, 55, 43)
	bar(true, "F", 41, 45, 48, 45) // an octave lower: another text
	tn, losses := s.Tune(40, 60)
	require.Empty(t, losses)
	assert.Equal(t, []string{"A", "B", "C", "B", "C", "D"}, tn.Form)
	assert.Equal(t, "/1 3 5 3", tune.BassCell(tn.Sections[1].Bars[0].Bass), "/ leads to F3 from both")
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	var got []int
	for _, n := range line {
		got = append(got, n.Pitch.MIDI())
	}
	assert.Equal(t, []int{48, 52, 55, 52, 53, 57, 60, 57, 55, 59, 55, 43, 53, 57, 60, 57, 55, 59, 55, 43, 41, 45, 48, 45}, got)
}

// Hits and shapes of some bars only are filled up in the others; a row of shapes
// without any is none, and a bar of rests stays silent.
func TestRowsThatOnlySomeBarsHave(t *testing.T) {
	s := labelled(t, []string{"A", ""}, []string{"C", "F"})
	s.Bars[1].Starts = false
	s.Bars[0].Hits = []tune.HitToken{{}, {}, {}, {}}
	s.Bars[1].Shapes = []tune.ShapeToken{{Choose: true}, {}, {}, {}}
	tn, losses := s.Tune(40, 60)
	assert.Empty(t, losses)
	assert.Contains(t, tune.Write(tn), "shapes | . . . . | * . . . |")
	assert.Contains(t, tune.Write(tn), "hits   | . . . . | * * * * |")
	s.Bars[1].Hits = []tune.HitToken{{Hit: tune.HitOn}, {}, {}, {Hit: tune.HitAnd}}
	tn, _ = s.Tune(40, 60)
	assert.Contains(t, tune.Write(tn), "hits   | . . . . | on . . and |")
}

// For reading, what is said of several bars is said once, the worst first, and no more
// than fits.
func TestGathered(t *testing.T) {
	losses := []transcribe.Loss{{What: "3 × slur left out", Grade: transcribe.Marks}, {What: "no tempo", Grade: transcribe.PutIn}}
	for _, bar := range []int{9, 3, 3, 4, 5, 6, 7, 8} {
		losses = append(losses, transcribe.Loss{Bar: bar, What: "a chord is left out"})
	}
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8 and 1 more: a chord is left out\nno tempo\n3 × slur left out", says(transcribe.Gathered(losses, 5)))
	assert.Equal(t, "bars 3, 4, 5, 6, 7, 8 and 1 more: a chord is left out\nand 2 more of the kind; --json lists all", says(transcribe.Gathered(losses, 2)))
	assert.Empty(t, transcribe.Gathered(nil, 5))
}

package drills_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

func chord(t require.TestingT, symbol string) harmony.Chord {
	c, err := harmony.ParseChord(symbol)
	require.NoError(t, err)
	return c
}

func degree(t require.TestingT, s string) harmony.Degree {
	d, err := harmony.ParseDegree(s)
	require.NoError(t, err)
	return d
}

func find(t require.TestingT, symbol, deg string, str int) drills.Find {
	return drills.Find{Chord: chord(t, symbol), Degree: degree(t, deg), String: str, Neck: fretboard.StandardNeck()}
}

// The b7 of Dm7 is C; in standard tuning C lies on string 5 at frets 3 and 15
// and on string 6 at fret 8 (A2 is MIDI 45, E2 is 40, C3 48: MIDI 1.0 numbers).
func TestFind(t *testing.T) {
	q := find(t, "Dm7", "b7", 5)
	assert.Equal(t, "Play the b7 of Dm7 on string 5.", q.Ask().Prompt)
	assert.Equal(t, memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5}, q.Item())
	for _, c := range []struct {
		reply  drills.Reply
		want   drills.Result
		reason string
	}{
		{drills.Typed(memory.Typed, "3"), drills.Hit, "String 5, fret 3 is C, the b7 of Dm7."},
		{drills.Typed(memory.Typed, " 15 "), drills.Hit, "String 5, fret 15 is C, the b7 of Dm7."},
		{drills.Typed(memory.Lines, "5 3"), drills.Hit, "String 5, fret 3 is C, the b7 of Dm7."},
		{drills.Typed(memory.Lines, "6:8"), drills.Near, "String 6, fret 8 is C, the right note, but on string 5 it is fret 3 or 15."},
		{drills.Typed(memory.Typed, "5"), drills.Miss, "String 5, fret 5 is D, the 1. The b7 of Dm7 is C: fret 3 or 15."},
		{drills.Typed(memory.Typed, "0"), drills.Miss, "The open string 5 is A, the 5. The b7 of Dm7 is C: fret 3 or 15."},
		{drills.Pointed(fretboard.Place{String: 5, Fret: 15}), drills.Hit, "String 5, fret 15 is C, the b7 of Dm7."},
		{drills.Played(memory.MIDI, 48, 5), drills.Hit, "String 5, fret 3 is C, the b7 of Dm7."},
		{drills.Played(memory.MIDI, 48, 6), drills.Near, "String 6, fret 8 is C, the right note, but on string 5 it is fret 3 or 15."},
		{drills.Played(memory.MIDI, 72, 0), drills.Hit, "C is the b7 of Dm7. Which string it was, the input cannot tell."},
		{drills.Played(memory.MIDI, 72, 5), drills.Hit, "C is the b7 of Dm7. Which string it was, the input cannot tell."}, // beyond the neck
		{drills.Played(memory.MIDI, 36, 5), drills.Hit, "C is the b7 of Dm7. Which string it was, the input cannot tell."}, // below the string
		{drills.Played(memory.MIDI, 48, 7), drills.Hit, "C is the b7 of Dm7. Which string it was, the input cannot tell."}, // no such string
		{drills.Played(memory.MIDI, 47, 0), drills.Miss, "That was B, the 13. The b7 of Dm7 is C: fret 3 or 15."},
		{drills.Typed(memory.Typed, "16"), drills.Unread, "fret 16 is beyond your neck: type a number from 0 to 15"},
		{drills.Typed(memory.Typed, "three"), drills.Unread, `"three" is no fret: type a number from 0 to 15`},
		{drills.Typed(memory.Typed, "9 3"), drills.Unread, "there is no string 9: the strings are 1 to 6"},
		{drills.Typed(memory.Typed, "-3"), drills.Unread, `"-3" is no fret: type a number from 0 to 15`},
		{drills.Reply{Form: drills.FormPlaces}, drills.Unread, "Answer with a fret, 0–15."},
	} {
		j := q.Judge(c.reply)
		assert.Equal(t, c.want, j.Result, "%+v", c.reply)
		assert.Equal(t, c.reason, j.Reason)
	}
}

func TestName(t *testing.T) {
	q := drills.Name{Chord: chord(t, "Dm7"), Degree: degree(t, "b7"), Place: fretboard.Place{String: 5, Fret: 3}}
	assert.Equal(t, "String 5, fret 3: which degree of Dm7 is it?", q.Ask().Prompt)
	for text, want := range map[string]drills.Result{
		"b7": drills.Hit, "♭7": drills.Hit, "B7": drills.Hit, " b 7 ": drills.Hit, "flat 7": drills.Hit,
		"7": drills.Miss, "1": drills.Miss, "b3": drills.Miss,
		"": drills.Unread, "seven": drills.Unread, "b77": drills.Unread, "3 5": drills.Unread, "b1": drills.Unread,
	} {
		assert.Equal(t, want, q.Judge(drills.Typed(memory.Typed, text)).Result, "%q", text)
	}
	assert.Equal(t, "It is C, the b7 of Dm7; the b3 is F.", q.Judge(drills.Typed(memory.Typed, "b3")).Reason)

	// E flat over C7#9 is the #9, and not the b3 that sounds the same; a 9 may be
	// called 2 (common practice, no source).
	sharp := drills.Name{Chord: chord(t, "C7#9"), Degree: degree(t, "#9"), Place: fretboard.Place{String: 5, Fret: 6}}
	assert.Equal(t, drills.Hit, sharp.Judge(drills.Typed(memory.Typed, "#9")).Result)
	assert.Equal(t, drills.Hit, sharp.Judge(drills.Typed(memory.Typed, "#2")).Result)
	j := sharp.Judge(drills.Typed(memory.Typed, "b3"))
	assert.Equal(t, drills.Miss, j.Result)
	assert.Equal(t, "b3 sounds the same, but in C7#9 this note is D# and its degree #9.", j.Reason)
}

func TestSpell(t *testing.T) {
	q := drills.Spell{Chord: chord(t, "Dm7"), Degree: degree(t, "b7")}
	assert.Equal(t, "Which note is the b7 of Dm7?", q.Ask().Prompt)
	assert.Equal(t, drills.Hit, q.Judge(drills.Typed(memory.Typed, "c")).Result)
	j := q.Judge(drills.Typed(memory.Typed, "B#"))
	assert.Equal(t, drills.Miss, j.Result)
	assert.Equal(t, "B# sounds like C, but a 7 of D takes the letter C: C.", j.Reason)
	assert.Equal(t, "B is the 13 of Dm7; the b7 is C.", q.Judge(drills.Typed(memory.Typed, "B")).Reason)
	assert.Equal(t, drills.Unread, q.Judge(drills.Typed(memory.Typed, "H")).Result)
	assert.Equal(t, drills.Unread, q.Judge(drills.Played(memory.MIDI, 48, 5)).Result)

	flat := drills.Spell{Chord: chord(t, "Gm7"), Degree: degree(t, "b3")}
	for _, text := range []string{"bb", "Bb", "B♭", "b flat", "B b"} {
		assert.Equal(t, drills.Hit, flat.Judge(drills.Typed(memory.Typed, text)).Result, "%q", text)
	}
}

func TestReadNote(t *testing.T) {
	for text, want := range map[string]string{
		"b": "B", "bb": "Bb", "bbb": "Bbb", "B♭": "Bb", "f#": "F#", "F sharp": "F#", "C##": "C##", "c natural": "C", "b#b": "",
		"": "", "h": "", "b4": "", "fis": "", "Cbbb": "",
	} {
		n, err := drills.ReadNote(text)
		if want == "" {
			assert.Error(t, err, "%q", text)
			continue
		}
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, n.String(), "%q", text)
	}
}

// A note that was written is read back, whatever way it is spelled.
func TestReadNoteReadsWhatIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := harmony.Note{Letter: harmony.Letter(rapid.IntRange(0, 6).Draw(t, "letter")), Alter: int8(rapid.IntRange(-2, 2).Draw(t, "alter"))}
		got, err := drills.ReadNote(n.String())
		require.NoError(t, err)
		assert.Equal(t, n, got)
	})
}

// Any text gives a judgement and never a panic, and what cannot be read says
// what would do.
func TestAnyTextIsJudged(t *testing.T) {
	qs := []drills.Question{find(t, "C7", "3", 6), drills.Spell{Chord: chord(t, "F7"), Degree: degree(t, "b7")},
		drills.Name{Chord: chord(t, "C7"), Degree: degree(t, "5"), Place: fretboard.Place{String: 6, Fret: 3}}}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		for _, q := range qs {
			j := q.Judge(drills.Typed(memory.Typed, text))
			assert.NotEmpty(t, j.Reason)
			assert.Equal(t, j.Result == drills.Unread, j.Given == "")
		}
	})
}

// On one string every fret of the right pitch class is right and every other is
// wrong, worked out by plain arithmetic on MIDI numbers.
func TestFindAgainstArithmetic(t *testing.T) {
	neck := fretboard.StandardNeck()
	open := map[int]int{6: 40, 5: 45} // E2 and A2, MIDI 1.0
	roots := []string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}
	sevenths := map[string][4]int{"maj7": {0, 4, 7, 11}, "7": {0, 4, 7, 10}, "m7": {0, 3, 7, 10}, "m7b5": {0, 3, 6, 10}}
	for class, root := range roots {
		for quality, steps := range sevenths {
			c := chord(t, root+quality)
			for i, d := range c.Degrees {
				for str, low := range open {
					q := drills.Find{Chord: c, Degree: d, String: str, Neck: neck}
					for fret := 0; fret <= neck.HighestFret; fret++ {
						want := drills.Miss
						if (low+fret)%12 == (class+steps[i])%12 {
							want = drills.Hit
						}
						got := q.Judge(drills.Pointed(fretboard.Place{String: str, Fret: fret}))
						require.Equal(t, want, got.Result, "%s%s %s string %d fret %d", root, quality, d, str, fret)
					}
				}
			}
		}
	}
}

// A line of two bars, its pitches worked out by hand: the lowest C from E2 (40)
// up is C3 (48), the E above it E3 (52), the F below that F2 (41), and
// the C above that C3 again.
func TestLine(t *testing.T) {
	c7, f7 := chord(t, "C7"), chord(t, "F7")
	token := func(dir tune.Direction, d string) tune.BassBeat {
		return tune.BassBeat{First: tune.BassToken{Kind: tune.BassNote, Degree: degree(t, d), Direction: dir}}
	}
	tu := &tune.Tune{
		Title: "Two Bars", Meter: tune.Meter{Upper: 2, Lower: 4}, Tempo: 100, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}},
		Sections: []tune.Section{{Name: "A", Bars: []tune.Bar{
			{Chords: []tune.Change{{Chord: c7, Slots: 1}}, Bass: []tune.BassBeat{token(tune.Nearest, "1"), token(tune.Rise, "3")}},
			{Chords: []tune.Change{{Chord: f7, Slots: 1}}, Bass: []tune.BassBeat{token(tune.Fall, "1"), token(tune.Rise, "5")}},
		}}},
	}
	kinds, err := drills.KindsNamed("line")
	require.NoError(t, err)
	kind := kinds[0]
	qs, err := kind.Draw(drills.OfTune("two-bars", tu, fretboard.StandardNeck()))
	require.NoError(t, err)
	require.Len(t, qs, 4)
	for i, c := range []struct {
		prompt string
		midi   int
		right  []string
		wrong  map[string]string
	}{
		{"Bar 1, beat 1, C7: begin on the lowest 1.", 48, []string{"6 8", "5 3"}, map[string]string{
			"5 15": "That C is in the wrong octave; string 6 fret 8 or string 5 fret 3 is meant.",
			"5 5":  "That is D, the 2. The lowest 1 is C: string 6 fret 8 or string 5 fret 3.",
		}},
		{"Bar 1, beat 2, C7: up to the next 3.", 52, []string{"6 12", "5 7"}, nil},
		{"Bar 2, beat 1, F7: down to the next 1.", 41, []string{"6 1"}, map[string]string{
			"6 3": "That is G, the 2. Down to the next 1 is F: string 6 fret 1.",
		}},
		{"Bar 2, beat 2, F7: up to the next 5.", 48, []string{"6 8", "5 3"}, nil},
	} {
		if c.midi >= 50 {
			j := qs[i].Judge(drills.Played(memory.MIDI, c.midi, 4))
			assert.Equal(t, drills.Near, j.Result)
			assert.Equal(t, "String 4, fret 2 is E, the right note, but the line lies on the bass strings: string 6 fret 12 or string 5 fret 7.", j.Reason)
		}
		assert.Equal(t, c.prompt, qs[i].Ask().Prompt)
		assert.Equal(t, drills.Hit, qs[i].Judge(drills.Played(memory.MIDI, c.midi, 0)).Result)
		assert.Equal(t, drills.Hit, qs[i].Judge(drills.Played(memory.MIDI, c.midi, 6)).Result)
		assert.Equal(t, drills.Miss, qs[i].Judge(drills.Played(memory.MIDI, c.midi+12, 0)).Result)
		for _, text := range c.right {
			assert.Equal(t, drills.Hit, qs[i].Judge(drills.Typed(memory.Lines, text)).Result, text)
		}
		for text, why := range c.wrong {
			j := qs[i].Judge(drills.Typed(memory.Lines, text))
			assert.Equal(t, drills.Miss, j.Result, text)
			assert.Equal(t, why, j.Reason)
		}
		assert.Equal(t, drills.Unread, qs[i].Judge(drills.Typed(memory.Lines, "8")).Result)
	}

	_, err = kind.Draw(drills.Material{Title: "Triads"})
	assert.EqualError(t, err, "Triads is no tune: pick a tune to walk through its bass line")
	tu.Sections[0].Bars[0].Bass, tu.Sections[0].Bars[1].Bass = nil, nil
	_, err = kind.Draw(drills.OfTune("two-bars", tu, fretboard.StandardNeck()))
	assert.EqualError(t, err, "Two Bars has no bass row to walk through: pick a tune that has one, or drill find, name or spell")
}

package drills

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

func shapeMaterial(t *testing.T, symbols ...string) Material {
	t.Helper()
	m := Material{Title: "chords", Neck: fretboard.StandardNeck()}
	for _, s := range symbols {
		c, err := harmony.ParseChord(s)
		require.NoError(t, err)
		m.Chords = append(m.Chords, c)
	}
	return m
}

var shapeSymbols = []string{"Dm", "G7", "Cmaj7", "C", "Am7", "Bm7b5", "C6/9", "Ebdim7", "F7alt", "Gsus4", "D5", "AmMaj7"}

// Every question has one right choice, near misses that differ, an item whose
// key reads back, and says why.
func TestShapeQuestionsHaveOneRightChoice(t *testing.T) {
	m := shapeMaterial(t, shapeSymbols...)
	for _, kind := range []Kind{shapeKind, sameKind, nearKind} {
		qs, err := kind.Draw(m)
		require.NoError(t, err)
		require.GreaterOrEqual(t, len(qs), 10)
		spots := map[int]int{}
		for _, q := range qs {
			a := q.Ask()
			require.GreaterOrEqual(t, len(a.Choices), 2, a.Prompt)
			require.LessOrEqual(t, len(a.Choices), 4, a.Prompt)
			right := 0
			for i, c := range a.Choices {
				j := q.Judge(Typed(memory.Typed, fmt.Sprint(i+1)))
				assert.Equal(t, j.Result, q.Judge(Typed(memory.Typed, " "+strings.ToUpper(c))).Result, "%s: %s", a.Prompt, c)
				require.NotEqual(t, Unread, j.Result, "%s: %s", a.Prompt, c)
				if j.Result == Hit {
					right++
					spots[i]++
				}
				assert.NotEmpty(t, j.Reason)
			}
			assert.Equal(t, 1, right, "%s %v", a.Prompt, a.Choices)
			assert.Equal(t, a, q.Ask(), "asking twice gives the same")
			back, err := memory.ParseKey(q.Item().Key())
			require.NoError(t, err)
			assert.Equal(t, q.Item(), back)
			assert.Equal(t, Unread, q.Judge(Typed(memory.Typed, "9")).Result)
			assert.Equal(t, Unread, q.Judge(Pointed(fretboard.Place{String: 5, Fret: 3})).Result)
		}
		assert.Greater(t, len(spots), 2, "%s: the right choice is always in one spot", kind.Name)
	}
}

// The shapes of a walking line's bass degrees: common practice, no source.
func TestShapeQuestionsAskWhatPlayersUse(t *testing.T) {
	qs, err := shapeKind.Draw(shapeMaterial(t, "G7"))
	require.NoError(t, err)
	var roles []string
	for _, q := range qs {
		if s := q.(Shape); s.About == memory.AboutUse {
			roles = append(roles, s.right)
		}
	}
	assert.Contains(t, roles, "a rootless 9 with the third in the bass")
}

// sameFacts are the chords that have the same notes (the figures of the design: read, and
// computed): C6 and Am7; Cm6 and Am7b5; Em7 and Cmaj9 without its root; Dm7b5,
// Bb9 without its root and Fm6. The first is asked about, on any of its tones.
var sameFacts = map[string]struct{ whole, rootless string }{
	"C6": {whole: "Am7"}, "Am7": {whole: "C6"}, "Cm6": {whole: "Am7b5"}, "Am7b5": {whole: "Cm6"},
	"Em7": {rootless: "Cmaj9"}, "Dm7b5": {"Fm6", "Bb9"}, "Fm6": {"Dm7b5", "Bb9"},
	"Cmaj9": {whole: "Em7"}, "Bb9": {whole: "Dm7b5"},
}

// Each fact is asked for, in every key, and what is asked for is what the reader
// finds. Cmaj7 is never Em6, which has a C#.
func TestSameAsksTheFacts(t *testing.T) {
	for symbol, fact := range sameFacts {
		qs, err := sameKind.Draw(shapeMaterial(t, symbol))
		require.NoError(t, err)
		require.GreaterOrEqual(t, len(qs), 24, symbol)
		own, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		asked, keys := map[string]bool{}, map[int]bool{}
		for _, q := range qs {
			s := q.(Same)
			keys[s.Chord.Root.Semitone()] = true
			// Named as if the shape were in the fact's own key.
			up := own.Root.Semitone() - s.Chord.Root.Semitone()
			for _, text := range q.Right() {
				c, err := harmony.ParseChord(text)
				require.NoError(t, err)
				asked[fmt.Sprint(mod12(c.Root.Semitone()+up), c.Quality())] = true
				r, ok := s.Neck.ReadAs(s.Frets, c)
				require.True(t, ok, "%s is not read as %s", fretboard.FormatFrets(s.Frets), text)
				require.Subset(t, []harmony.Degree{{Number: 1}}, r.Omits)
			}
		}
		assert.Len(t, keys, 12, symbol)
		for _, name := range []string{fact.whole, fact.rootless} {
			if name != "" {
				c, err := harmony.ParseChord(name)
				require.NoError(t, err)
				assert.True(t, asked[fmt.Sprint(c.Root.Semitone(), c.Quality())], "%s is never asked to be %s", symbol, name)
			}
		}
	}
	qs, err := sameKind.Draw(shapeMaterial(t, "Cmaj7"))
	require.NoError(t, err)
	for _, q := range qs {
		if q.(Same).Chord.Symbol == "Cmaj7" {
			assert.NotEqual(t, Hit, q.Judge(Typed(memory.Typed, "Em6")).Result)
		}
	}
}

func TestSameTakesTypedSymbols(t *testing.T) {
	neck := fretboard.StandardNeck()
	over := func(symbol, frets string) Same {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		at, err := neck.Tuning.ParseFrets(frets)
		require.NoError(t, err)
		return Same{Chord: c, Frets: at, Neck: neck}
	}
	q := over("G7", "x23231")
	assert.Equal(t, []string{"Bm7b5", "Dm6"}, q.Right())
	for text, want := range map[string]Result{
		"Bm7b5": Hit, "Bø7": Hit, "B-7b5": Hit, "Cbm7b5": Hit,
		"Dm6": Hit, "Bm7": Miss, "Dm6/B": Hit, "Dm6/F": Miss, "G9": Miss, "hello": Unread,
	} {
		assert.Equal(t, want, q.Judge(Typed(memory.Typed, text)).Result, text)
	}
	// The same over the Em7 that G6 and Cmaj9 share: one of the two is asked for.
	q = over("Em7", "x-7-9-7-8-x")
	want := map[string]Result{"G6": Hit, "Cmaj9": Near, "Em7": Miss}
	if q.Right()[0] == "Cmaj9" {
		want = map[string]Result{"G6": Near, "Cmaj9": Hit, "Em7": Miss}
	}
	for text, result := range want {
		j := q.Judge(Typed(memory.Typed, text))
		assert.Equal(t, result, j.Result, text)
		assert.Contains(t, j.Reason, "E B D G: the notes of G6, and Cmaj9 without the root.", text)
	}
}

// The nearest shape of the next chord is the one to which the voices move the
// fewest half steps in all, found here by trying every fret of the same strings; the
// first three are drop 2 and drop 3 inversions of the published tables.
func TestNearestShapeIsTheNearest(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	over := func(symbol, frets, next, about string) Nearest {
		at, err := neck.Tuning.ParseFrets(frets)
		require.NoError(t, err)
		m := shapeMaterial(t, symbol, next)
		return Nearest{Chord: m.Chords[0], Frets: at, Next: m.Chords[1], Neck: neck, Hand: hand, About: about}
	}
	for _, c := range []struct{ symbol, frets, next, to, moves string }{
		{"Dm7", "x-5-7-5-6-x", "G7", "x-5-5-4-6-x", "5 down to 1, b7 down to 3"},
		{"G7", "x-5-5-4-6-x", "Cmaj7", "x-3-5-4-5-x", "5 down to 1, b7 down to 3"},
		{"Dm7", "10-x-10-10-10-x", "G7", "10-x-9-10-8-x", "b7 down to 3, 5 down to 1"},
		{"F7", "x-3-3-2-4-x", "Fm7", "x-3-3-1-4-x", "3 down to b3"},
	} {
		q := over(c.symbol, c.frets, c.next, memory.AboutNearest)
		assert.Equal(t, []string{c.to}, q.Right())
		j := q.Judge(Typed(memory.Typed, strings.ReplaceAll(c.to, "-", " ")))
		assert.Equal(t, Hit, j.Result)
		assert.Contains(t, j.Reason, c.moves)
		assert.Equal(t, []string{c.moves}, over(c.symbol, c.frets, c.next, memory.AboutVoices).Right())
	}
	q := over("Dm7", "x-5-7-5-6-x", "G7", memory.AboutNearest)
	for text, why := range map[string]string{
		"x-8-9-7-8-x": "x-8-9-7-8-x moves 9 half steps, the nearest 3.",
		"x-5-7-4-6-x": "The 9 on string 4 of x-5-7-4-6-x is not in G7.",
		"3-x-3-4-3-x": "3-x-3-4-3-x is not on the same strings.",
	} {
		j := q.Judge(Typed(memory.Typed, text))
		assert.Equal(t, Miss, j.Result, text)
		assert.Contains(t, j.Reason, why)
	}
	assert.Equal(t, Unread, q.Judge(Typed(memory.Typed, "x-5")).Result)

	qs, err := nearKind.Draw(shapeMaterial(t, "Dm7", "G7", "Cmaj7", "A7b9"))
	require.NoError(t, err)
	require.Greater(t, len(qs), enough)
	for _, question := range qs {
		q := question.(Nearest)
		best, found := 1000, ""
		at := slices.Clone(q.Frets)
		var try func(i, steps int)
		try = func(i, steps int) {
			if i == len(at) {
				sounds := map[int]bool{}
				low := 0
				for str, f := range at {
					if midi := neck.Tuning[str] + f; f >= 0 {
						if midi <= low || !slices.ContainsFunc(q.Next.Notes(), func(n harmony.Note) bool { return n.Semitone() == midi%12 }) {
							return
						}
						low, sounds[midi%12] = midi, true
					}
				}
				if _, held := neck.Fingering(hand, at); held && steps < best {
					voices := 0
					for _, f := range at {
						if f >= 0 {
							voices++
						}
					}
					// A chord of four tones or more is heard by its 3, its 7 and what is altered.
					for _, d := range q.Next.Degrees {
						if (d.Number == 3 || d.Number == 7 || d.Number == 9) && !sounds[d.Of(q.Next.Root).Semitone()] {
							return
						}
					}
					if len(sounds) == min(voices, len(q.Next.Degrees)) {
						best, found = steps, fretboard.FormatFrets(at)
					}
				}
				return
			}
			if q.Frets[i] < 0 {
				try(i+1, steps)
				return
			}
			for f := max(1, q.Frets[i]-4); f <= min(neck.HighestFret, q.Frets[i]+4); f++ {
				at[i] = f
				try(i+1, steps+max(f-q.Frets[i], q.Frets[i]-f))
			}
			at[i] = q.Frets[i]
		}
		if q.About == memory.AboutNearest {
			try(0, 0)
			require.Equal(t, found, q.Right()[0], q.Ask().Prompt)
		}
	}
}

func TestBuildTakesAnyRightShape(t *testing.T) {
	m := shapeMaterial(t, "Dm")
	qs, err := buildKind.Draw(m)
	require.NoError(t, err)
	i := slices.IndexFunc(qs, func(q Question) bool { b := q.(Build); return b.String == 6 && b.Bass.String() == "b3" })
	require.GreaterOrEqual(t, i, 0)
	q := qs[i]
	assert.Equal(t, "Build Dm with its b3 lowest, on string 6: first inversion.", q.Ask().Prompt)
	for _, c := range []struct {
		frets  string
		result Result
		reason string
	}{
		{"1-x-0-2-x-x", Hit, "It sounds b3 1 5 of Dm."},
		{"13-12-12-x-x-x", Hit, "It sounds b3 5 1 of Dm."},
		{"1-0-0-2-3-1", Hit, "It sounds b3 5 1 5 1 b3 of Dm."},
		{"x-8-7-7-x-x", Near, "It sounds b3 5 1 of Dm. But its bass is not on string 6, as in 13-x-12-14-15-x."},
		{"1-x-12-x-10-x", Near, "It sounds b3 1 5 of Dm. But no hand holds it; 13-x-12-14-15-x is easier."},
		{"10-x-7-7-6-x", Miss, "Not yet: its lowest note is the 1 of Dm, not the b3. 13-x-12-14-15-x would do."},
		{"1-x-0-0-x-x", Miss, "Not yet: the 4 on string 3 is not in Dm. 13-x-12-14-15-x would do."},
		{"1-x-0-x-x-x", Miss, "Not yet: it has too few notes of Dm: the 5 is missing. 13-x-12-14-15-x would do."},
		{"1-x-0", Unread, "Found 3 frets for 6 strings; write 6 frets low string to high, such as 3-2-0-0-0-3."},
		{"1-x-x-x-x-x", Unread, "A shape has more than one note: place the others too."},
	} {
		j := q.Judge(Typed(memory.Typed, c.frets))
		assert.Equal(t, c.result, j.Result, c.frets)
		assert.Equal(t, c.reason, j.Reason, c.frets)
	}
	places := []fretboard.Place{{String: 3, Fret: 2}, {String: 6, Fret: 1}, {String: 4, Fret: 0}}
	j := q.Judge(Reply{Form: FormPlaces, Way: memory.Cursor, Places: places})
	assert.Equal(t, Hit, j.Result)
	assert.Equal(t, "1-x-0-2-x-x", j.Given)
	assert.Equal(t, Unread, q.Judge(Reply{Form: FormPlaces, Places: append(places, fretboard.Place{String: 3, Fret: 7})}).Result)
	assert.Equal(t, Unread, q.Judge(Played(memory.MIDI, 41, 6)).Result)
}

// The triad above the b3 of a minor seventh chord stands for it, and the rootless
// ninth for a dominant on its 3 (common practice, no source). What is shown for
// the plain root positions are the grips of the design's table.
func TestBuildKnowsStandardShapes(t *testing.T) {
	for _, c := range []struct{ symbol, bass, frets string }{{"Dm7", "b3", "x-8-7-7-x-x"}, {"G7", "3", "x-2-3-2-3-x"}, {"C6/9", "1", "x-3-2-2-3-3"}} {
		qs, err := buildKind.Draw(shapeMaterial(t, c.symbol))
		require.NoError(t, err)
		i := slices.IndexFunc(qs, func(q Question) bool { b := q.(Build); return b.String == 5 && b.Bass.String() == c.bass })
		require.GreaterOrEqual(t, i, 0)
		assert.Equal(t, Hit, qs[i].Judge(Typed(memory.Typed, c.frets)).Result, c)
	}
	for text, want := range map[string]string{
		"Bbmaj7 6": "6-x-7-7-6-x", "G7 6": "3-x-3-4-3-x", "Am7 6": "5-x-5-5-5-x", "F#m7b5 6": "2-x-2-2-1-x",
		"Cmaj7 5": "x-3-5-4-5-x", "D7 5": "x-5-7-5-7-x", "Dm7 5": "x-5-7-5-6-x", "Bm7b5 5": "x-2-3-2-3-x",
	} {
		f := strings.Fields(text)
		qs, err := buildKind.Draw(shapeMaterial(t, f[0]))
		require.NoError(t, err)
		i := slices.IndexFunc(qs, func(q Question) bool { b := q.(Build); return fmt.Sprint(b.String) == f[1] && b.Bass.Number == 1 })
		require.GreaterOrEqual(t, i, 0)
		assert.Equal(t, want, qs[i].Right()[0], text)
	}
}

func TestBuildAsksOnlyWhatCanBeBuilt(t *testing.T) {
	qs, err := buildKind.Draw(shapeMaterial(t, shapeSymbols...))
	require.NoError(t, err)
	for _, q := range qs {
		b := q.(Build)
		shapes := b.shapes()
		require.NotEmpty(t, shapes)
		for _, text := range q.Right() {
			assert.Equal(t, Hit, q.Judge(Typed(memory.Typed, text)).Result, q.Ask().Prompt)
			frets, err := b.Neck.Tuning.ParseFrets(text)
			require.NoError(t, err)
			assert.True(t, frets[0] < 0 || frets[1] < 0, "%s wants the bass's second string: %s", q.Ask().Prompt, text)
			assert.Equal(t, b.Bass.Semitones()%12, b.Neck.ReadOver(frets, b.Chord).Degrees[0].Semitones()%12)
		}
		back, err := memory.ParseKey(q.Item().Key())
		require.NoError(t, err)
		assert.Equal(t, q.Item(), back)
	}
}

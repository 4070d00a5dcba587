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
	for _, kind := range []Kind{shapeKind, sameKind} {
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

	qs, err = sameKind.Draw(shapeMaterial(t, "G7", "Dm", "Cmaj7", "C"))
	require.NoError(t, err)
	var same []string
	for _, q := range qs {
		s := q.(Same)
		same = append(same, s.Chord.Symbol+" "+s.right.Symbol)
	}
	assert.ElementsMatch(t, []string{"G7 Bm7b5", "Dm Bm7b5", "Cmaj7 Em7", "C Am7"}, same)
}

func TestSameTakesTypedSymbols(t *testing.T) {
	qs, err := sameKind.Draw(shapeMaterial(t, "G7"))
	require.NoError(t, err)
	require.Len(t, qs, 1)
	for text, want := range map[string]Result{
		"Bm7b5": Hit, "Bø7": Hit, "B-7b5": Hit, "Cbm7b5": Hit,
		"Dm6": Miss, "Bm7": Miss, "Dm6/B": Hit, "hello": Unread,
	} {
		assert.Equal(t, want, qs[0].Judge(Typed(memory.Typed, text)).Result, text)
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
		{"x-8-7-7-x-x", Near, "It sounds b3 5 1 of Dm. But its bass is not on string 6, as in 1-x-0-2-x-x."},
		{"1-x-12-x-10-x", Near, "It sounds b3 1 5 of Dm. But no hand holds it; 1-x-0-2-x-x is easier."},
		{"10-x-7-7-6-x", Miss, "Not yet: its lowest note is the 1 of Dm, not the b3. 1-x-0-2-x-x would do."},
		{"1-x-0-0-x-x", Miss, "Not yet: the 4 on string 3 is not in Dm. 1-x-0-2-x-x would do."},
		{"1-x-0-x-x-x", Miss, "Not yet: it has too few notes of Dm: the 5 is missing. 1-x-0-2-x-x would do."},
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

func TestBuildAsksOnlyWhatCanBeBuilt(t *testing.T) {
	qs, err := buildKind.Draw(shapeMaterial(t, shapeSymbols...))
	require.NoError(t, err)
	for _, q := range qs {
		b := q.(Build)
		shapes := b.shapes()
		require.NotEmpty(t, shapes)
		assert.Equal(t, Hit, q.Judge(Typed(memory.Typed, shapes[0].String())).Result, q.Ask().Prompt)
		back, err := memory.ParseKey(q.Item().Key())
		require.NoError(t, err)
		assert.Equal(t, q.Item(), back)
	}
}

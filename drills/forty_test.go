package drills_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony"
)

// everyMaterial are the tunes that come with the program and the set "Sevenths".
func everyMaterial(t *testing.T) []drills.Material {
	neck := fretboard.StandardNeck()
	var all []drills.Material
	for _, name := range content.TuneNames() {
		tu, ok := content.Tune(name)
		require.True(t, ok)
		all = append(all, drills.OfTune(name, tu, neck))
	}
	sevenths, err := drills.OfSet(drills.Sets[slices.IndexFunc(drills.Sets, func(s drills.Set) bool { return s.Name == "sevenths" })], neck)
	require.NoError(t, err)
	require.Greater(t, len(all), 13)
	return append(all, sevenths)
}

// Forty questions of each kind about shapes, on each tune and on "Sevenths", as a
// player meets them who knows nothing yet and misses every tenth: at least twenty
// are different, the right answer stands at no number in more than half of those
// that have choices, and the reader of shapes agrees with every one.
func TestFortyQuestionsAboutShapes(t *testing.T) {
	for _, m := range everyMaterial(t) {
		for _, name := range []string{"shape", "build", "same", "near"} {
			kinds, err := drills.KindsNamed(name)
			require.NoError(t, err)
			s, err := drills.Start(drills.Plan{
				Kinds: kinds, Material: m, Questions: 40, Chance: rand.New(rand.NewPCG(uint64(len(m.Name)), 7)),
				Choose: today.Chooser(nil, 20000, today.Needed(m), memory.Limits{Whole: true}),
			}, noon)
			require.NoError(t, err)
			items, prompts, numbers, chosen := map[memory.Item]bool{}, map[string]bool{}, [5]int{}, 0
			for i := range 40 {
				q, err := s.Next(noon.Add(time.Duration(i) * time.Second))
				require.NoError(t, err, "%s of %s", name, m.Name)
				ask, right := q.Ask(), q.Right()
				items[q.Item()], prompts[ask.Prompt] = true, true
				if at := slices.Index(ask.Choices, right[0]); at >= 0 {
					numbers[at]++
					chosen++
				} else {
					require.Empty(t, ask.Choices, ask.Prompt)
				}
				agrees(t, m.Neck, q)
				text := right[0]
				if i%10 == 9 {
					text = "none of these"
				}
				j, _ := s.Answer(drills.Reply{Way: memory.Lines, Form: drills.FormText, Text: text, Final: true}, noon.Add(time.Duration(i)*time.Second))
				require.Equal(t, i%10 != 9, j.Result == drills.Hit, "%s %q: %s", ask.Prompt, text, j.Reason)
				s.Kept(nil)
			}
			assert.GreaterOrEqual(t, len(items), 20, "%s of %s", name, m.Name)
			assert.GreaterOrEqual(t, len(prompts), 20, "%s of %s", name, m.Name)
			assert.LessOrEqual(t, 2*slices.Max(numbers[:]), chosen, "%s of %s: %v", name, m.Name, numbers)
		}
	}
}

// agrees holds what a question calls right, and what it calls wrong, to the reader.
func agrees(t *testing.T, n fretboard.Neck, q drills.Question) {
	ask := q.Ask()
	over := chord(t, ask.Chord)
	for _, text := range slices.Concat(q.Right(), ask.Choices) {
		right := slices.Contains(q.Right(), text)
		what := ask.Prompt + " " + text
		switch q := q.(type) {
		case drills.Shape:
			switch q.About {
			case memory.AboutInversion:
				read := slices.ContainsFunc(n.Read(ask.Frets), func(r fretboard.Reading) bool {
					symbol, _, _ := strings.Cut(text, ", ")
					return r.Chord.Quality() == chord(t, symbol).Quality() && r.Chord.Root == chord(t, symbol).Root && strings.HasSuffix(text, ", "+r.Inversion)
				})
				require.Equal(t, right, read, what)
			case memory.AboutDegrees:
				require.Equal(t, right, strings.Join(harmony.Spelled(n.ReadOver(ask.Frets, over).Degrees), " ") == text, what)
			case memory.AboutUse:
				require.Equal(t, right, n.ReadOver(ask.Frets, over).Role == text, what)
			}
		case drills.Build:
			frets, err := n.Tuning.ParseFrets(text)
			require.NoError(t, err)
			require.Equal(t, ask.Degree, n.ReadOver(frets, over).Degrees[0].String(), what)
			for _, d := range n.ReadOver(frets, over).Degrees {
				ninth := d.String() == "9" && q.Bass.Number == 3 // in the place of the root
				require.True(t, slices.Contains(over.Degrees, d) || ninth || d == q.Bass, what)
			}
			_, held := n.Fingering(q.Hand, frets)
			require.True(t, held, what)
			require.Less(t, frets[0]*frets[1], 0, "%s sounds both strings of the line", what)
		case drills.Same:
			r, ok := n.ReadAs(ask.Frets, chord(t, text))
			ok = ok && len(r.Adds) == 0 && (len(r.Omits) == 0 || len(r.Omits) == 1 && r.Omits[0].Number == 1)
			require.Equal(t, right, ok, what)
		case drills.Nearest:
			if q.About != memory.AboutNearest {
				continue
			}
			frets, err := n.Tuning.ParseFrets(text)
			require.NoError(t, err)
			nearest := n.Nearest(q.Hand, ask.Frets, q.Next)
			at := slices.IndexFunc(nearest, func(m fretboard.Moved) bool { return slices.Equal(m.Frets, frets) })
			if at >= 0 && q.Chord.SoundsAs(q.Next) && nearest[0].Steps == 0 {
				at--
			}
			require.Equal(t, right, at == 0, what)
			if right {
				r := n.ReadOver(frets, q.Next)
				require.NotContains(t, r.Role, "outside", what)
			}
		}
	}
}

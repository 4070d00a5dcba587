package lesson_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

const good = `# a teacher's note to herself
lesson  What a degree is
goal    Name the third of any chord

[text]
A degree is a number
counted from the root.

The third makes a chord major or minor.

[practice]
drill | name | chords C Dm7 G7 | degrees 3 ♭3 | done 18 of 20
drill | find | tune two-bars | done 9 of 10 in 4.5 s
play  | tune two-bars | section A | layer bass+changes | ramp 60:80+4,ladder2 | done 2 clean at 76
`

func tunes(name string) (*tune.Tune, bool) {
	if name != "two-bars" {
		return nil, false
	}
	return &tune.Tune{Title: "Two Bars", Sections: []tune.Section{{Name: "A"}}}, true
}

func TestRead(t *testing.T) {
	l, faults := lesson.Read("l", good, tunes)
	require.Empty(t, faults)
	assert.Equal(t, &lesson.Lesson{
		Name: "l", Title: "What a degree is", Goal: "Name the third of any chord",
		Text: []string{"A degree is a number counted from the root.", "The third makes a chord major or minor."},
		Tasks: []lesson.Task{
			{Line: 12, Column: 34, Drill: &lesson.Drill{Kind: memory.Name, Chords: "C Dm7 G7", Degrees: []string{"3", "b3"}, Right: 18, Of: 20}},
			{Line: 13, Column: 9, Drill: &lesson.Drill{Kind: memory.Find, Tune: "two-bars", Title: "Two Bars", Right: 9, Of: 10, Within: 4500 * time.Millisecond}},
			{Line: 14, Column: 9, Passage: &lesson.Passage{Tune: "two-bars", Title: "Two Bars", Section: "A", Layer: "bass+changes",
				Ramp: ramp.Ramp{Floor: 60, Target: 80, Step: 4, Mode: ramp.Ladder, Rungs: 2}, Clean: 2, At: 76}},
		},
	}, l)
}

func TestEveryFaultIsReported(t *testing.T) {
	text := `lesson
gaol  Name it
[test]
[text]
[practice]
sing | tune two-bars
drill | hum | tune two-bars | done 1 of 2
drill | name | chords C H7 | degrees 3 x | done 20 of 18
drill | name | done 1 of 2
drill | find | tune six-bars
play | tune two-bars | section ♭B | section A | layer top | ramp 80:60 | done 2 at 80
play | colour red | done 2 clean at 90 | ramp 60:80
`
	l, faults := lesson.Read("l", text, tunes)
	require.Nil(t, l)
	type at struct{ line, column int }
	var got []at
	for _, f := range faults {
		got = append(got, at{f.Line, f.Column})
		require.NotEmpty(t, f.Found)
		require.NotEmpty(t, f.Want)
	}
	assert.Equal(t, []at{
		{1, 1}, {1, 7}, {2, 1}, {3, 1}, {6, 1}, {7, 9}, {8, 16}, {8, 30}, {8, 44}, {9, 1}, {10, 1}, {10, 16},
		{11, 24}, {11, 37}, {11, 49}, {11, 61}, {11, 74}, {12, 1}, {12, 1}, {12, 8}, {13, 1},
	}, got, "%v", faults)
}

// What counts as done has its bounds: up to 20 clean passes, at a tempo there is.
func TestBoundsOfDone(t *testing.T) {
	for done, want := range map[string]string{
		"1 clean at 60": "", "20 clean at 80": "",
		"0 clean at 80": "like: done 2 clean at 80", "21 clean at 80": "like: done 2 clean at 80",
		"2 clean at 29": "like: done 2 clean at 80", "2 clean at 301": "like: done 2 clean at 80", "2 clean by 80": "like: done 2 clean at 80",
		"2 clean at 81": "a tempo that the ramp reaches, up to 80",
	} {
		text := "lesson L\ngoal   G\n[text]\nT\n[practice]\nplay | tune two-bars | layer bass | ramp 60:80 | done " + done + "\n"
		_, faults := lesson.Read("l", text, tunes)
		if want == "" {
			assert.Empty(t, faults, done)
			continue
		}
		require.Len(t, faults, 1, "%s: %v", done, faults)
		assert.Equal(t, want, faults[0].Want, done)
		assert.Equal(t, 6, faults[0].Line)
	}
}

func TestReadNeverPanics(t *testing.T) {
	words := strings.Fields("lesson goal [text] [practice] drill play | name tune two-bars chords C degrees done 1 of 2 in 4 s clean at 80 ramp 60:80 section A layer bass # é")
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(rapid.SampledFrom(append(words, "\n", "\n", "", "\xff"))).Draw(t, "words"), " ")
		l, faults := lesson.Read("l", text, tunes)
		require.Equal(t, l == nil, len(faults) > 0)
		lines := strings.Count(text, "\n") + 1
		for _, f := range faults {
			require.True(t, f.Line >= 1 && f.Line <= lines && f.Column >= 1, "%v", f)
		}
	})
}

func TestMet(t *testing.T) {
	d := lesson.Drill{Right: 18, Of: 20, Within: 4 * time.Second}
	assert.True(t, d.Met(20, 18, 4*time.Second))
	assert.True(t, d.Met(40, 36, time.Second))
	assert.False(t, d.Met(19, 19, time.Second), "too few asked")
	assert.False(t, d.Met(20, 17, time.Second))
	assert.False(t, d.Met(20, 20, 5*time.Second))
}

// Any text gives a lesson or faults that lie within it.
func FuzzRead(f *testing.F) {
	f.Add(good)
	f.Add("lesson\ngoal\n[text\n[practice]\ndrill | name | chords H | done 0 of 0 in x s\nplay | ramp 1:2 | done 1 clean at 9\n")
	f.Add("lesson  A\ngoal  B\n\n[tune]")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<12 { // what is longer says the same more slowly
			return
		}
		l, faults := lesson.Read("l", text, tunes)
		if (l == nil) != (len(faults) > 0) {
			t.Fatalf("lesson %v, faults %v", l, faults)
		}
		lines := strings.Count(text, "\n") + 1
		for _, f := range faults {
			if f.Line < 1 || f.Line > lines || f.Column < 1 {
				t.Fatalf("fault out of the text: %v", f)
			}
		}
	})
}

// A drill that cannot be asked as it stands is told with its line and with what the chords have:
// Dm7 is D F A C, 1 b3 5 b7 (common knowledge; chord-tones.json has it too).
func TestDrillsThatCannotBeAsked(t *testing.T) {
	for _, c := range []struct{ drill, want string }{
		{"find | chords Dm7 | degrees b3 5", ""},
		{"find | chords Dm7 G7 | degrees 3 b3", ""},
		{"find | chords Dm7", ""},
		{"find | chords Dm7 | degrees 3", `line 6, column 29: found "3"; want degrees that these chords are asked with: Dm7 1 b3 5 b7`},
		{"spell | chords C7 | degrees 1 3", `line 6, column 29: found "1"; want degrees that these chords are asked with: C7 3 5 b7`},
		{"find | chords Dm7 G7 | degrees 3", `line 6, column 32: found "degrees 3"; want one that Dm7 has too: 1 b3 5 b7`},
		{"name | chords C Dm7 G7 F7 Bb7 Am7 Em7 | degrees 3 b3 6", `line 6, column 49: found "6"; want degrees that it asks for: 1 3 5 b3 b7`},
		{"ear | chords C6 | degrees 3", `line 6, column 27: found "degrees 3"; want no degrees: the drill ear does not ask for one`},
		{"approach | chords C6", `line 6, column 9: found approach with nothing to ask; want other chords, another tune, or another drill`},
	} {
		l, faults := lesson.Read("l", "lesson L\ngoal G\n[text]\nT\n[practice]\ndrill | "+c.drill+" | done 1 of 2\n", tunes)
		require.Empty(t, faults, c.drill)
		symbols := l.Tasks[0].Drill.Chords
		m, err := drills.OfSymbols(symbols, symbols, symbols, fretboard.StandardNeck())
		require.NoError(t, err)
		faults, err = l.Tasks[0].Unasked(m)
		require.NoError(t, err, c.drill)
		if c.want == "" {
			assert.Empty(t, faults, c.drill)
			continue
		}
		assert.EqualError(t, faults, c.want, c.drill)
	}
	faults, err := lesson.Task{Passage: &lesson.Passage{}}.Unasked(drills.Material{})
	assert.NoError(t, err)
	assert.Empty(t, faults)
}

package drills_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

func typed(q drills.Question, text string) drills.Judgement {
	return q.Judge(drills.Typed(memory.Typed, text))
}

// The notes around a root are equal temperament: a half step is a semitone.
func TestApproach(t *testing.T) {
	neck := fretboard.StandardNeck()
	for _, tt := range []struct{ from, to, by, degree, note string }{
		{"Dm7", "G7", "b2", "b5", "Ab"},
		{"Dm7", "G7", "7", "3", "F#"},
		{"G7", "Cmaj7", "7", "3", "B"},
		{"G7", "Cmaj7", "b2", "b5", "Db"},
		{"C7b9", "Ebmaj7", "b2", "3", "E"},
		{"C7b9", "Cm7", "b2", "b9", "Db"},
		{"Bbm7", "Eb7", "b2", "#4", "E"},
		{"Bbm7b5", "Eb7", "b2", "b5", "Fb"}, // a tone of the chord
		{"Fmaj7", "Bb", "b2", "#4", "B"},
		{"F#m7", "B7", "7", "3", "A#"},
		{"Cmaj7", "A7", "2", "7", "B"},
		{"Bb7", "Eb", "b7", "b3", "Db"},
	} {
		by, err := harmony.ParseDegree(tt.by)
		require.NoError(t, err)
		q := drills.Approach{Chord: chord(t, tt.from), Next: chord(t, tt.to), By: by, Neck: neck}
		for _, text := range []string{tt.note, strings.ToLower(tt.note), q.Right()[0]} {
			v := typed(q, text)
			assert.Equal(t, drills.Hit, v.Result, "%s to %s by %s: %q: %s", tt.from, tt.to, tt.by, text, v.Reason)
		}
		require.Equal(t, []string{tt.degree, tt.note}, q.Right())
		miss := typed(q, "5")
		assert.Equal(t, drills.Miss, miss.Result)
		assert.Contains(t, miss.Reason, tt.note)
		assert.Equal(t, drills.Unread, typed(q, "up a bit").Result)
		low := q.Ask().Place
		assert.Equal(t, drills.Hit, q.Judge(drills.Pointed(low)).Result)
		assert.Equal(t, drills.Hit, q.Judge(drills.Played(memory.Typed, neck.MIDI(low), 0)).Result)
		require.Len(t, q.Steps(), 3)
		require.Len(t, q.Ask().Sounds, 2)
	}
}

// A bar that leads on is judged by the rules of criticism.
func TestLeading(t *testing.T) {
	q := drills.Leading{
		Chord: chord(t, "Dm7"), Next: chord(t, "G7"), Meter: tune.Meter{Upper: 4, Lower: 4}, Beats: 4, Neck: fretboard.StandardNeck(),
	}
	for text, want := range map[string]drills.Result{
		"1 b3 5 b5":     drills.Hit,
		`1 /b3 /5 \b5`:  drills.Hit,
		"D F A Ab":      drills.Hit,
		"1 2 b3 3":      drills.Hit,
		"1 b7 6 5":      drills.Hit,  // by a whole step
		"1 b3 5 1":      drills.Near, // by a fourth
		"1 1 1 1":       drills.Near, // one note
		"1 5 b3 2":      drills.Miss, // leads nowhere
		"b2 b6 4 b5":    drills.Miss, // no Dm7
		"1 b3 5":        drills.Unread,
		"1 b3 5 x":      drills.Unread,
		"one two three": drills.Unread,
	} {
		v := typed(q, text)
		assert.Equal(t, want, v.Result, "%s: %s", text, v.Reason)
		assert.NotEmpty(t, v.Reason)
	}
	steps := q.Steps()
	require.Contains(t, steps[len(steps)-1], q.Right()[0])
}

// What the drill tells to do it does itself: the bar that it shows has the beats that
// the chord has, tones of it alone up to the last, which lies a half step from the note
// that it leads to and is the first to come near it.
func TestLeadingDoesAsItSays(t *testing.T) {
	for i, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		moved, _, err := tn.Transpose(tn.Key.Up(i%12), 15)
		require.NoError(t, err)
		kinds, err := drills.KindsNamed(string(memory.Leading))
		require.NoError(t, err)
		qs, err := kinds[0].Draw(drills.OfTune(name, moved, fretboard.StandardNeck()))
		require.NoError(t, err)
		for _, asked := range qs {
			q := asked.(drills.Leading)
			text := q.Right()[0]
			require.Equal(t, drills.Hit, typed(q, text).Result, "%s: %s", q.Ask().Prompt, text)
			tokens := strings.Fields(text)
			require.Len(t, tokens, q.Beats, q.Ask().Prompt)
			for k, token := range tokens {
				d, err := harmony.ParseDegree(strings.TrimLeft(token, `/\`))
				require.NoError(t, err)
				class := d.Of(q.Chord.Root).Semitone()
				away := (q.Next.Bass.Semitone() - class + 12) % 12
				if k+1 == len(tokens) {
					require.Contains(t, []int{1, 11}, away, "%s: %s", q.Ask().Prompt, text)
				} else if class != q.Chord.Bass.Semitone() {
					require.NotZero(t, away, "%s: %s", q.Ask().Prompt, text)
					require.Contains(t, q.Chord.Degrees, q.Chord.DegreeOf(class), "%s: %s", q.Ask().Prompt, text)
				}
			}
		}
	}
}

func TestEar(t *testing.T) {
	neck := fretboard.StandardNeck()
	frets, err := neck.Tuning.ParseFrets("x-7-5-5-5-x")
	require.NoError(t, err)
	q := drills.Ear{Chord: chord(t, "C"), Bass: harmony.Degree{Number: 3}, Frets: frets, About: memory.AboutBass, Neck: neck}
	require.Equal(t, [][]int{{52, 55, 60, 64}}, q.Ask().Sounds)
	require.Equal(t, "It sounds E G C E, low to high.", q.Ask().Unheard)
	require.NotContains(t, q.Ask().Prompt, "3")
	require.Equal(t, drills.Hit, typed(q, "3").Result)
	require.Equal(t, drills.Miss, typed(q, "5").Result)
	require.Equal(t, drills.Unread, typed(q, "low").Result)
	q.About = memory.AboutQuality
	require.Equal(t, []string{"major"}, q.Right())
	require.Equal(t, drills.Hit, typed(q, "major").Result)
	require.Equal(t, drills.Hit, typed(q, "maj").Result)
	require.Equal(t, drills.Miss, typed(q, "m7").Result)
	require.Contains(t, q.Ask().Choices, "major")
}

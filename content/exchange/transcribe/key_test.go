package transcribe_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

// TestGuessKey has progressions whose key is common practice, no source.
func TestGuessKey(t *testing.T) {
	for _, c := range []struct {
		want   string
		chords []string
	}{
		{"C", []string{"Dm7", "G7", "Cmaj7"}},
		{"Bb", []string{"Bbmaj7", "Gm7", "Cm7", "F7"}},
		{"G", []string{"G", "D", "Em", "C"}},
		{"Am", []string{"Am", "F", "C", "E7", "Am"}},
		{"Cm", []string{"Cm7", "Fm7", "Dm7b5", "G7(b9)", "Cm6"}},
		{"F#m", []string{"F#m7", "Bm7", "G#m7b5", "C#7", "F#m"}},
		{"F", []string{"C", "F"}}, // in both keys: the last chord is the sign
		{"C", []string{"F", "G7", "C"}},
		{"G", []string{"G", "C", "Dsus4"}},          // and else the first
		{"C", []string{"Cmaj7", "A7", "Dm7", "G7"}}, // turnarounds lead back
		{"C", []string{"Dm7", "G7", "Cmaj7", "A7"}},
		{"C", []string{"Em7", "A7", "Dm7", "G7"}},
		{"F", []string{"F7", "Bb7", "F7", "F7", "Bb7", "Bb7", "F7", "D7", "Gm7", "C7", "F7", "C7"}},
		{"Bb", []string{"Bb6", "G7", "Cm7", "F7", "Dm7", "G7", "Cm7", "F7"}},
		{"Eb", []string{"Fm7", "Bb7", "Ebmaj7", "Abmaj7", "Gm7", "C7", "Fm7", "Bb7"}},
		{"Am", []string{"Am7", "Dm7", "Bm7b5", "E7"}},
		{"Dm", []string{"Dm6", "Gm6", "Em7b5", "A7b9"}},
		{"Gm", []string{"Cm7", "F7", "Bbmaj7", "Ebmaj7", "Am7b5", "D7", "Gm", "Gm"}},
		{"Gm", []string{"Cm7", "F7", "Bbmaj7", "Ebmaj7", "Am7b5", "D7", "Gm", "Gm", "G7"}},
		{"Ebm", []string{"Abm7", "Db7", "Gbmaj7", "Cbmaj7", "Fm7b5", "Bb7", "Ebm", "Ebm"}},
		{"D#m", []string{"D#m", "G#m", "A#7", "D#m"}},
		{"C", nil},
		{"C", []string{"N.C."}},
	} {
		var chords []harmony.Chord
		for _, s := range c.chords {
			chord, err := harmony.ParseChord(s)
			require.NoError(t, err)
			chords = append(chords, chord)
		}
		key, _ := transcribe.GuessKey(chords)
		assert.Equal(t, c.want, key.String(), c.chords)
	}
}

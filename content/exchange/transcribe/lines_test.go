package transcribe_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

func TestChordLines(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"barred": {
			"| Dm7 | G7 | Cmaj7 | % |\n",
			"[A]\nchords | Dm7 | G7 | Cmaj7 | % |\n",
		},
		"a chord a bar": {
			"Dm7 G7 Cmaj7 %\n",
			"[A]\nchords | Dm7 | G7 | Cmaj7 | % |\n",
		},
		"two a bar, holds, a half bar held over": {
			"Dm7 G7 | C . . A7 | / D7 | G7 / C /",
			"[A]\nchords | Dm7 G7 | C . . A7 | . D7 | G7 C |\n",
		},
		"sections, named and not, and one that comes again": {
			"# a chart\n[Verse]\nC | Am\nF | G\n\n| Dm | G |  # the middle\n\n[Verse]\nC | Am | F | G\n",
			"form   Verse A Verse\n\n[Verse]\nchords | C | Am | F | G |\n\n[A]\nchords | Dm | G |\n",
		},
		"repeats": {
			"|: C | G :| F | C |",
			"form   A A B\n\n[A]\nchords | C | G |\n\n[B]\nchords | F | C |\n",
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, faults := transcribe.ReadChordLines(c.text)
			require.Empty(t, faults)
			s.Title = "T"
			tn, _ := s.Tune(40, 60)
			assert.Contains(t, tune.Write(tn), c.want)
			back, faults := tune.Read(tune.Write(tn))
			require.Empty(t, faults)
			assert.Equal(t, tn, back)
		})
	}
	_, faults := transcribe.ReadChordLines("% | Cm7 |\n| H7 | Cm7x |\n\xff\n")
	require.Len(t, faults, 4)
	assert.Equal(t, [2]int{1, 1}, [2]int{faults[0].Line, faults[0].Column})
	assert.Equal(t, [2]int{2, 3}, [2]int{faults[1].Line, faults[1].Column})
	assert.Equal(t, [2]int{2, 8}, [2]int{faults[2].Line, faults[2].Column})
	assert.Contains(t, faults[2].Want, "in column 11 write")
	assert.Equal(t, [2]int{3, 1}, [2]int{faults[3].Line, faults[3].Column})
	_, faults = transcribe.ReadChordLines("\n \n")
	require.Len(t, faults, 1)
}

func TestChordLinesInAnotherMeter(t *testing.T) {
	s, faults := transcribe.ReadChordLines("| C . G |")
	require.Empty(t, faults)
	s.SetMeter(tune.Meter{Upper: 3, Lower: 4})
	tn, _ := s.Tune(40, 60)
	assert.Equal(t, "C . G", tune.ChordCell(tn.Sections[0].Bars[0].Chords))
	assert.Equal(t, "3/4", tn.Meter.String())
}

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
		{"G", []string{"G", "C", "Dsus4"}}, // and else the first
		{"C", nil},
		{"C", []string{"N.C."}},
	} {
		var chords []harmony.Chord
		for _, s := range c.chords {
			chord, err := harmony.ParseChord(s)
			require.NoError(t, err)
			chords = append(chords, chord)
		}
		assert.Equal(t, c.want, transcribe.GuessKey(chords).String(), c.chords)
	}
}

func FuzzChordLines(f *testing.F) {
	f.Add("| Dm7 | G7 | Cmaj7 | % |")
	f.Add("[A]\n|: C . / | % :|\n\nDm7 G7  # x\r\n: | \xff")
	f.Fuzz(func(t *testing.T, text string) {
		s, faults := transcribe.ReadChordLines(text)
		if s == nil {
			require.NotEmpty(t, faults)
			return
		}
		tn, _ := s.Tune(40, 60)
		back, faults := tune.Read(tune.Write(tn))
		require.Empty(t, faults, tune.Write(tn))
		require.Equal(t, tune.Write(tn), tune.Write(back))
	})
}

package tune_test

import (
	"testing"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func key(t require.TestingT, s string) harmony.Key {
	k, err := harmony.ParseKey(s)
	require.NoError(t, err)
	return k
}

// TestTranspose has chords and shapes moved by hand.
func TestTranspose(t *testing.T) {
	tn := mustRead(t, head("Bb", "4/4")+"[A]\nchords | Bbmaj7 Gb7/Bb | Ebm6 N.C. | A7(b9,#11) |\nbass | 1 \\b7 3 - | 1 . . . | % |\n"+
		"shapes | x-1-3-2-3-x * x-13-12-13-x-x . | 12-x-13-1-x-x . . . | . . . . |\n")
	before := tune.Write(tn)

	out, lost, err := tn.Transpose(key(t, "C"), 15)
	require.NoError(t, err)
	assert.Equal(t, before, tune.Write(tn))
	assert.Equal(t, "Cmaj7 Ab7/C", tune.ChordCell(out.Sections[0].Bars[0].Chords))
	assert.Equal(t, "Fm6 N.C.", tune.ChordCell(out.Sections[0].Bars[1].Chords))
	assert.Equal(t, "B7(b9,#11)", tune.ChordCell(out.Sections[0].Bars[2].Chords))
	assert.Equal(t, "x-3-5-4-5-x", out.Sections[0].Bars[0].Shapes[0].String())
	assert.Equal(t, "x-15-14-15-x-x", out.Sections[0].Bars[0].Shapes[2].String())
	assert.Equal(t, "14-x-15-3-x-x", out.Sections[0].Bars[1].Shapes[0].String())
	assert.Empty(t, lost)
	assert.Equal(t, tn.Sections[0].Bars[0].Bass, out.Sections[0].Bars[0].Bass)

	// Up a major third: 12-x-13-1-x-x would need fret 17, or one below the nut.
	out, lost, err = tn.Transpose(key(t, "D"), 15)
	require.NoError(t, err)
	assert.Equal(t, "Dmaj7 Bb7/D", tune.ChordCell(out.Sections[0].Bars[0].Chords))
	assert.Equal(t, "x-5-4-5-x-x", out.Sections[0].Bars[0].Shapes[2].String())
	require.Len(t, lost, 1)
	assert.Equal(t, "section A, bar 2, beat 1: the shape 12-x-13-1-x-x does not fit the neck in the new key; a * stands in its place", lost[0].Error())
	assert.True(t, out.Sections[0].Bars[1].Shapes[0].Choose)

	// A fifth up is a fourth down: x-13-12-13-x-x goes down, x-1-3-2-3-x cannot.
	out, lost, err = tn.Transpose(key(t, "F"), 20)
	require.NoError(t, err)
	assert.Equal(t, "x-8-7-8-x-x", out.Sections[0].Bars[0].Shapes[2].String())
	assert.Equal(t, "x-8-10-9-10-x", out.Sections[0].Bars[0].Shapes[0].String())
	assert.Equal(t, "19-x-20-8-x-x", out.Sections[0].Bars[1].Shapes[0].String())
	assert.Empty(t, lost)

	_, _, err = tn.Transpose(key(t, "Dm"), 15)
	assert.ErrorContains(t, err, "give a key in major")
}

var majorKeys = []string{"C", "G", "D", "A", "E", "B", "F#", "C#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"}
var minorKeys = []string{"Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m", "A#m", "Dm", "Gm", "Cm", "Fm", "Bbm", "Ebm", "Abm"}

// TestTransposeKeepsTheMusic holds any tune in any key to what a transposition
// must keep: every chord as far above the tonic as it was, degrees unchanged,
// never a double accidental, and a text that reads back.
func TestTransposeKeepsTheMusic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		keys := majorKeys
		if tn.Key.Minor {
			keys = minorKeys
		}
		to := key(t, rapid.SampledFrom(keys).Draw(t, "to"))
		out, _, err := tn.Transpose(to, 24)
		require.NoError(t, err)
		for i := range tn.Sections {
			for j := range tn.Sections[i].Bars {
				was, is := tn.Sections[i].Bars[j].Chords, out.Sections[i].Bars[j].Chords
				require.Len(t, is, len(was))
				for k := range was {
					a, b := was[k].Chord, is[k].Chord
					require.Equal(t, a.Degrees, b.Degrees)
					if a.None {
						continue
					}
					above := func(n harmony.Note, tonic harmony.Note) int { return (n.Semitone() - tonic.Semitone() + 12) % 12 }
					require.Equal(t, above(a.Root, tn.Key.Tonic), above(b.Root, to.Tonic))
					require.Equal(t, above(a.Bass, tn.Key.Tonic), above(b.Bass, to.Tonic))
					require.LessOrEqual(t, b.Root.Alter, int8(1), b.Symbol)
					require.GreaterOrEqual(t, b.Root.Alter, int8(-1), b.Symbol)
				}
			}
		}
		back, faults := tune.Read(tune.Write(out))
		require.Empty(t, faults)
		require.Equal(t, tune.Write(out), tune.Write(back))
	})
}

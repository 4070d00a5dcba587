package musicxml

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"footfall/content"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The two low strings of standard tuning from open to fret 15.
const low, high = 40, 60

// stripped takes the tune's own text out of a document, so that reading has the
// notation alone to go by.
func stripped(document []byte) []byte {
	return bytes.Replace(document, []byte(textField), []byte("other"), 1)
}

// inHands returns what a tune strikes, on strings above the line, each on the first
// fret that is a tone of its chord.
func inHands(tn *tune.Tune, line []tune.LineNote) Options {
	lowest := low
	for _, n := range line {
		lowest = min(lowest, n.Pitch.MIDI())
	}
	o := Options{Tuning: []int{lowest, lowest + 5, 50, 55, 59, 64}, Layer: tune.BassHalves, Places: map[tune.Position]Place{}}
	for _, n := range line {
		o.Places[n.At] = Place{String: 6, Fret: n.Pitch.MIDI() - lowest, Finger: 1}
	}
	for _, s := range tn.Strikes(o.Layer) {
		shape := Shape{Chord: s.Chord, Times: s.Times, Halves: s.Halves, Held: s.Held}
		for str := 4; str >= 2; str-- {
			fret := 0
			for !slices.ContainsFunc(s.Chord.Notes(), func(n harmony.Note) bool { return (n.Semitone()-o.Tuning[6-str]-fret)%12 == 0 }) {
				fret++
			}
			shape.Places = append(shape.Places, Place{String: str, Fret: fret, Finger: 2})
		}
		o.Shapes = append(o.Shapes, shape)
	}
	return o
}

// writtenWith writes a tune as it is played, without shapes of its own, which would
// have to stand on its line.
func writtenWith(tn *tune.Tune, within tune.Range) (*tune.Tune, []byte, error) {
	for _, s := range tn.Sections {
		for i := range s.Bars {
			for k := range s.Bars[i].Shapes {
				if s.Bars[i].Shapes[k].Frets != nil {
					s.Bars[i].Shapes[k] = tune.ShapeToken{Choose: true}
				}
			}
		}
	}
	tn, _ = tune.Read(tune.Write(tn))
	line, err := tn.Line(within)
	if err != nil {
		return nil, nil, err
	}
	o := inHands(tn, line)
	o.Range = within
	for _, p := range o.Places {
		if p.Fret > tune.HighestWrittenFret {
			return nil, nil, errors.New("the line climbs beyond any neck")
		}
	}
	document, err := Write(tn, o)
	return tn, document, err
}

// TestReadingBack writes each built-in tune, plain and packed, and reads it back.
func TestReadingBack(t *testing.T) {
	for _, name := range content.TuneNames() {
		t.Run(name, func(t *testing.T) {
			tn, _ := content.Tune(name)
			tn, document, err := writtenWith(tn, tune.Within(low, high))
			require.NoError(t, err)
			packed, err := Pack(document)
			require.NoError(t, err)
			for _, data := range [][]byte{document, packed} {
				back, losses, err := Read(data, low, high)
				require.NoError(t, err)
				assert.Empty(t, losses)
				assert.Equal(t, tune.Write(tn), tune.Write(back))
			}
			back, losses, err := Read(stripped(document), low, high)
			require.NoError(t, err)
			assert.Empty(t, losses)
			assert.True(t, (&reader{layer: tune.BassHalves.String()}).sameMusic(tn, back, low, high), tune.Write(back))
			assert.Equal(t, len(tn.Unroll()), len(back.Unroll()))
		})
	}
}

// TestReadingBackAnyTune does the same with random tunes, on a range wide enough
// for their lines to wander.
func TestReadingBackAnyTune(t *testing.T) {
	const low, high = 20, 115
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		tn, document, err := writtenWith(tunetest.Tune().Draw(t, "tune"), tune.Within(low, high))
		if err != nil {
			t.Skip(err)
		}
		tried++
		back, losses, err := Read(document, low, high)
		if silent(tn) {
			require.ErrorContains(t, err, "no chord symbols")
			return
		}
		require.NoError(t, err)
		require.Empty(t, losses, "%s\nread as\n%s", tune.Write(tn), tune.Write(back))
		require.Equal(t, tn, back)

		back, losses, err = Read(stripped(document), low, high)
		require.NoError(t, err)
		for _, l := range losses { // the two strikes of a beat may hang on two bass notes
			require.Regexp(t, "share a beat|do not stand on the bass line", l.What, "%s\nread as\n%s", tune.Write(tn), tune.Write(back))
		}
		require.True(t, (&reader{layer: tune.BassHalves.String()}).sameMusic(tn, back, low, high), "%s\nread as\n%s\nfrom\n%s", tune.Write(tn), tune.Write(back), document)
	})
	require.GreaterOrEqual(t, tried, 10)
}

// silent reports whether a tune is played in bars of N.C. alone.
func silent(tn *tune.Tune) bool {
	return !slices.ContainsFunc(tn.Unroll(), func(b tune.FormBar) bool {
		return slices.ContainsFunc(b.Bar.Chords, func(c tune.Change) bool { return !c.Chord.None })
	})
}

// TestAccidentals compares what is drawn with rules every score goes by (common
// practice, no source): an accidental holds to the end of its bar, on its line.
func TestAccidentals(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey F\nmeter 4/4\ntempo 90\n[A]\nchords | Bb | % | B7 |\nbass | 1 b2 \\1 4 | b2 b2 1 3 | 1 /#4 1 - |\n[B]\nchords | B7 |\nbass | - 1 1 1 |\n")
	require.Empty(t, faults)
	document, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(t, err)
	s, err := decodeAll(document, nil)
	require.NoError(t, err)
	var got []string
	for _, m := range s.Music[0].Measures {
		for _, i := range m.Items {
			if n, ok := i.value.(*note); ok && n.Pitch != nil {
				got = append(got, n.Pitch.Step+n.Pitch.Alter+":"+n.Accidental)
			}
		}
	}
	// Bb and Eb: the flat of F major is Bb. Cb, then Bb, then Eb | Cb Cb Bb D | B, E#,
	// B | the tied B goes unmarked, the next one is marked anew.
	assert.Equal(t, []string{"B-1:", "C-1:flat", "B-1:", "E-1:flat", "C-1:flat", "C-1:", "B-1:", "D:",
		"B:natural", "E1:sharp", "B:", "B:", "B:natural", "B:", "B:"}, got)
}

// TestEditedElsewhere has documents whose notation was changed by another
// program: the notation counts, and what the text alone held is told.
func TestEditedElsewhere(t *testing.T) {
	tn, _ := content.Tune("tin-kettle-blues")
	tn, document, err := writtenWith(tn, tune.Within(low, high))
	require.NoError(t, err)
	for name, edit := range map[string][2]string{
		"chord": {`<kind text="dim7">diminished-seventh</kind>`, `<kind text="m7b5">half-diminished</kind>`},
		"note":  {"<step>D</step>", "<step>E</step>"},
		"word":  {"<words>start low</words>", "<words>start high</words>"},
		"title": {"<work-title>Tin Kettle Blues", "<work-title>Copper Kettle Blues"},
		"tempo": {`<sound tempo="112">`, `<sound tempo="113">`},
		"hit":   {"<staccato></staccato>", "<tenuto></tenuto>"},
	} {
		changed := strings.Replace(string(document), edit[0], edit[1], 1)
		require.NotEqual(t, string(document), changed, name)
		back, losses, err := Read([]byte(changed), low, high)
		require.NoError(t, err)
		require.NotEmpty(t, losses, name)
		assert.Contains(t, losses[len(losses)-1].What, "changed since it was exported")
		assert.NotEqual(t, tune.Write(tn), tune.Write(back), name)
	}
}

// Short hits have a staccato, one that is held to the end of its beat and no further a
// tenuto (MusicXML 4.0, articulations); longer ones are tied. The notation alone brings
// them back, a push among them.
func TestHeldHits(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | F | Bb |\nbass | 1 1 1 1 | % | % |\nhits | on- . both- on | . and on- push- | . . . push |\n")
	require.Empty(t, faults)
	_, document, err := writtenWith(tn, tune.Within(low, high))
	require.NoError(t, err)
	back, losses, err := Read(stripped(document), low, high)
	require.NoError(t, err)
	assert.Empty(t, losses)
	assert.Contains(t, tune.Write(back), "hits   | on- . both- on")
	assert.Contains(t, tune.Write(back), "| . and on- push- ")
	assert.Contains(t, tune.Write(back), "| . . . push ")
	assert.Equal(t, 1, bytes.Count(document, []byte("<tenuto>")), "the second of the both")
}

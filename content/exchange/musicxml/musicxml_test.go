package musicxml

import (
	"bytes"
	"strings"
	"testing"

	"footfall/content"
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

// TestReadingBack writes each built-in tune, plain and packed, and reads it back.
func TestReadingBack(t *testing.T) {
	for _, name := range content.TuneNames() {
		t.Run(name, func(t *testing.T) {
			tn, _ := content.Tune(name)
			document, err := Write(tn, Options{Range: tune.Within(low, high)})
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
			assert.True(t, sameMusic(tn, back, low, high), tune.Write(back))
			assert.Equal(t, tn.FormOrder(), back.FormOrder())
		})
	}
}

// TestReadingBackAnyTune does the same with random tunes, on a range wide enough
// for their lines to wander.
func TestReadingBackAnyTune(t *testing.T) {
	const low, high = 20, 115
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		document, err := Write(tn, Options{Range: tune.Within(low, high)})
		if err != nil {
			t.Skip(err)
		}
		tried++
		back, losses, err := Read(document, low, high)
		require.NoError(t, err)
		require.Empty(t, losses)
		require.Equal(t, tn, back)

		back, losses, err = Read(stripped(document), low, high)
		require.NoError(t, err)
		require.Empty(t, losses)
		require.True(t, sameMusic(tn, back, low, high), "%s\nread as\n%s\nfrom\n%s", tune.Write(tn), tune.Write(back), document)
	})
	require.GreaterOrEqual(t, tried, 10)
}

// TestAccidentals compares what is drawn with rules every score goes by (common
// practice, no source): an accidental holds to the end of its bar, on its line.
func TestAccidentals(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey F\nmeter 4/4\ntempo 90\n[A]\nchords | Bb | % | B7 |\nbass | 1 b2 \\1 4 | b2 b2 1 3 | 1 /#4 1 - |\n[B]\nchords | B7 |\nbass | - 1 1 1 |\n")
	require.Empty(t, faults)
	document, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(t, err)
	s, err := decode(document)
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
	document, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(t, err)
	for name, edit := range map[string][2]string{
		"chord": {`<kind text="dim7">diminished-seventh</kind>`, `<kind text="m7b5">half-diminished</kind>`},
		"note":  {"<step>D</step>", "<step>E</step>"},
		"word":  {"<words>start low</words>", "<words>start high</words>"},
		"title": {"<work-title>Tin Kettle Blues", "<work-title>Copper Kettle Blues"},
		"tempo": {`<sound tempo="112">`, `<sound tempo="113">`},
		"hit":   {"<notehead>slash</notehead>", "<notehead>slash</notehead>"},
	} {
		changed := strings.Replace(string(document), edit[0], edit[1], 1)
		if name == "hit" {
			i := strings.Index(changed, "<unpitched>")
			j := strings.Index(changed, "</unpitched>") + len("</unpitched>")
			changed = changed[:i] + "<rest></rest>" + changed[j:]
		}
		require.NotEqual(t, string(document), changed, name)
		back, losses, err := Read([]byte(changed), low, high)
		require.NoError(t, err)
		require.NotEmpty(t, losses, name)
		assert.Contains(t, losses[len(losses)-1].What, "changed since it was exported")
		assert.NotEqual(t, tune.Write(tn), tune.Write(back), name)
	}
}

// A held hit is a slash with a tenuto, which holds a note for its whole length
// (MusicXML 4.0, articulations), and the notation alone brings it back.
func TestHeldHits(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | F |\nhits | on- . both- . | . and . on |\n")
	require.Empty(t, faults)
	document, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(t, err)
	assert.Equal(t, 2, bytes.Count(document, []byte("<tenuto>")))
	back, losses, err := Read(stripped(document), low, high)
	require.NoError(t, err)
	assert.Empty(t, losses)
	assert.Contains(t, tune.Write(back), "hits   | on- . both- . | . and . on |")
}

package musicxml

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"
)

// A measure with a sign in its place plays what stands before it again, chords and bass;
// one of its own notes does not (MusicXML 4.0, measure-repeat).
func TestMeasureRepeats(t *testing.T) {
	sign := func(kind, of string) string {
		return `<attributes><measure-style><measure-repeat type="` + kind + `">` + of + `</measure-repeat></measure-style></attributes>`
	}
	rest := `<note><rest measure="yes"/><duration>8</duration></note>`
	measure := func(what string) string { return "<measure>" + what + "</measure>" }
	for of, want := range map[string][]string{"1": {"C", "G7", "G7", "G7", "F"}, "2": {"C", "G7", "C", "G7", "F"}} {
		tn, losses, err := Read([]byte(document(measure(start(4, 4, "")+h("C", "major")+n("C3", 8))+measure(h("G", "dominant")+n("G2", 8))+
			measure(sign("start", of)+rest)+measure(rest)+measure(sign("stop", "")+h("F", "major")+n("F2", 8)))), low, high)
		require.NoError(t, err)
		assert.Empty(t, losses)
		var chords, bass []string
		for _, fb := range tn.Unroll() {
			c, _ := fb.Bar.ChordAt(fb.Meter, 1, false)
			chords = append(chords, c.String())
			bass = append(bass, fb.Bar.Bass[0].First.Degree.String())
		}
		assert.Equal(t, want, chords, of)
		assert.Equal(t, []string{"1", "1", "1", "1", "1"}, bass, of)
	}
}

// A document of nothing but N.C. has no chords.
func TestNoChordAtAll(t *testing.T) {
	none := `<harmony><root><root-step text="">C</root-step></root><kind text="N.C.">none</kind></harmony>`
	text := []byte(document("<measure>" + start(4, 4, "") + none + n("C3", 8) + "</measure>"))
	_, _, err := Read(text, low, high)
	require.ErrorIs(t, err, transcribe.ErrNoChords)
	tn, _, err := ReadOver(text, Chords{Proposed: true}, low, high)
	require.NoError(t, err)
	assert.Contains(t, tune.Write(tn), "chords | C")
}

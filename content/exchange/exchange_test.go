package exchange_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/content/exchange"
	"footfall/harmony"
	"footfall/harmony/tune"
)

func TestWhatAFileIs(t *testing.T) {
	text, _ := content.TuneText("key-ring")
	for data, want := range map[string]exchange.Format{
		"| Dm7 | G7 |": exchange.Chart, "MThd\x00": exchange.MIDI, "PK\x03\x04": exchange.MusicXML, "\ufeff<?xml?>": exchange.MusicXML,
		"\xff\xfe<\x00": exchange.MusicXML, text: exchange.Tune, "\ufeff" + text: exchange.Tune, "": exchange.Chart,
	} {
		assert.Equal(t, want, exchange.FormatOf([]byte(data)), "%.10q", data)
	}
}

func TestWhatIsNamedHolds(t *testing.T) {
	key, err := harmony.ParseKey("Eb")
	require.NoError(t, err)
	three := tune.Meter{Upper: 3, Lower: 4}
	o := exchange.Options{Low: 40, High: 60, Title: "Named", Key: &key, Tempo: 90}
	own, _ := content.TuneText("key-ring")
	for _, data := range []string{"| Dm7 | G7 |", own} {
		got, _, err := exchange.Read([]byte(data), o)
		require.NoError(t, err)
		assert.Equal(t, []any{"Named", "Eb", 90.0}, []any{got.Title, got.Key.String(), got.Tempo})
	}
	o.Meter = &three
	got, _, err := exchange.Read([]byte("| Dm7 | G7 |"), o)
	require.NoError(t, err)
	assert.Equal(t, three, got.Meter)
	_, _, err = exchange.Read([]byte(own), o)
	assert.ErrorContains(t, err, "has its own")
	o.Meter = nil
	o.Chords = got
	_, _, err = exchange.Read([]byte("| Dm7 |"), o)
	assert.ErrorContains(t, err, "this is neither")
	o.Chords = nil
	for data, want := range map[string]string{
		"MThd": "no chord symbols", "| H7 |": "line 1, column 3", "tune  x\nkey  C\n": "found no meter line", "<x/>": "the document is a",
	} {
		_, _, err := exchange.Read([]byte(data), o)
		assert.ErrorContains(t, err, want)
	}
}

// A file that names no title is called as it is called on the disk, on any system.
func TestTitleOfAFile(t *testing.T) {
	for file, want := range map[string]string{
		"charts/gate-post.mxl": "Gate Post", `C:\charts\gate_post.xml`: "Gate Post", "été.xml": "Été", "a.b c.musicxml": "A.b C", "": "New Tune", "-": "New Tune",
	} {
		assert.Equal(t, want, exchange.TitleOf(file), file)
	}
	own := `<score-partwise><part-list/><part id="P"><measure><harmony><root><root-step>C</root-step></root><kind>major</kind></harmony></measure></part></score-partwise>`
	got, _, err := exchange.Read([]byte(own), exchange.Options{Low: 40, High: 60, File: "x/gate.xml"})
	require.NoError(t, err)
	assert.Equal(t, "Gate", got.Title)
	got, _, err = exchange.Read([]byte("| C |"), exchange.Options{Low: 40, High: 60, File: "gate.txt"})
	require.NoError(t, err)
	assert.Equal(t, "Gate", got.Title)
	chords := got
	_, _, err = exchange.Read([]byte("MThd"), exchange.Options{Chords: chords, Low: 40, High: 60})
	assert.Error(t, err)
}

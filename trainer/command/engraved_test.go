package command

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/content"
	"footfall/fretboard"
	model "footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/settings"
)

// Verovio, an independent engraver, plays every exported tune as the program does:
// the same pitches, each as often, at the written onsets. Swing is written even.
func TestEngraverPlaysWhatIsPlayed(t *testing.T) {
	if testing.Short() {
		t.Skip("starts node")
	}
	folder := os.Getenv("FOOTFALL_VEROVIO")
	if folder == "" {
		t.Skip("FOOTFALL_VEROVIO does not name a folder with verovio in its node_modules")
	}
	args := []string{"../../content/exchange/musicxml/testdata/engrave.mjs", folder, "play"}
	var want [][]string
	for _, name := range content.TuneNames() {
		path := filepath.Join(t.TempDir(), name+".musicxml")
		_, errs, code := runOn(nil, "tune", "export", name, "-o", path)
		require.Zero(t, code, errs)
		args = append(args, path)
		want = append(want, playedNotes(t, name))
	}
	out, err := exec.Command("node", args...).Output()
	require.NoError(t, err)
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 1<<22)
	for i, notes := range want {
		require.True(t, lines.Scan())
		var found struct{ MIDI []byte }
		require.NoError(t, json.Unmarshal(lines.Bytes(), &found))
		require.NotEmpty(t, notes)
		assert.Equal(t, notes, soundingNotes(t, found.MIDI), args[i+3])
	}
}

// playedNotes lists what is played of a tune, in quarter notes from its beginning.
func playedNotes(t *testing.T, name string) (out []string) {
	tn, _ := content.Tune(name)
	neck, hand := settings.Default().Instrument()
	a, err := fretboard.Arrange(tn, neck, hand, fretboard.BassHalves)
	require.NoError(t, err)
	s, err := model.Of(a, false)
	require.NoError(t, err)
	start := 0.0
	for _, b := range s.Bars {
		for _, n := range b.Notes {
			at := start + float64(n.Beat-1)*b.Meter.BeatQuarters()
			switch {
			case n.Off && b.Meter.Lower == 8 && tn.Swing.Ratio == (harmony.Ratio{Long: 2, Short: 1}):
				at++ // the last third of a dotted quarter
			case n.Off:
				at += b.Meter.BeatQuarters() / 2
			}
			out = append(out, fmt.Sprintf("%08.2f %d", at, n.MIDI))
		}
		start += b.Meter.Quarters()
	}
	slices.Sort(out)
	return out
}

// soundingNotes lists the notes of a MIDI file in the same way.
func soundingNotes(t *testing.T, data []byte) (out []string) {
	file, err := smf.ReadFrom(bytes.NewReader(data))
	require.NoError(t, err)
	quarter := float64(file.TimeFormat.(smf.MetricTicks))
	for _, track := range file.Tracks {
		tick := 0.0
		for _, e := range track {
			tick += float64(e.Delta)
			var channel, key, velocity uint8
			if e.Message.GetNoteStart(&channel, &key, &velocity) {
				out = append(out, fmt.Sprintf("%08.2f %d", math.Round(tick/quarter*100)/100, key))
			}
		}
	}
	slices.Sort(out)
	return out
}

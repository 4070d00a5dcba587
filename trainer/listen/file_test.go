package listen

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The example of a format 0 file in the Standard MIDI Files 1.0 specification
// (from memory): 96 ticks to a quarter at 120 a minute, with running status.
var specExample = []byte{
	0x4D, 0x54, 0x68, 0x64, 0, 0, 0, 6, 0, 0, 0, 1, 0, 0x60,
	0x4D, 0x54, 0x72, 0x6B, 0, 0, 0, 0x3B,
	0x00, 0xFF, 0x58, 0x04, 0x04, 0x02, 0x18, 0x08,
	0x00, 0xFF, 0x51, 0x03, 0x07, 0xA1, 0x20,
	0x00, 0xC0, 0x05, 0x00, 0xC1, 0x2E, 0x00, 0xC2, 0x46,
	0x00, 0x92, 0x30, 0x60, 0x00, 0x3C, 0x60,
	0x60, 0x91, 0x43, 0x40, 0x60, 0x90, 0x4C, 0x20,
	0x81, 0x40, 0x82, 0x30, 0x40, 0x00, 0x3C, 0x40,
	0x00, 0x81, 0x43, 0x40, 0x00, 0x80, 0x4C, 0x40,
	0x00, 0xFF, 0x2F, 0x00,
}

type heard struct {
	At      time.Duration
	On      bool
	MIDI    int
	Channel int
}

func brief(notes []Note) (out []heard) {
	for _, n := range notes {
		out = append(out, heard{n.At, n.On, n.MIDI, n.Channel})
	}
	return out
}

func TestSpecificationExample(t *testing.T) {
	notes, err := ReadFile(specExample)
	require.NoError(t, err)
	half := 500 * time.Millisecond
	assert.Equal(t, []heard{
		{0, true, 48, 3}, {0, true, 60, 3}, {half, true, 67, 2}, {2 * half, true, 76, 1},
		{4 * half, false, 48, 3}, {4 * half, false, 60, 3}, {4 * half, false, 67, 2}, {4 * half, false, 76, 1},
	}, brief(notes))
}

// The same file counted in frames: 96 ticks are 96/(fps·subframes) s.
func TestFrames(t *testing.T) {
	for _, c := range []struct {
		high, low byte
		second    float64
	}{{0xE8, 4, 96}, {0xE7, 40, 1000}, {0xE2, 80, 2400}, {0xE3, 80, 30_000.0 / 1001 * 80}} {
		data := bytes.Clone(specExample)
		data[12], data[13] = c.high, c.low
		notes, err := ReadFile(data)
		require.NoError(t, err)
		require.Len(t, notes, 8)
		assert.InDelta(t, 96/c.second, notes[2].At.Seconds(), 1e-8)
		assert.InDelta(t, 384/c.second, notes[7].At.Seconds(), 1e-8)
	}
}

// Files written, and read back, by mido 1.2.10: testdata/generate.py.
func TestFilesOfAnotherWriter(t *testing.T) {
	files, err := filepath.Glob("testdata/*.mid")
	require.NoError(t, err)
	require.Len(t, files, 4)
	for _, path := range files {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		notes, err := ReadFile(data)
		require.NoError(t, err, path)
		text, err := os.ReadFile(strings.TrimSuffix(path, ".mid") + ".json")
		require.NoError(t, err)
		var want []struct {
			At            float64
			On            bool
			MIDI, Channel int
		}
		require.NoError(t, json.Unmarshal(text, &want))
		require.Len(t, notes, len(want), path)
		for i, n := range notes {
			assert.InDelta(t, want[i].At, n.At.Seconds(), 1e-6, "%s note %d", path, i)
			assert.Equal(t, heard{n.At, want[i].On, want[i].MIDI, want[i].Channel}, brief(notes[i : i+1])[0], "%s note %d", path, i)
		}
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	change := func(at int, b byte) []byte {
		data := bytes.Clone(specExample)
		data[at] = b
		return data
	}
	for want, data := range map[string][]byte{
		"not a Standard MIDI File: it does not begin with MThd":                                   []byte("RIFF0000WAVEfmt "),
		"a MIDI file of format 2 holds separate pieces: save the one you played as format 0 or 1": change(9, 2),
		"the MIDI file counts 23 frames a second; SMF 1.0 knows 24, 25, 29 and 30":                change(12, 0xE9),
		"the MIDI file is damaged: it has 0 ticks to a quarter note":                              change(13, 0),
		"the MIDI file is damaged: an event does not fit its track at byte 30":                    change(31, 0xF4),
	} {
		_, err := ReadFile(data)
		assert.EqualError(t, err, want)
	}
	_, err := ReadFile(specExample[:40])
	assert.ErrorContains(t, err, "the MIDI file is damaged: ")
	_, err = ReadFile(nil)
	assert.Error(t, err)
}

func FuzzReadFile(f *testing.F) {
	f.Add(specExample)
	f.Add(specExample[:40])
	f.Fuzz(func(t *testing.T, data []byte) {
		notes, err := ReadFile(data)
		if err != nil {
			assert.Nil(t, notes)
		}
		for i, n := range notes {
			assert.True(t, n.MIDI >= 0 && n.MIDI <= 127 && n.Channel >= 1 && n.Channel <= 16)
			assert.True(t, i == 0 || notes[i-1].At <= n.At)
		}
	})
}

// Times that add up to more than a day are told, whatever tempo and division stretch
// them to; before, they came back before the file's beginning.
func TestAFileOfYears(t *testing.T) {
	slowest := []byte{0, 0xFF, 0x51, 3, 0xFF, 0xFF, 0xFF}
	longest := []byte{0xFF, 0xFF, 0xFF, 0x7F, 0x90, 40, 90}
	for _, waits := range []int{1, 3, 2000} {
		for division, name := range map[string]string{"\x00\x01": "a tick a quarter note", "\x7f\xff": "many", "\xe8\x01": "frames"} {
			track := bytes.Clone(slowest)
			for range waits {
				track = append(track, longest...)
			}
			data := binary.BigEndian.AppendUint32([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01"+division+"MTrk"), uint32(len(track)))
			_, err := ReadFile(append(data, track...))
			assert.EqualError(t, err, "the MIDI file is longer than a day: cut it into shorter takes", "%s, %d", name, waits)
		}
	}
}

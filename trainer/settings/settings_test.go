package settings

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

func TestTextReadsBackAsTheSameSettings(t *testing.T) {
	want := Default()
	want.Neck.LeftHanded = true
	want.Neck.Tuning = []string{"B0", "E1", "A1", "D2", "G2"}
	want.Neck.BassStrings = []int{5, 4}
	want.Listen.Port = `odd "name"`
	got, err := Read([]byte(Text(want)))
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

func TestEverySettingHasACommentAndNoCommentIsLeftOver(t *testing.T) {
	named := map[string]bool{"neck": true, "look": true, "sound": true, "listen": true, "play": true, "today": true, "drill": true}
	for _, k := range Keys() {
		assert.NotEmpty(t, comments[k], k)
		named[k] = true
	}
	for k := range comments {
		assert.True(t, named[k], k)
	}
}

func TestFaultsAreNamedWithTheirLines(t *testing.T) {
	s, err := Read([]byte("[neck]\nscale_mm = 20\nreach = 90\n\n[sound]\nclick = \"loud\"\ncount_in = 2\n[neck2]\nx = 1\n"))
	var faults harmony.Faults
	require.ErrorAs(t, err, &faults)
	var lines []int
	for _, f := range faults {
		lines = append(lines, f.Line)
		assert.NotEmpty(t, f.Want)
	}
	assert.Equal(t, []int{2, 3, 6, 8}, lines)
	assert.Equal(t, 648.0, s.Neck.ScaleMM, "a bad value falls back")
	assert.Equal(t, 2, s.Sound.CountIn, "a good value beside bad ones holds")
}

// Every fault of a file is named at its place, with what would do there, and the
// settings beside it hold.
func TestEachFaultSaysWhatWouldDo(t *testing.T) {
	for text, want := range map[string]string{
		"scale_mm = = 3":                         "line 2, column 12: found unexpected character U+003D '=' at start of value; want tables like [neck]",
		"scale_mm = \"long\"":                    `line 2, column 1: found neck.scale_mm = "long"; want a number from 300 to 900 millimeters`,
		"scale_mm = nan":                         "line 2, column 1: found neck.scale_mm = nan; want a number from 300 to 900",
		"highest_fret = 12.5":                    "line 2, column 1: found neck.highest_fret = 12.5; want a whole number from 5 to 24",
		"left_handed = \"yes\"":                  `line 2, column 1: found neck.left_handed = "yes"; want true or false`,
		"tuning = [40, 45]":                      `line 2, column 1: found neck.tuning = [40, 45]; want four to eight open strings`,
		`tuning = ["E2", "A2", "D3", "G99"]`:     `four to eight open strings from C0 to C6, low to high`,
		`tuning = ["E4", "B3", "G3", "D3"]`:      `four to eight open strings from C0 to C6, low to high`,
		"bass_strings = [1]":                     "line 2, column 1: found neck.bass_strings = [1]; want strings from 2 to 6, such as [6, 5]",
		"scale_mm = 600\nscale_mm = 610":         "line 3, column 1: found key scale_mm is already defined",
		"  scale = 600":                          `line 2, column 3: found the setting neck.scale; want neck.scale_mm`,
		"window_ms = 60":                         `line 2, column 1: found the setting neck.window_ms; want window_ms under [listen]`,
		"[listn]\nport = \"a\"\nwindow_ms = 3":   "line 2, column 2: found the table [listn]; want [listen]",
		"[listen]\nport = 3":                     `line 3, column 1: found listen.port = 3; want a port's name or a path in quotation marks`,
		"[look]\nbackground = \"Dark\"":          `look.background = "Dark"; want one of "auto", "dark", "light"`,
		"[sound]\nclick = 2\ncount_in = 2":       `line 3, column 1: found sound.click = 2; want one of "all", "2and4", "first", "alternate"`,
		"[nek]\n[sound]\nx = 1\ncount_in = true": "line 2, column 2: found the table [nek]; want [neck]\nline 4, column 1: found the setting sound.x; want no such line; `footfall settings` lists what can be set\nline 5, column 1: found sound.count_in = true; want a whole number from 1 to 2",
	} {
		s, err := Read([]byte("[neck]\n" + text + "\n[today]\nminutes = 30\n"))
		var faults harmony.Faults
		require.ErrorAs(t, err, &faults, text)
		assert.Contains(t, err.Error(), want, text)
		assert.Equal(t, Default().Neck, s.Neck, text)
		if !strings.Contains(err.Error(), "until then the defaults hold") {
			assert.Equal(t, 30, s.Today.Minutes, "a good value beside bad ones holds: %s", text)
		}
	}
	_, err := Read([]byte("neck = 3\nscale_mm = 600\n"))
	assert.EqualError(t, err, "line 1, column 1: found neck = 3; want [neck] on a line of its own, and its settings under it\n"+
		`line 2, column 1: found the setting scale_mm; want scale_mm under [neck]`)
	_, err = Read([]byte("\xff\xfe[\x00n\x00"))
	assert.EqualError(t, err, "line 1, column 1: found text in UTF-16; want the file saved as text in UTF-8; until then the defaults hold")
	_, err = Read([]byte("\x7fELF\x00\x00\x00\xfe"))
	assert.ErrorContains(t, err, "want the file saved as text in UTF-8")
}

// Editors write the same file in several ways.
func TestOtherLineEndsAndSpellings(t *testing.T) {
	for _, text := range []string{
		"\ufeff[neck]\nscale_mm = 600\n", "[neck]\r\nscale_mm = 600\r\n", "neck.scale_mm = 600", "neck = {scale_mm = 600}", "[neck]\nscale_mm = 600.0", "[look]\n[neck]\nscale_mm = +600",
	} {
		s, err := Read([]byte(text))
		require.NoError(t, err, text)
		assert.Equal(t, 600.0, s.Neck.ScaleMM)
	}
}

// Where only the tuning is set, the line takes its two lowest strings.
func TestTheLineTakesTheTwoLowestStrings(t *testing.T) {
	s, err := Read([]byte("[neck]\ntuning = [\"B1\", \"E2\", \"A2\", \"D3\", \"G3\", \"B3\", \"E4\"]\n"))
	require.NoError(t, err)
	assert.Equal(t, []int{7, 6}, s.Neck.BassStrings)
	s, err = Read([]byte("[neck]\ntuning = [\"E1\", \"A1\", \"D2\", \"G2\"]\nbass_strings = [6, 5]\n"))
	assert.EqualError(t, err, "line 3, column 1: found neck.bass_strings = [6, 5]; want strings from 2 to 4, such as [4, 3]")
	assert.Equal(t, []int{4, 3}, s.Neck.BassStrings)
}

func TestNoFileGivesTheDefaults(t *testing.T) {
	s, err := Load(filepath.Join(t.TempDir(), "none.toml"))
	require.NoError(t, err)
	assert.Equal(t, Default(), s)
}

func TestInstrumentOfOtherTunings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.toml")
	require.NoError(t, os.WriteFile(path, []byte("[neck]\ntuning = [\"B1\",\"E2\",\"A2\",\"D3\",\"G3\",\"B3\",\"E4\"]\nbass_strings = [7, 6]\nreach_mm = 90\n"), 0o600))
	s, err := Load(path)
	require.NoError(t, err)
	n, h := s.Instrument()
	assert.Equal(t, []int{35, 40, 45, 50, 55, 59, 64}, []int(n.Tuning), "MIDI 1.0 note numbers")
	assert.Equal(t, 90.0, h.ReachMM)
}

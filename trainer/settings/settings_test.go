package settings

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	named := map[string]bool{"neck": true, "look": true, "sound": true, "listen": true, "today": true}
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
	var faults Faults
	require.ErrorAs(t, err, &faults)
	var lines []int
	for _, f := range faults {
		lines = append(lines, f.Line)
		assert.NotEmpty(t, f.Want)
	}
	assert.Equal(t, []int{2, 3, 6, 8}, lines[:4])
	assert.Equal(t, 648.0, s.Neck.ScaleMM, "a bad value falls back")
	assert.Equal(t, 2, s.Sound.CountIn, "a good value beside bad ones holds")
}

func TestTextThatIsNoTOMLIsAFaultWithItsPlace(t *testing.T) {
	_, err := Read([]byte("[neck]\nscale_mm = = 3\n"))
	var faults Faults
	require.ErrorAs(t, err, &faults)
	assert.Equal(t, 2, faults[0].Line)
}

func TestWrongTypeIsAFault(t *testing.T) {
	_, err := Read([]byte("[neck]\nscale_mm = \"long\"\n"))
	var faults Faults
	require.ErrorAs(t, err, &faults)
	assert.Equal(t, 2, faults[0].Line)
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

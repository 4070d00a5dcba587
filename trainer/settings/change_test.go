package settings

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/trainer/guard/racetest"
)

// A setting is changed where it stands; all else, comments too, stays as it is written.
func TestASettingIsChangedInItsPlace(t *testing.T) {
	for name, c := range map[string]struct {
		text, key string
		value     any
		want      string
	}{
		"in place":         {"# mine\n[neck]\nscale_mm = 600   # short\nhighest_fret = 12\n", "neck.scale_mm", 630.0, "# mine\n[neck]\nscale_mm = 630.0   # short\nhighest_fret = 12\n"},
		"a list":           {"[neck]\ntuning = [\n  \"E2\", \"A2\", # low\n  \"D3\", \"G3\"]\n", "neck.tuning", []string{"E1", "A1", "D2", "G2"}, "[neck]\ntuning = ['E1', 'A1', 'D2', 'G2']\n"},
		"a dotted key":     {"neck.scale_mm = 600\n", "neck.scale_mm", 610.0, "neck.scale_mm = 610.0\n"},
		"a text with =":    {"[listen]\r\nport = \"a = b # c\"\r\n", "listen.port", "d", "[listen]\r\nport = 'd'\r\n"},
		"last, no newline": {"[look]\nascii = false", "look.ascii", true, "[look]\nascii = true"},
		"as it is":         {"[look]\nascii=true", "look.ascii", true, "[look]\nascii=true"},
		"beside a fault":   {"[look]\nacsii = true\nascii = false\n", "look.ascii", true, "[look]\nacsii = true\nascii = true\n"},
	} {
		got, err := Set([]byte(c.text), c.key, c.value)
		require.NoError(t, err, name)
		assert.Equal(t, c.want, string(got), name)
	}
	for _, text := range []string{"", "[sound]\nclick = \"first\"\n", "[sound]", "[look]\nmouse = true\n", "[sound] # loud\nclick = \"all\""} {
		got, err := Set([]byte(text), "sound.count_in", 2)
		require.NoError(t, err, text)
		s, err := Read(got)
		require.NoError(t, err, "%s", got)
		assert.Equal(t, 2, s.Sound.CountIn)
		assert.Contains(t, string(got), "# "+help("sound.count_in"))
		for line := range strings.SplitSeq(text, "\n") {
			assert.Contains(t, string(got), line, "what was there stays")
		}
	}
}

func TestWhatCannotBeChangedIsLeft(t *testing.T) {
	for text, c := range map[string]struct {
		key   string
		value any
		want  string
	}{
		"":                              {"neck.scale_mm", 20.0, "20.0 is no scale: give a number from 300 to 900 millimeters"},
		"[look]\nascii = maybe":         {"look.ascii", true, "the settings file must be mended first: line 2, column 9"},
		"neck = { scale_mm = 600 }\n":   {"neck.reach_mm", 90.0, "neck.reach_mm cannot be put into your settings file as it is written: change it there in an editor"},
		"neck.scale_mm = 600\n[look]\n": {"neck.reach_mm", 90.0, "change it there in an editor"},
	} {
		_, err := Set([]byte(text), c.key, c.value)
		assert.ErrorContains(t, err, c.want, text)
	}
}

// Whatever is set in whatever order, the file holds it, and nothing of a player's own
// notes in it is lost.
func TestAnyChangesHold(t *testing.T) {
	racetest.Alone(t)
	path := filepath.Join(t.TempDir(), "of", "mine", "settings.toml")
	rapid.Check(t, func(r *rapid.T) {
		require.NoError(t, os.RemoveAll(filepath.Dir(path)))
		now := Default()
		now.Look.Mouse = false
		for range rapid.IntRange(1, 8).Draw(r, "changes") {
			key := rapid.SampledFrom(Keys()).Draw(r, "key")
			value, ok := now.Step(key, rapid.SampledFrom([]int{-1, 1}).Draw(r, "by"))
			if !ok {
				continue
			}
			with, err := now.With(key, value)
			require.NoError(t, err)
			require.NoError(t, Change(path, now, map[string]any{key: value}))
			now = with
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			noted := append([]byte("# a note of mine\n"), text...)
			require.NoError(t, os.WriteFile(path, noted, 0o600))
			read, err := Load(path)
			require.NoError(t, err)
			require.True(t, reflect.DeepEqual(now, read), "%+v\n%+v", now, read)
		}
		if text, err := os.ReadFile(path); err == nil {
			s, err := Read([]byte(strings.ReplaceAll(string(text), "# a note of mine\n", "")))
			require.NoError(t, err)
			require.Equal(t, now, s)
		}
	})
}

// A value that is typed is read as the setting has it, or the error says what would do.
func TestTypedValues(t *testing.T) {
	for key, texts := range map[string]map[string]any{
		"neck.tuning":       {"E1 A1, D2 G2": []string{"E1", "A1", "D2", "G2"}},
		"neck.bass_strings": {"6 5": []int{6, 5}, "six": nil},
		"neck.scale_mm":     {" 630 mm": 630.0, "long": nil},
		"neck.left_handed":  {"Yes": true, "no": false, "left": nil},
		"today.minutes":     {"25": 25, "1.5": nil},
		"listen.port":       {"none": "", "my port": "my port"},
	} {
		for text, want := range texts {
			got, err := Typed(key, text)
			if want == nil {
				assert.Error(t, err, text)
				continue
			}
			require.NoError(t, err, text)
			assert.Equal(t, want, got, text)
		}
	}
	seven, err := Default().With("neck.tuning", []string{"B1", "E2", "A2", "D3", "G3", "B3", "E4"})
	require.NoError(t, err)
	assert.Equal(t, []int{7, 6}, seven.Neck.BassStrings, "the line takes the two lowest strings")
	assert.Equal(t, []int{6, 5}, Default().Neck.BassStrings)
}

// Every setting can be shown, and has a step or is typed.
func TestEverySettingCanBeChosen(t *testing.T) {
	for _, key := range Keys() {
		assert.NotEmpty(t, Default().Value(key), key)
		assert.NotEmpty(t, Name(key), key)
		assert.NotEmpty(t, Heading(key), key)
		_, ok := Default().Step(key, 1)
		_, back := Default().Step(key, -1)
		_, err := Typed(key, Default().Value(key))
		assert.True(t, ok || back || err == nil, key)
	}
}

package command

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/settings"
)

// withSettings makes text the player's settings file for the rest of a test.
func withSettings(t *testing.T, text string) (path string) {
	t.Helper()
	t.Cleanup(xdg.Reload) // when the folders are the old ones again
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	xdg.Reload()
	path = settings.Path()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// A setting changes what a command answers, and what it changes is told apart from
// an answer that is never the same twice.
func TestSettingsChangeTheProgram(t *testing.T) {
	data := t.TempDir()
	wav := filepath.Join(data, "x.wav")
	for _, c := range []struct {
		setting, command, want string
	}{
		{"neck.tuning = ['Eb2', 'Ab2', 'Db3', 'Gb3', 'Bb3', 'Eb4']", "shape x-3-2-0-1-0", "B D# F# B D#"},
		{"neck.tuning = ['B1', 'E2', 'A2', 'D3', 'G3', 'B3', 'E4']", "shapes Cm7 --bass 1 --json", `"frets":"1-`},
		{"neck.scale_mm = 600", "shapes Cm7 --json", ""},
		{"neck.highest_fret = 12", "shapes Cm7 --json", ""},
		{"neck.bass_strings = [6]", "shapes Cm7 --json", ""},
		{"neck.left_handed = true", "shape 8-x-8-9-8-x", ""},
		{"neck.reach_mm = 70", "shapes Cm7 --json", ""},
		{"sound.click_db = -20", "sheet key-ring -o " + wav, ""},
		{"sound.bass_db = -20", "sheet key-ring -o " + wav, ""},
		{"sound.shapes_db = -20", "sheet key-ring -o " + wav, ""},
		{"listen.window_ms = 70", "score testdata/takes/four-bars.tune --take testdata/takes/format0.mid --json", `"window_ms":70`},
		{"today.minutes = 45", "today --json", `"minutes":45,"seed"`},
		{"today.break_minutes = 10", "today --minutes 60 --json", ""},
	} {
		args := append(strings.Fields(c.command), "--data", data)
		answer := func(text string) string {
			withSettings(t, text)
			out, errs, code := runOn(strings.NewReader(""), args...)
			require.Zero(t, code, "%s: %s", c.setting, errs)
			require.Empty(t, errs, c.setting)
			if strings.Contains(c.command, wav) {
				sound, err := os.ReadFile(wav)
				require.NoError(t, err)
				return string(sound)
			}
			return out
		}
		usual, set := answer(""), answer(c.setting)
		assert.True(t, usual == answer(""), "%s: %s answers one way", c.setting, c.command)
		assert.True(t, usual != set, "%s changes %s", c.setting, c.command)
		if c.want != "" {
			assert.Contains(t, set, c.want, c.setting)
			assert.NotContains(t, usual, c.want, c.setting)
		}
	}
}

// No setting stands in the file for nothing: outside its own room each is used.
func TestEverySettingIsUsed(t *testing.T) {
	var source strings.Builder
	require.NoError(t, filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if d.IsDir() && d.Name() == "settings" {
			return fs.SkipDir
		}
		if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			text, readErr := os.ReadFile(path)
			source.Write(text)
			err = readErr
		}
		return err
	}))
	all := reflect.TypeFor[settings.Settings]()
	for i := range all.NumField() {
		table := all.Field(i)
		if table.Name == "Neck" {
			continue // Instrument gives them all, and the test above changes each
		}
		for k := range table.Type.NumField() {
			name := table.Name + "." + table.Type.Field(k).Name
			assert.True(t, strings.Contains(source.String(), "ettings."+name) || strings.Contains(source.String(), "set."+name) ||
				table.Name == "Sound" && strings.Contains(source.String(), "c."+table.Type.Field(k).Name), "%s is used nowhere", name)
		}
	}
}

// A settings file that is broken is told of, once, with its lines; the program goes
// on with what is good in it.
func TestABrokenSettingsFileIsToldAndGoneOnWith(t *testing.T) {
	path := withSettings(t, "[today]\nminutes = 45\n[neck]\nscale_mm = 'long'\nreach = 3\n")
	out, errs, code := runOn(strings.NewReader(""), "today", "--json", "--data", t.TempDir())
	assert.Zero(t, code)
	assert.Contains(t, out, `"minutes":45`)
	assert.Equal(t, `{"warning":"`+path+`: line 4, column 1: found neck.scale_mm = \"long\"; want a number from 300 to 900 millimeters"}`+"\n"+
		`{"warning":"`+path+`: line 5, column 1: found the setting neck.reach; want neck.reach_mm"}`+"\n", errs)

	out, errs, code = runOn(nil, "settings", "check")
	assert.Equal(t, ExitBadInput, code)
	assert.Empty(t, out)
	assert.Equal(t, path+": line 4, column 1: found neck.scale_mm = \"long\"; want a number from 300 to 900 millimeters\n"+
		path+": line 5, column 1: found the setting neck.reach; want neck.reach_mm\nfootfall: 2 faults found\n", errs)

	out, errs, code = runOn(nil, "settings", "check", "--json")
	assert.Equal(t, ExitBadInput, code)
	assert.JSONEq(t, `[{"line":4,"column":1,"found":"neck.scale_mm = \"long\"","want":"a number from 300 to 900 millimeters"},
		{"line":5,"column":1,"found":"the setting neck.reach","want":"neck.reach_mm"}]`, out)
	assert.JSONEq(t, `{"error":"2 faults found","exit":2}`, errs)

	require.NoError(t, os.Remove(path))
	require.NoError(t, os.Mkdir(path, 0o700))
	_, errs, code = runOn(nil, "chord", "C")
	assert.Zero(t, code)
	assert.Equal(t, "footfall: "+path+" is a folder, not a file, so the defaults hold; put your settings in a file of that name\n", errs)
	_, errs, code = runOn(nil, "settings", "check")
	assert.Equal(t, ExitBadInput, code)
	assert.Equal(t, "footfall: "+path+" is a folder; name a file\n", errs)
}

// A player who has no settings file is told so, and gets one to change.
func TestSettingsFileIsMade(t *testing.T) {
	path := withSettings(t, "")
	require.NoError(t, os.RemoveAll(filepath.Dir(path)))
	out, _, code := runOn(nil, "settings", "check")
	assert.Zero(t, code)
	assert.Contains(t, out, path+" is not there, so every setting has its default; `footfall settings new` writes it\n")
	out, _, code = runOn(nil, "settings", "new")
	assert.Zero(t, code)
	assert.Contains(t, out, path)
	out, _, code = runOn(nil, "settings", "check")
	assert.Zero(t, code)
	assert.Equal(t, path+": every setting is good\n", out)
	shown, _, _ := runOn(nil, "settings")
	written, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "# File: "+path+"\n"+string(written), shown)
	_, errs, code := runOn(nil, "settings", "new")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, path+" is there already and is left as it is; change it in an editor")
}

// A script finds each setting by the key it has in the file.
func TestSettingsInJSONHaveTheKeysOfTheFile(t *testing.T) {
	withSettings(t, "[neck]\nscale_mm = 610\n")
	out, _, code := runOn(nil, "settings", "--json")
	require.Zero(t, code)
	text, _, _ := runOn(nil, "settings")
	var answered, written map[string]map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &answered))
	require.NoError(t, toml.Unmarshal([]byte(text), &written))
	assert.EqualValues(t, 610, answered["neck"]["scale_mm"])
	for table, keys := range written {
		for key := range keys {
			assert.Contains(t, answered[table], key, table)
		}
		assert.Len(t, answered[table], len(keys), table)
	}
}

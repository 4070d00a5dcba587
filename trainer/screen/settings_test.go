package screen

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// holding lets settings hold as the program does: in services of their own.
func holding(t *testing.T, s *Services) *Services {
	s.Settings.Hold = func(set settings.Settings) (*Services, error) {
		with := services(t, termenv.Ascii, s.Desk.History)
		desk, err := s.Desk.With(set)
		if err != nil {
			return nil, err
		}
		with.Desk, with.Guard, with.Inputs, with.Settings = desk, s.Guard, s.Inputs, s.Settings
		with.Settings.Now = set
		return with, nil
	}
	return s
}

// The settings page writes the player's file as a hand would, with undo, and what is
// changed holds once the page is left.
func TestSettingsAreChanged(t *testing.T) {
	s := holding(t, services(t, termenv.Ascii, &ledger{}))
	require.NoError(t, os.MkdirAll(filepath.Dir(s.Settings.Path), 0o700))
	require.NoError(t, os.WriteFile(s.Settings.Path, []byte("# mine\n[neck]\nhighest_fret = 15 # my cut\n"), 0o600))
	d := drive(t, s, 80, 24)
	d.press(",")
	d.sees("settings")
	d.sees("E2 A2 D3 G3 B3 E4")
	d.press("enter", "D2 A2 D3 G3 B3 E4", "enter")
	d.sees("D2 A2 D3 G3 B3 E4")
	d.press("j", "j", "l", "l", "h")
	d.sees("highest fret      16")
	d.sees("The last fret that is asked for, 5 to 24. Default 15.")
	text := onDisk(t, s.Settings.Path)
	assert.Contains(t, text, "# mine\n[neck]\n")
	assert.Contains(t, text, "highest_fret = 16 # my cut")
	assert.Contains(t, text, "tuning = ['D2', 'A2', 'D3', 'G3', 'B3', 'E4']")
	d.press("u")
	d.sees("highest fret      17")
	d.press("u", "u")
	d.sees("highest fret      15")
	d.press("enter", "99", "enter")
	d.sees("99 is no highest fret: give a whole number from 5 to 24")
	d.press("esc", "esc")
	d.sees("Welcome")
	assert.Equal(t, fretboard.Tuning{38, 45, 50, 55, 59, 64}, d.f.services.Desk.Neck.Tuning, "it holds: D2 is MIDI note 38")
	d.press("d", "enter")
	d.sees("6 D")
	got, err := settings.Load(s.Settings.Path)
	require.NoError(t, err)
	assert.Equal(t, 15, got.Neck.HighestFret)
}

// A file that another change cannot be put into is left, and told.
func TestSettingsThatCannotBeWritten(t *testing.T) {
	s := holding(t, services(t, termenv.Ascii, &ledger{}))
	require.NoError(t, os.MkdirAll(filepath.Dir(s.Settings.Path), 0o700))
	require.NoError(t, os.WriteFile(s.Settings.Path, []byte("[neck]\nscale_mm = = 3\n"), 0o600))
	d := drive(t, s, 80, 24)
	d.press(",", "j", "l")
	d.sees("Not written: the settings file must be mended first: line 2, column 12")
	d.sees("scale             648 mm")
	assert.Equal(t, "[neck]\nscale_mm = = 3\n", onDisk(t, s.Settings.Path))
	d.press("esc")
	d.sees("Welcome")
}

// The first start asks three things, enter takes each, and the next start asks nothing.
func TestTheFirstStart(t *testing.T) {
	for name, c := range map[string]struct {
		keys   []string
		left   bool
		minute int
		port   string
	}{
		"enter, enter, enter": {[]string{"enter", "enter", "enter"}, false, 20, ""},
		"esc at once":         {[]string{"esc"}, false, 20, ""},
		"all chosen":          {[]string{"j", "enter", "down", "enter", "down", "enter"}, true, 30, "Drum"},
		"back once":           {[]string{"enter", "left", "down", "enter", "enter", "enter"}, true, 20, ""},
	} {
		s := holding(t, services(t, termenv.Ascii, &ledger{}))
		picked := ""
		s.Inputs.Present = func() ([]listen.Port, error) { return []listen.Port{{Name: "Drum"}}, nil }
		s.Inputs.Pick = func(port string) error { picked = port; return nil }
		f, err := newFrame(s, Welcome)
		require.NoError(t, err)
		d := &driver{t: t, f: f}
		d.run(f.Init())
		d.f.width, d.f.height = 80, 24
		d.f.resize()
		d.sees("question 1 of 3")
		d.press(c.keys...)
		d.sees("Press enter: the first step")
		assert.Equal(t, c.left, d.f.services.Desk.Neck.LeftHanded, name)
		assert.Equal(t, c.minute, d.f.services.Desk.Minutes, name)
		assert.Equal(t, c.port, picked, name)
		got, err := settings.Load(s.Settings.Path)
		require.NoError(t, err)
		assert.Equal(t, c.left, got.Neck.LeftHanded, name)
		assert.Equal(t, c.minute, got.Today.Minutes, name)
	}
}

// The sound of right and wrong is turned off by a key, and stays so.
func TestTheSoundOfRightAndWrongIsTurnedOff(t *testing.T) {
	s := services(t, termenv.Ascii, &ledger{})
	s.Desk.Hearing = session.NewHearing(s.Inputs.Sound, true)
	d := drive(t, s, 80, 24, DrillOf(session.Choice{Drill: "name", Chords: "first"}))
	d.press("H")
	d.sees("The sound of right and wrong is off.")
	assert.False(t, s.Desk.Hearing.Cued())
	assert.Contains(t, onDisk(t, s.Settings.Path), "verdicts = false")
	d.press("H")
	d.sees("The sound of right and wrong is on.")
	assert.Contains(t, onDisk(t, s.Settings.Path), "verdicts = true")
	d.send(page.Back{})
}

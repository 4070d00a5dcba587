package settings

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// Any text gives settings that can be written and read back, and faults that lie in it.
func FuzzRead(f *testing.F) {
	f.Add(Text(Default()))
	f.Add("[neck]\ntuning = [\"E1\", \"A1\", \"D2\", \"G2\"]\nbass_strings = [4, 3]\nreach_mm = 1e400\n")
	f.Add("neck.scale_mm = 600\n[look]\nbackground = 'dark'\n[loook]\nascii = true\n[sound.click_db]\n")
	f.Add("[play]\nrest = \"\"\"\\u202e\"\"\"\n[today]\nminutes = 2026-11-30T10:00:00Z\n[[drill]]\ngo_on_s = nan\n")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<13 { // what is longer says the same more slowly
			return
		}
		s, err := Read([]byte(text))
		var faults harmony.Faults
		require.True(t, err == nil || errors.As(err, &faults), "%v", err)
		lines := 1 + strings.Count(text, "\n") + strings.Count(text, "\r")
		for _, f := range faults {
			if f.Line < 1 || f.Line > lines || f.Column < 1 || f.Found == "" || f.Want == "" {
				t.Fatalf("fault out of the text: %+v", f)
			}
		}
		back, err := Read([]byte(Text(s)))
		require.NoError(t, err, Text(s))
		require.Equal(t, s, back)
	})
}

package screen

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/session"
)

// The screen that the README shows is what the program draws.
func TestTheReadmeShowsTheScreen(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	shown := regexp.MustCompile("(?s)```\n( +Footfall .*?)```").FindStringSubmatch(string(text))
	require.NotNil(t, shown)
	for seed := range uint64(500) {
		s := services(t, termenv.Ascii, &ledger{})
		s.Questions = 20
		s.Desk.Seed = func() uint64 { return seed }
		d := drive(t, s, 80, 24, DrillOf(session.Choice{Drill: "find", Chords: "first", Questions: 20}))
		if !strings.Contains(d.view(), "Play the 1 of F on string 6.") {
			continue
		}
		d.press("3", "enter")
		d.sees("Missed")
		took := regexp.MustCompile(`\d+\.\d s`)
		lines := func(view string) (kept []string) {
			for l := range strings.Lines(took.ReplaceAllString(view, "1.0 s")) {
				if l = strings.TrimRight(l, " \n"); l != "" {
					kept = append(kept, l)
				}
			}
			return kept
		}
		assert.Equal(t, lines(shown[1]), lines(d.view()))
		return
	}
	t.Fatal("no seed asks what the README shows")
}

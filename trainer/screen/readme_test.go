package screen

import (
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// The screens that the README shows are what the program draws at 120 by 40; -update
// draws them anew.
func TestTheReadmeShowsTheScreens(t *testing.T) {
	racetest.Alone(t)
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	const folder = "testdata/readme"
	var shown []string
	for _, m := range regexp.MustCompile(`!\[[^\]]+\]\(trainer/screen/`+folder+`/([a-z]+)\.svg\)`).FindAllStringSubmatch(string(text), -1) {
		shown = append(shown, m[1])
	}
	require.Equal(t, []string{"today", "drill", "arrangement"}, shown)
	for _, name := range shown {
		t.Run(name, func(t *testing.T) {
			s := practised(t)
			r := lipgloss.NewRenderer(io.Discard)
			r.SetColorProfile(termenv.TrueColor)
			r.SetHasDarkBackground(true)
			s.Theme = theme.New(r, false)
			s.Questions = 20
			d := drive(t, s, 120, 40)
			switch name {
			case "drill":
				d.send(page.Open{ID: DrillOf(session.Choice{Drill: "find", Tune: "lantern-street", Questions: 20})})
				for _, fret := range []string{"3", "6", "1"} {
					s.Desk.Clock.Advance(2400 * time.Millisecond)
					d.press(fret, "enter")
					if fret != "1" {
						d.press("enter")
					}
				}
			case "arrangement":
				d.send(page.Open{ID: arrangementOf("lantern-street")})
				d.press("right", "right", "z")
			}
			drawn := picture(d.f.View(), 120, true)
			file := filepath.Join(folder, name+".svg")
			if flag.Lookup("update").Value.String() == "true" {
				require.NoError(t, os.MkdirAll(folder, 0o755))
				require.NoError(t, os.WriteFile(file, []byte(drawn), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.True(t, string(want) == drawn, "%s is not what the program draws: look, then -update", file)
		})
	}
}

package arrangement

import (
	"io"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

func newPage(t testing.TB, name string) *Page {
	t.Helper()
	tn, ok := content.Tune(name)
	require.True(t, ok)
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	p := New(theme.New(r, false), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Mixed, tn, Doors{})
	p.SetSize(80, 20)
	return p
}

func press(p *Page, keys ...string) {
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		switch k {
		case "home":
			msg = tea.KeyMsg{Type: tea.KeyHome}
		case "right":
			msg = tea.KeyMsg{Type: tea.KeyRight}
		case "left":
			msg = tea.KeyMsg{Type: tea.KeyLeft}
		case "up":
			msg = tea.KeyMsg{Type: tea.KeyUp}
		case "down":
			msg = tea.KeyMsg{Type: tea.KeyDown}
		case "tab":
			msg = tea.KeyMsg{Type: tea.KeyTab}
		case "shift+tab":
			msg = tea.KeyMsg{Type: tea.KeyShiftTab}
		}
		p.Update(msg)
	}
}

func TestViews(t *testing.T) {
	for name, keys := range map[string][]string{
		"first beat":           nil,
		"second bar":           {"tab"},
		"middle of a bar":      {"tab", "right", "right"},
		"bass alone":           {"g"},
		"three semitones down": {"<", "<", "<"},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPage(t, "tin-kettle-blues")
			press(p, keys...)
			golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
		})
	}
}

func TestWideView(t *testing.T) {
	p := newPage(t, "third-floor-waltz")
	p.SetSize(200, 56)
	golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
}

func TestTwelveSemitonesComeRound(t *testing.T) {
	p := newPage(t, "tin-kettle-blues")
	first := p.View()
	for range 12 {
		press(p, ">")
		require.NoError(t, p.fault)
	}
	assert.Equal(t, first, p.View())
}

func TestWalkingThroughEveryMomentAndBack(t *testing.T) {
	for _, name := range content.TuneNames() {
		p := newPage(t, name)
		first := p.View()
		for range len(p.moments) + 3 {
			press(p, "right")
			lines := strings.Split(p.View(), "\n")
			require.LessOrEqual(t, len(lines), 20, name)
			for _, l := range lines {
				require.LessOrEqual(t, lipgloss.Width(l), 80, l)
			}
		}
		assert.Equal(t, len(p.moments)-1, p.at)
		for range len(p.bars) {
			press(p, "shift+tab")
		}
		assert.Equal(t, first, p.View())
	}
}

// The arrow keys move as the picture is laid out: left and right along the line of bars, up
// and down to the line above and below, in the same column.
func TestTheArrowKeysMoveAsTheBarsAreDrawn(t *testing.T) {
	p := newPage(t, "lantern-street")
	p.SetSize(120, 36)
	spot := func() (x, y int) {
		for y, line := range strings.Split(ansi.Strip(p.View()), "\n") {
			if at := strings.Index(line, "["); at >= 0 {
				return at, y
			}
		}
		t.Fatal("no beat is picked out")
		return 0, 0
	}
	x, y := spot()
	press(p, "right")
	right, same := spot()
	assert.Greater(t, right, x)
	assert.Equal(t, y, same)
	press(p, "down")
	under, below := spot()
	assert.Equal(t, right, under, "in the same column")
	assert.Greater(t, below, y)
	press(p, "up")
	back, up := spot()
	assert.Equal(t, [2]int{right, y}, [2]int{back, up})
	before := p.at
	press(p, "up")
	assert.Equal(t, before, p.at, "above the first line there is none")
	press(p, "left")
	first, _ := spot()
	assert.Equal(t, x, first)
	for range 40 {
		press(p, "down")
	}
	assert.Greater(t, p.moments[p.at].at.Bar, len(p.bars)-4, "in the last line of bars")
}

func TestATuneThatCannotBePlayedSaysWhere(t *testing.T) {
	tn, faults := tune.Read("tune High\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | C |\nbass | 1 /3 /5 /3 |\n")
	require.Empty(t, faults)
	r := lipgloss.NewRenderer(io.Discard)
	p := New(theme.New(r, false), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Mixed, tn, Doors{})
	p.SetSize(80, 20)
	assert.Contains(t, p.View(), "bar 1")
	press(p, "right", "down", "g", ">", "home")
	assert.NotEmpty(t, p.View())
}

// Budget: key to frame p99 under 16 ms.
func BenchmarkKeyToFrame(b *testing.B) {
	p := newPage(b, "tin-kettle-blues")
	for i := 0; b.Loop(); i++ {
		press(p, []string{"tab", "shift+tab"}[i%2])
		_ = p.View()
	}
}

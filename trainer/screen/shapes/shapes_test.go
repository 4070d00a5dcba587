package shapes

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

	"footfall/fretboard"
	"footfall/trainer/screen/theme"
)

func newPage(t *testing.T, symbol string, ascii bool) *Page {
	t.Helper()
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	p, err := New(theme.New(r, ascii), fretboard.StandardNeck(), fretboard.DefaultHand(), symbol)
	require.NoError(t, err)
	p.SetSize(80, 20)
	return p
}

func press(p *Page, keys ...string) {
	special := map[string]tea.KeyType{
		"left": tea.KeyLeft, "right": tea.KeyRight, "up": tea.KeyUp, "down": tea.KeyDown,
		"home": tea.KeyHome, "end": tea.KeyEnd, "enter": tea.KeyEnter, "backspace": tea.KeyBackspace,
	}
	for _, k := range keys {
		if typ, ok := special[k]; ok {
			p.Update(tea.KeyMsg{Type: typ})
			continue
		}
		for _, r := range k {
			p.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		}
	}
}

func TestViews(t *testing.T) {
	for name, c := range map[string]struct {
		symbol string
		ascii  bool
		keys   []string
	}{
		"first":    {"", false, nil},
		"third":    {"G7", false, []string{"right", "right"}},
		"sixth":    {"Dm", true, []string{"right", "right", "right", "right"}},
		"family":   {"Cmaj7", false, []string{"right", "v", "right"}},
		"typing":   {"C", false, []string{"enter", "Bbmaj"}},
		"mistyped": {"C", false, []string{"enter", "Xb", "enter"}},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPage(t, c.symbol, c.ascii)
			press(p, c.keys...)
			view := ansi.Strip(p.View())
			lines := strings.Split(view, "\n")
			assert.LessOrEqual(t, len(lines), 20)
			for _, l := range lines {
				assert.LessOrEqual(t, ansi.StringWidth(l), 80, l)
			}
			golden.RequireEqual(t, []byte(p.Title()+"  "+p.Status()+"\n"+view+"\n"))
		})
	}
}

func TestKeysLeafThroughShapes(t *testing.T) {
	p := newPage(t, "Dm", false)
	press(p, "right", "right")
	assert.Equal(t, "shapes · Dm", p.Title())
	assert.Equal(t, "shape 1 of 114", p.Status())
	press(p, "up")
	assert.Equal(t, "shape 1 of 114", p.Status())
	press(p, "down", "down")
	assert.Equal(t, "shape 3 of 114", p.Status())
	press(p, "end", "down")
	assert.Equal(t, "shape 114 of 114", p.Status())
	press(p, "right")
	assert.Contains(t, p.View(), "[5]", "the degree beside it, its best shape first")
	assert.True(t, strings.HasPrefix(p.Status(), "shape 1 of"))
	press(p, "left", "left", "left", "left")
	assert.NotContains(t, p.View(), "[any]", "left of any it goes round to the last")
	press(p, "right")
	assert.Contains(t, p.View(), "[any]")
}

// v follows the shape that is shown up the neck and comes back to it. There the arrow keys
// move along the neck as it is drawn, and through the list below it.
func TestAFamilyUpTheNeck(t *testing.T) {
	p := newPage(t, "Cmaj7", false)
	press(p, "right", "down", "down")
	before, shown := p.Status(), p.shapes[p.shape].String()
	press(p, "v")
	assert.Contains(t, p.Status(), "up the neck")
	assert.Contains(t, p.View(), shown, "it begins with the shape that was shown")
	press(p, "home")
	low := p.shapes[p.shape].Bass().Fret
	press(p, "right")
	assert.Greater(t, p.shapes[p.shape].Bass().Fret, low)
	press(p, "v")
	assert.Equal(t, before, p.Status())
	assert.Contains(t, p.View(), shown)
	press(p, "v", "home", "down")
	assert.Greater(t, p.shapes[p.shape].Bass().Fret, low)
	p.neck.LeftHanded = true
	press(p, "right")
	assert.Equal(t, low, p.shapes[p.shape].Bass().Fret, "on a left-handed neck right is down")
	p.neck.LeftHanded = false
	press(p, "v", "end", "left", "left", "left", "left", "left", "left", "left", "v")
	if p.best == nil {
		assert.Contains(t, p.View(), "No family up the neck: ")
		press(p, "right")
		assert.NotContains(t, p.View(), "No family")
	}
}

func TestTypingAnotherChord(t *testing.T) {
	p := newPage(t, "Dm", false)
	press(p, "enter", "F7q")
	assert.True(t, p.Typing())
	press(p, "enter")
	assert.True(t, p.Typing(), "a fault keeps what was typed")
	assert.Contains(t, p.View(), "F7q")
	press(p, "backspace", "enter")
	assert.False(t, p.Typing())
	assert.Equal(t, "shapes · F7", p.Title())
	press(p, "enter", "G")
	used, _ := p.Step()
	assert.True(t, used)
	assert.Equal(t, "shapes · F7", p.Title(), "esc keeps the chord")
	used, _ = p.Step()
	assert.False(t, used)
	press(p, "enter", strings.Repeat("#", 40), "enter")
	assert.Contains(t, p.View(), strings.Repeat("#", longestSymbol))
}

func TestAChordThatCannotBeRead(t *testing.T) {
	r := lipgloss.NewRenderer(io.Discard)
	for _, s := range []string{"q", "N.C."} {
		_, err := New(theme.New(r, true), fretboard.StandardNeck(), fretboard.DefaultHand(), s)
		assert.Error(t, err, s)
	}
}

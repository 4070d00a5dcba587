package page

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestSpotsAreTakenOut(t *testing.T) {
	view := "  " + Clickable(Row, 3, "\x1b[1m道 a\x1b[0m") + "  \n" + Clickable(Tab, 1, "x"+KeySpot([]string{"q"}, "q quit")) + " y"
	clean, spots := Spots(view)
	assert.Equal(t, "  \x1b[1m道 a\x1b[0m\nxq quit y", clean)
	assert.Equal(t, Spot{Clicked{On: Row, N: 3}, 0, 2, 6}, spots[0])
	assert.Equal(t, []int{1, 1, 7}, []int{spots[1].Y, spots[1].First, spots[1].End})
	assert.Equal(t, Spot{Clicked{On: Tab, N: 1}, 1, 0, 7}, spots[2])
	k, ok := KeyAt(spots[1].N)
	assert.True(t, ok && Quit.Is(k))
	assert.Equal(t, "↑ ↓", KeySpot([]string{"up", "down"}, "↑ ↓"), "a name of two keys is none")
}

// Whatever a view is cut to, its marks take no room and leave nothing behind.
func TestMarksTakeNoRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-z道\[;z ]{0,20}`).Draw(t, "text")
		width := rapid.IntRange(0, 30).Draw(t, "width")
		plain := "a " + text + " b"
		marked := "a " + Clickable(Row, rapid.IntRange(0, 99).Draw(t, "n"), text) + " b"
		clean, spots := Spots(ansi.Truncate(marked, width, ""))
		if want := ansi.Truncate(plain, width, ""); strings.TrimRight(clean, " ") != strings.TrimRight(want, " ") {
			t.Fatalf("%q, not %q", clean, want)
		}
		for _, s := range spots {
			if s.First < 0 || s.End < s.First || s.End > width {
				t.Fatalf("%+v", s)
			}
		}
	})
}

// Every key of every use is pressed by its name.
func TestKeysByTheirNames(t *testing.T) {
	for i, n := range names() {
		k, ok := KeyAt(i)
		assert.True(t, ok)
		assert.Equal(t, n, k.String())
	}
	_, ok := KeyAt(-1)
	assert.False(t, ok)
	assert.Equal(t, tea.KeyMsg{Type: tea.KeyLeft}, Arrow(Pressed("h")))
	assert.Equal(t, Pressed("x"), Arrow(Pressed("x")))
}

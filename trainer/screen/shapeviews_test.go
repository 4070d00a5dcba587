package screen

import (
	"fmt"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"

	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

// What the program shows of shapes, at each size: a shape and its family up the neck,
// the question for the nearest shape of the next chord and its answer, the other
// choices at a hit and the endings of a tune.
func TestShapeViews(t *testing.T) {
	shapes := page.ID{Kind: "shapes"}
	near := DrillOf(session.Choice{Drill: "near", Tune: "lantern-street"})
	arranged := page.ID{Kind: "arrangement", Tune: "lantern-street"}
	for _, size := range [][2]int{{80, 24}, {120, 40}, {200, 60}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			s, _ := room(t, termenv.Ascii)
			d := drive(t, s, size[0], size[1])
			var b strings.Builder
			shot := func(what string, st state) {
				d.come(st)
				view := d.f.View()
				lines := strings.Split(view, "\n")
				assert.Len(t, lines, size[1], what)
				for _, l := range lines {
					assert.LessOrEqual(t, lipgloss.Width(l), size[0], what)
				}
				fmt.Fprintf(&b, "== %s\n%s\n", what, view)
			}
			shot("near", state{id: near})
			shot("near, answered", state{id: near, keys: []string{"1", "enter"}})
			shot("a shape", state{id: shapes})
			shot("its family up the neck", state{id: shapes, keys: []string{"down", "v", "right"}})
			shot("the next choice at a hit", state{id: arranged, keys: []string{"z"}})
			shot("the same in shells", state{id: arranged, keys: []string{"S", "z"}})
			shot("an ending", state{id: EditOf("gate"), keys: []string{"|"}})
			shot("the next ending", state{id: EditOf("gate"), keys: []string{"|"}})
			golden.RequireEqual(t, []byte(b.String()))
		})
	}
}

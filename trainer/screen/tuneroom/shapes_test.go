package tuneroom

import (
	"testing"

	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"pgregory.net/rapid"

	"footfall/harmony/tune"
)

// Shapes are drawn whole however narrow the beats are, within their bar, and none over
// another; the token at the place is always among them.
func TestShapesAreDrawnWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		beats := rapid.IntRange(2, 7).Draw(t, "beats")
		var b tune.Bar
		widest := 1
		for range beats {
			token := tune.ShapeToken{}
			if frets := rapid.SampledFrom([][]int{nil, {-1, 3, 2, 0, 1, 0}, {8, -1, 8, 9, 8, -1}, {10, -1, 10, 12, 13, 10}}).Draw(t, "frets"); frets != nil {
				token.Frets = frets
			}
			b.Shapes = append(b.Shapes, token)
			widest = max(widest, lipgloss.Width(token.String()))
		}
		g := grid{beat: max(rapid.IntRange(4, 14).Draw(t, "columns"), (widest+beats)/beats)}
		kept := rapid.IntRange(-1, beats-1).Draw(t, "kept")
		seen := map[int]bool{}
		taken := map[[2]int]bool{} // by row and column
		for _, l := range lay(&b, g, beats, kept) {
			seen[l.beat] = true
			if l.text != b.Shapes[l.beat].String() {
				t.Fatalf("%q of %q", l.text, b.Shapes[l.beat])
			}
			for x := l.from; x < l.from+1+lipgloss.Width(l.text); x++ {
				if x >= beats*g.beat || taken[[2]int{l.row, x}] {
					t.Fatalf("beat %d is drawn over something at column %d of row %d", l.beat, x, l.row)
				}
				taken[[2]int{l.row, x}] = true
			}
		}
		for i, s := range b.Shapes {
			if (s.Frets != nil || i == kept) && !seen[i] {
				t.Fatalf("beat %d is not drawn", i)
			}
		}
	})
}

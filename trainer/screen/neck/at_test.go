package neck_test

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"footfall/fretboard"
	"footfall/trainer/screen/neck"
)

// Where a mark is drawn there is its place, on every neck and in every room.
func TestAtIsWhereAMarkIsDrawn(t *testing.T) {
	th := plainTheme(false)
	rapid.Check(t, func(t *rapid.T) {
		strs := rapid.IntRange(4, 8).Draw(t, "strings")
		n := fretboard.Neck{HighestFret: rapid.IntRange(5, 24).Draw(t, "frets"), BassStrings: []int{strs}, LeftHanded: rapid.Bool().Draw(t, "left")}
		for i := range strs {
			n.Tuning = append(n.Tuning, 28+5*i)
		}
		place := fretboard.Place{String: rapid.IntRange(1, strs).Draw(t, "string"), Fret: rapid.IntRange(0, n.HighestFret).Draw(t, "fret")}
		d := neck.Drawing{
			Neck: n, Marks: []fretboard.Mark{{Place: place, Text: "@"}}, Width: rapid.IntRange(24, 200).Draw(t, "width"),
			Height: rapid.IntRange(0, 30).Draw(t, "height"), Close: rapid.Bool().Draw(t, "close"),
		}
		for y, line := range strings.Split(ansi.Strip(neck.Draw(th, d)), "\n") {
			if before, _, ok := strings.Cut(line, "@"); ok {
				if at, ok := neck.At(d, ansi.StringWidth(before), y); !ok || at != place {
					t.Fatalf("%v, not %v", at, place)
				}
				return
			}
		}
		t.Fatalf("%v is not drawn", place)
	})
	_, ok := neck.At(neck.Drawing{}, 3, 3)
	assert.False(t, ok)
}

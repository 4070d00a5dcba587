package neck_test

import (
	"io"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"

	"footfall/fretboard"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/theme"
)

func plainTheme(ascii bool) *theme.Theme {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	return theme.New(r, ascii)
}

func place(str, fret int) fretboard.Place { return fretboard.Place{String: str, Fret: fret} }

// Each role has brackets of its own, at every width, so that no mark needs
// colour; the goldens were looked at.
func TestRolesShowWithoutColour(t *testing.T) {
	n := fretboard.StandardNeck()
	n.HighestFret = 5
	marks := []fretboard.Mark{
		{Place: place(6, 1), Text: "b7", Role: fretboard.Right},
		{Place: place(6, 3), Text: "5", Role: fretboard.Wrong},
		{Place: place(5, 0), Text: "bb7", Role: fretboard.Right},
		{Place: place(5, 3), Text: "?", Role: fretboard.Asked},
		{Place: place(4, 2), Text: "b3", Role: fretboard.Next},
		{Place: place(3, 2), Text: "1", Role: fretboard.Anchor},
		{Place: place(2, 4), Text: "#11", Role: fretboard.Plain},
		{Place: place(2, 1), Text: "9", Role: fretboard.Coming},
		{Place: place(2, 3), Text: "13", Role: fretboard.Staying},
	}
	cursor := place(1, 3)
	var b strings.Builder
	draw := func(what string, n fretboard.Neck, ascii bool, width int) {
		b.WriteString(what + "\n")
		for l := range strings.SplitSeq(neck.Draw(plainTheme(ascii), neck.Drawing{Neck: n, Marks: marks, Cursor: &cursor, Width: width}), "\n") {
			b.WriteString(strings.TrimRight(l, " ") + "\n")
		}
	}
	draw("narrow", n, false, 30)
	draw("wide, ASCII", n, true, 60)
	left := n
	left.LeftHanded = true
	draw("left-handed", left, false, 30)
	long := n
	long.HighestFret = 24
	draw("only a part fits", long, false, 30)
	b.WriteString("strings apart\n" + neck.Draw(plainTheme(false), neck.Drawing{Neck: left, Marks: marks, Cursor: &cursor, Width: 60, Height: 12}) + "\n")
	golden.RequireEqual(t, []byte(b.String()))
}

// Whatever the neck, the drawing keeps to its width, has a row for each string,
// all of one length, and shows its mark.
func TestDrawing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := fretboard.StandardNeck()
		n.HighestFret = rapid.IntRange(5, 24).Draw(t, "frets")
		n.Tuning = fretboard.Tuning{28, 33, 40, 45, 50, 55, 59, 64}[8-rapid.IntRange(4, 8).Draw(t, "strings"):]
		n.LeftHanded = rapid.Bool().Draw(t, "left")
		width := rapid.IntRange(24, 200).Draw(t, "width")
		at := place(rapid.IntRange(1, len(n.Tuning)).Draw(t, "string"), rapid.IntRange(0, n.HighestFret).Draw(t, "fret"))
		d := neck.Drawing{Neck: n, Width: width, Marks: []fretboard.Mark{{Place: at, Text: rapid.SampledFrom([]string{"1", "b7", "bb7"}).Draw(t, "text"), Role: fretboard.Role(rapid.IntRange(0, int(fretboard.Staying)).Draw(t, "role"))}}}
		rows := 1 // from a string to the next
		if rapid.Bool().Draw(t, "apart") {
			rows, d.Height = 2, 2*len(n.Tuning)
		}
		if rapid.Bool().Draw(t, "cursor") {
			d.Cursor = &at
		}
		lines := strings.Split(neck.Draw(plainTheme(rapid.Bool().Draw(t, "ascii")), d), "\n")
		if len(lines) != rows*(len(n.Tuning)-1)+2 {
			t.Fatalf("%d lines for %d strings and the fret numbers", len(lines), len(n.Tuning))
		}
		first := lipgloss.Width(lines[0])
		for i, l := range lines {
			if w := lipgloss.Width(l); w > width {
				t.Fatalf("line %d has %d columns of %d: %q", i, w, width, l)
			}
			if i%rows == 0 && i < len(lines)-1 && lipgloss.Width(l) != first {
				t.Fatalf("strings of unlike length: %q, %q", lines[0], l)
			}
		}
		if !strings.Contains(lines[rows*(at.String-1)], d.Marks[0].Text) {
			t.Fatalf("the mark is not there: %q", lines[rows*(at.String-1)])
		}
	})
}

// A neck of which not all fits stands still while the marks move within what it shows, shows
// all of them, and tells at which end it goes on.
func TestANeckThatDoesNotFitStandsStill(t *testing.T) {
	n := fretboard.StandardNeck()
	drawn := func(frets ...int) (numbers, top string) {
		d := neck.Drawing{Neck: n, Width: 62}
		for _, f := range frets {
			d.Marks = append(d.Marks, fretboard.Mark{Place: place(6, f), Text: "1"})
		}
		lines := strings.Split(neck.Draw(plainTheme(false), d), "\n")
		return lines[len(lines)-1], lines[0]
	}
	still, first := drawn()
	if !strings.HasSuffix(still, " 13  ›") || !strings.HasSuffix(first, "┄") {
		t.Fatalf("nothing says that the neck goes on: %q, %q", still, first)
	}
	for low := range 10 {
		if moved, _ := drawn(low, low+3); moved != still {
			t.Fatalf("it moved for frets %d to %d: %q", low, low+3, moved)
		}
	}
	high, last := drawn(11, 14)
	if !strings.Contains(high, "‹") || !strings.Contains(high, " 15") || strings.Contains(high, "›") || !strings.Contains(last, "┄") || strings.HasSuffix(last, "┄") {
		t.Fatalf("%q, %q", high, last)
	}
}

package sheet

import "strings"

// figure is a drawing in millimetres, made of groups.
type figure struct {
	Title, Says   string
	Width, Height mm
	Groups        []group
}

// group is a part of a figure that belongs together, with a title of its own
// where it stands for one thing.
type group struct {
	Class, Title string
	Rects        []rect
	Lines        []line
	Paths        []path
	Texts        []text
	// Right and Down move all of it.
	Right, Down mm
}

type line struct {
	Class          string
	X1, Y1, X2, Y2 mm
}

type rect struct {
	Class      string
	X, Y, W, H mm
}

// path is a curve in the words of SVG.
type path struct{ Class, D string }

// text starts at X; Y is its base line. Fit, where not 0, is the width into
// which it is squeezed.
type text struct {
	Class  string
	X, Y   mm
	Fit    mm
	String string
}

func (g *group) line(class string, x1, y1, x2, y2 mm) {
	g.Lines = append(g.Lines, line{class, x1, y1, x2, y2})
}

func (g *group) rect(class string, x, y, w, h mm) {
	g.Rects = append(g.Rects, rect{class, x, y, w, h})
}

func (g *group) path(class, d string) { g.Paths = append(g.Paths, path{class, d}) }

// write sets a text of a size; one wider than room is squeezed, room 0 is
// endless.
func (g *group) write(class string, x, y mm, s string, size, room mm) {
	if s == "" {
		return
	}
	t := text{Class: class, X: x, Y: y, String: printable(s)}
	if room > 0 && textWidth(s, size) > room {
		t.Fit = room
	}
	g.Texts = append(g.Texts, t)
}

// printable replaces the characters that XML 1.0 (section 2.2) does not allow
// in a document.
func printable(s string) string {
	return strings.Map(func(c rune) rune {
		if c == '\t' || c == '\n' || c >= ' ' && c != 0xFFFE && c != 0xFFFF {
			return c
		}
		return '\uFFFD'
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

package page

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
)

// Thing is a kind of thing that the mouse can point at.
type Thing int

// What can be pointed at: a key that is named somewhere, a line of a list, a tab, and a
// place of what is drawn, such as a neck.
const (
	KeyName Thing = iota + 1
	Row
	Tab
	Drawn
)

// Clicked tells a page that the mouse was pressed on something that it marked.
type Clicked struct {
	On Thing
	// N is what it was marked with, X the column within it, from 0.
	N, X int
}

// Spot is where something that was marked stands in a view: its row, and its columns
// from the first to before End, all from 0.
type Spot struct {
	Clicked
	Y, First, End int
}

// Clickable marks a text of one line as what the mouse may point at. The marks take no
// room, and the frame takes them out. They stand about styles, never within one.
func Clickable(on Thing, n int, text string) string {
	return fmt.Sprintf("\x1b[%d;%dz%s\x1b[z", on, n, text)
}

// mark is the beginning or the end of a text that was marked: a control sequence that
// terminals have no use for (ECMA-48, 5.4: a final byte of the private ones).
var mark = regexp.MustCompile("\x1b\\[(?:([0-9]+);([0-9]+))?z")

// Spots takes the marks out of a view, and tells where they were.
func Spots(view string) (clean string, spots []Spot) {
	if !strings.Contains(view, "z") || !mark.MatchString(view) {
		return view, nil
	}
	lines := strings.Split(view, "\n")
	for y, line := range lines {
		var open []Spot
		var b strings.Builder
		x, at := 0, 0
		for _, m := range mark.FindAllStringSubmatchIndex(line, -1) {
			b.WriteString(line[at:m[0]])
			x += ansi.StringWidth(line[at:m[0]])
			at = m[1]
			if m[2] >= 0 {
				on, _ := strconv.Atoi(line[m[2]:m[3]])
				n, _ := strconv.Atoi(line[m[4]:m[5]])
				open = append(open, Spot{Clicked: Clicked{On: Thing(on), N: n}, Y: y, First: x})
			} else if last := len(open) - 1; last >= 0 {
				open[last].End = x
				spots, open = append(spots, open[last]), open[:last]
			}
		}
		if lines[y] = b.String() + line[at:]; spots != nil && spots[len(spots)-1].Y == y {
			lines[y] = strings.TrimRight(lines[y], " ") // which a mark may have kept
		}
	}
	return strings.Join(lines, "\n"), spots
}

// names are the keys of all uses, in their order.
func names() (all []string) {
	for _, u := range uses {
		all = append(all, u.keys...)
	}
	return all
}

// KeySpot marks a text that names keys, which is as good as pressing the first of them.
// Arrow keys, of which a name stands for two, are left as they are.
func KeySpot(keys []string, text string) string {
	for i, n := range names() {
		if len(keys) > 0 && n == keys[0] && !slices.Contains(Across.keys, n) && !slices.Contains(UpDown.keys, n) && n != FirstLast.keys[0] && n != PageUpDown.keys[0] {
			return Clickable(KeyName, i, text)
		}
	}
	return text
}

// KeyAt is the key that a text was marked with; false where there is none.
func KeyAt(n int) (tea.KeyMsg, bool) {
	if all := names(); n >= 0 && n < len(all) {
		return Pressed(all[n]), true
	}
	return tea.KeyMsg{}, false
}

// Pressed is the message of a key by its name, such as "enter" or "x".
func Pressed(name string) tea.KeyMsg {
	if name == " " {
		return tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}}
	}
	for t := lowestKey; t < tea.KeyType(128); t++ {
		if k := (tea.KeyMsg{Type: t}); t != tea.KeyRunes && k.String() == name {
			return k
		}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(name)}
}

// lowestKey is before the first of Bubble Tea's key types, which count down from −1.
const lowestKey = tea.KeyType(-100)

package page

import (
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/screen/theme"
)

// Use is what keys are for. A key has one use on all pages, and a use has the
// same keys on all of them; a page says in words of its own what the use is
// there. Uses are the variables below and no others.
type Use struct {
	keys  []string
	shown func(theme.Glyphs) string
}

// uses is every use there is.
var uses []Use

func use(shown string, keys ...string) Use {
	return arrow(func(theme.Glyphs) string { return shown }, keys...)
}

// arrow is use with a name that depends on what the terminal draws.
func arrow(shown func(theme.Glyphs) string, keys ...string) Use {
	u := Use{keys, shown}
	uses = append(uses, u)
	return u
}

// The uses of keys. The frame acts on Help, Esc, Quit, Abort and Stop.
var (
	Help  = use("?", "?")
	Esc   = use("esc", "esc")
	Quit  = use("q", "q")
	Abort = use("ctrl+c", "ctrl+c")
	// Stop hands the terminal back to the shell until it lets the program go on.
	Stop = use("ctrl+z", "ctrl+z")

	// Act does what the page is there for: it starts, answers, goes on, puts in.
	Act = use("enter", "enter")
	// Switch turns something on or off here: music, a selection, a note.
	Switch = use("space", " ")
	// Empty takes out, or throws away, what the page stands on.
	Empty = use("delete", "delete", "backspace")
	Save  = use("ctrl+s", "ctrl+s")
	// Anew takes away all that was typed, or brings it back.
	Anew = use("ctrl+l", "ctrl+l")

	// Across and UpDown are the arrow keys, and h, l, k and j beside them.
	Across     = arrow(func(g theme.Glyphs) string { return g.Left + " " + g.Right }, "left", "right", "h", "l")
	UpDown     = arrow(func(g theme.Glyphs) string { return g.Up + " " + g.Down }, "up", "down", "k", "j")
	FirstLast  = use("home end", "home", "end")
	PageUpDown = use("pgup pgdown", "pgup", "pgdown")
	// Next goes on to the next, Before back to the one before.
	Next   = use("tab", "tab")
	Before = use("shift+tab", "shift+tab")

	// More and Less are by a step: of tempo, of minutes.
	More = use("+", "+", "=")
	Less = use("-", "-")
	// SemitoneUp and SemitoneDown transpose.
	SemitoneUp   = use(">", ">")
	SemitoneDown = use("<", "<")

	PlayAlong   = use("p", "p")
	Arrangement = use("a", "a")
	Edit        = use("e", "e")
	// Add takes a score or a typed chart in.
	Add      = use("A", "A")
	Lessons  = use("L", "L")
	Today    = use("t", "t")
	LookBack = use("r", "r")
	Shapes   = use("s", "s")
	Drills   = use("d", "d")
	// Filter finds in a list by letters.
	Filter = use("/", "/")
	Inputs = use("i", "i")

	Layer = use("g", "g")
	// Fingers shows fingers in the place of degrees, or degrees again.
	Fingers = use("F", "F")
	// School changes what shapes are drawn from.
	School = use("S", "S")
	Click  = use("c", "c")
	// Hear picks what is heard.
	Hear     = use("H", "H")
	LoopFrom = use("[", "[")
	LoopTo   = use("]", "]")
	Whole    = use("0", "0")
	// Bad loops the bars that went worst.
	Bad     = use("b", "b")
	Clean   = use("y", "y")
	Unclean = use("n", "n")

	Later = use("N", "N")
	// View changes between plot and table, Far how far back is looked.
	View = use("v", "v")
	Far  = use("f", "f")

	// SetUp sets something up: a play-along, the program.
	SetUp = use(",", ",")
	// Several says of how many passes a word is.
	Several = use("1-9", "1", "2", "3", "4", "5", "6", "7", "8", "9")

	// Number types a number, as text is typed: it is no use that a digit has elsewhere.
	Number = Use{[]string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"}, func(theme.Glyphs) string { return "0-9" }}

	OpenStrings = use("o", "o")
	Delay       = use("D", "D")

	Undo    = use("u", "u")
	Redo    = use("U", "U")
	Walk    = use("w", "w")
	Style   = use("W", "W")
	Judge   = use("J", "J")
	Better  = use("T", "T")
	MoreBar = use("m", "m")
	LessBar = use("M", "M")
	// Choose goes on to the next shape of a hit, ChooseBack to the one before.
	Choose     = use("z", "z")
	ChooseBack = use("Z", "Z")
	// Ending puts the last chord at another place, as the last bar line does.
	Ending = use("|", "|")
	// Pin puts a bass note on a string.
	Pin = use("@", "@")
)

// Key returns the use's binding with a page's words for it.
func (u Use) Key(t *theme.Theme, says string) key.Binding {
	return key.NewBinding(key.WithKeys(u.keys...), key.WithHelp(u.shown(t.Glyphs), says))
}

// Is reports whether a key has the use.
func (u Use) Is(k tea.KeyMsg) bool { return slices.Contains(u.keys, k.String()) }

// Arrow is the arrow key that a letter stands for, h left, j down, k up and l right, or
// the key itself.
func Arrow(k tea.KeyMsg) tea.KeyMsg {
	if t, ok := arrows[k.String()]; ok {
		return tea.KeyMsg{Type: t}
	}
	return k
}

var arrows = map[string]tea.KeyType{"h": tea.KeyLeft, "j": tea.KeyDown, "k": tea.KeyUp, "l": tea.KeyRight}

// Text is a line of the key list for keys that are text where the page takes
// text: shown are examples. It matches no key.
func Text(shown, says string) key.Binding {
	return key.NewBinding(key.WithKeys("text"), key.WithHelp(shown, says))
}

// Arrows are the bindings of the four arrow keys as one.
func Arrows(t *theme.Theme, says string) key.Binding {
	a, b := Across.Key(t, says), UpDown.Key(t, says)
	return key.NewBinding(key.WithKeys(append(a.Keys(), b.Keys()...)...), key.WithHelp(a.Help().Key+" "+b.Help().Key, says))
}

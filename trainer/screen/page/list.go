package page

import tea "github.com/charmbracelet/bubbletea"

// List is where a list of lines stands that may be longer than the room for it.
type List struct {
	// Len is how many lines there are, At the one that it stands on, from 0, and Height
	// how many are shown.
	Len, At, Height int
}

// Move takes the keys that move in a list, by their names, and leaves others alone.
func (l *List) Move(key string) {
	switch key {
	case "up":
		l.At--
	case "down":
		l.At++
	case "pgup":
		l.At -= l.Height
	case "pgdown":
		l.At += l.Height
	case "home":
		l.At = 0
	case "end":
		l.At = l.Len - 1
	}
	l.At = max(0, min(l.At, l.Len-1))
}

// Moved is where the keys that move in a list lead to from one of its lines: there are n,
// of which some rows show at once.
func Moved(k tea.KeyMsg, at, n, rows int) int {
	l := List{Len: n, At: at, Height: max(1, rows)}
	l.Move(k.String())
	return l.At
}

// Picked is where a click on a line of a list leads to, and whether it acts on that line:
// it stood there already.
func Picked(c Clicked, at, n int) (to int, acts bool) {
	if c.On != Row || c.N < 0 || c.N >= n {
		return at, false
	}
	return c.N, c.N == at
}

// Top is the first line shown: the one it stands on is in the middle, but at the ends.
func (l *List) Top() int { return max(0, min(l.At-l.Height/2, l.Len-l.Height)) }

// End is the line after the last one shown.
func (l *List) End() int { return min(l.Len, l.Top()+max(1, l.Height)) }

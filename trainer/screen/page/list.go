package page

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

// Top is the first line shown: the one it stands on is in the middle, but at the ends.
func (l *List) Top() int { return max(0, min(l.At-l.Height/2, l.Len-l.Height)) }

// End is the line after the last one shown.
func (l *List) End() int { return min(l.Len, l.Top()+max(1, l.Height)) }

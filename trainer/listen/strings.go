package listen

import (
	"slices"
	"time"
)

const (
	// oneString is how far, in time, one note of a string may reach into the next: what
	// sounds together for longer comes from two strings.
	oneString = 60 * time.Millisecond
	// topFret is the highest that a string is taken to be played at.
	topFret = 24
)

// TellStrings tells the strings of a file's notes where it has a channel for each, as a
// guitar with a pickup of its own for each string sends them: from channel 1 or 11 on,
// from the highest string or from the lowest. Nothing is told unless each channel
// sounds one note at a time, all lie on its string's fretboard, and no other order
// would do. open are the notes of the open strings, MIDI numbers, the highest string
// first. Notes must be in order of time.
func TellStrings(notes []Note, open []int) {
	of := map[int]int{} // string by channel, as the one order that fits has it
	for _, first := range []int{1, 11} {
		for _, fromLowest := range []bool{false, true} {
			strings := map[int]int{}
			for i := range open {
				if fromLowest {
					strings[first+i] = len(open) - i
				} else {
					strings[first+i] = i + 1
				}
			}
			if !fits(notes, strings, open) {
				continue
			}
			if len(of) > 0 {
				return
			}
			of = strings
		}
	}
	for i := range notes {
		notes[i].String = of[notes[i].Channel]
	}
}

// fits says whether notes may have been played on the strings that their channels have.
func fits(notes []Note, strings map[int]int, open []int) bool {
	sounding := map[int][]Note{}
	for _, n := range notes {
		s, ok := strings[n.Channel]
		if !ok {
			return false
		}
		if fret := n.MIDI - open[s-1]; n.On && (fret < 0 || fret > topFret) {
			return false
		}
		if n.On {
			sounding[s] = append(sounding[s], n)
			continue
		}
		for _, o := range sounding[s] {
			if o.MIDI != n.MIDI && n.At-max(o.At, beganOf(sounding[s], n.MIDI)) > oneString {
				return false
			}
		}
		sounding[s] = slices.DeleteFunc(sounding[s], func(o Note) bool { return o.MIDI == n.MIDI })
	}
	return len(sounding) > 1
}

// beganOf is when the note of a pitch began.
func beganOf(notes []Note, midi int) time.Duration {
	for _, n := range notes {
		if n.MIDI == midi {
			return n.At
		}
	}
	return 0
}

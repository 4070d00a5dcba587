package listen

import (
	"time"
)

const (
	// oneString is how far, in time, one note of a string may reach into the next: what
	// sounds together for longer comes from two strings.
	oneString = 60 * time.Millisecond
	// topFret is the highest that a string is taken to be played at.
	topFret = 24
)

// TellStrings tells the strings of a file's notes where it has a channel or a track for
// each, as a guitar with a pickup of its own for each string sends them: channels in a row,
// from 1 or 11 on as a rule, or as many tracks as there are strings, after one without
// notes or not; from the highest string or from the lowest. Nothing is told unless each
// channel or track sounds one note at a time, all lie on its string's fretboard, and no
// other order would do. open are the notes of the open strings, MIDI numbers, the highest
// string first. Notes must be in order of time.
func TellStrings(notes []Note, open []int) {
	byChannel := func(first int) func(Note) int { return func(n Note) int { return n.Channel - first } }
	usual := []func(Note) int{byChannel(1), byChannel(11)}
	var others []func(Note) int
	for first := 2; first+len(open) <= 17; first++ {
		others = append(others, byChannel(first))
	}
	byTrack := func(n Note) int {
		if more := n.tracks - len(open); more == 0 || more == 1 {
			return n.track - more
		}
		return -1
	}
	for _, places := range [][]func(Note) int{usual, others, {byTrack}} {
		if strings, found := stringsBy(notes, places, open); found {
			for i := range notes {
				notes[i].String = strings[i]
			}
			return
		}
	}
}

// stringsBy returns the string of each note where one order alone of those that give a
// note's place among the strings, from 0 on, would do, from either end; found is also true,
// and the strings are 0, where several would.
func stringsBy(notes []Note, places []func(Note) int, open []int) (strings []int, found bool) {
	for _, place := range places {
		for _, fromLowest := range []bool{false, true} {
			of := make([]int, len(notes))
			for i, n := range notes {
				of[i] = place(n) + 1
				if fromLowest {
					of[i] = len(open) + 1 - of[i]
				}
			}
			switch {
			case !fits(notes, of, open):
			case found:
				return make([]int, len(notes)), true
			default:
				strings, found = of, true
			}
		}
	}
	return strings, found
}

// fits says whether notes may have been played on these strings.
func fits(notes []Note, strings []int, open []int) bool {
	// When each pitch that sounds began on each string.
	sounding := map[int]map[int]time.Duration{}
	for i, n := range notes {
		s := strings[i]
		if s < 1 || s > len(open) {
			return false
		}
		fret := n.MIDI - open[s-1]
		if n.On && (fret < 0 || fret > topFret) {
			return false
		}
		if sounding[s] == nil {
			sounding[s] = map[int]time.Duration{}
		}
		began, sounds := sounding[s][n.MIDI]
		if n.On {
			if !sounds {
				sounding[s][n.MIDI] = n.At
			}
			continue
		}
		delete(sounding[s], n.MIDI)
		for _, other := range sounding[s] {
			if n.At-max(other, began) > oneString {
				return false
			}
		}
	}
	return len(sounding) > 1
}

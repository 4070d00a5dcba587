package plain

import (
	"fmt"
	"reflect"
	"strings"
	"time"

	"footfall/harmony/tune"
)

// wordsPerSecond is how fast a bar is spoken, so that it is over before the bar is that
// it is said in: 180 words a minute, the upper end of usual speech (from memory; screen
// readers speak faster).
const wordsPerSecond = 3

// callOf says a bar in as many words as fit a time: with its number, its chords, its bass
// degrees and their directions; without the number, the directions, the degrees; at last
// the roots of the chords alone. before is the bar said last, of which the same is not
// said again.
func callOf(form []tune.FormBar, bar, before int, in time.Duration) string {
	fb := form[bar-1]
	if before > 0 && bar == before+1 && sameBars(&form[before-1], &fb) {
		return "The same again."
	}
	number := fmt.Sprintf("Bar %d, ", fb.Number)
	shortest := ""
	for _, words := range []string{
		number + spokenBar(fb, true, true), spokenBar(fb, true, true), spokenBar(fb, true, false), number + spokenBar(fb, false, false), spokenBar(fb, false, false),
	} {
		shortest = words
		if fits(words, in) {
			return sentenceOf(words)
		}
	}
	if roots := spokenRoots(fb); !fits(shortest, in) {
		shortest = roots
	}
	return sentenceOf(shortest)
}

func fits(words string, in time.Duration) bool {
	return float64(len(strings.Fields(words))) <= wordsPerSecond*in.Seconds()
}

func sentenceOf(words string) string { return strings.ToUpper(words[:1]) + words[1:] + "." }

// sameBars reports whether two bars have the same chords and the same line.
func sameBars(a, b *tune.FormBar) bool {
	return a.Meter == b.Meter && reflect.DeepEqual(a.Bar.Chords, b.Bar.Chords) && reflect.DeepEqual(a.Bar.Bass, b.Bar.Bass)
}

// spokenBar says a bar's chords, and under each the degrees of the bass where they are
// wanted, with their directions.
func spokenBar(fb tune.FormBar, degrees, directions bool) string {
	var parts []string
	under := ""
	for i := range fb.Meter.Beats() {
		for _, off := range []bool{false, true} {
			if fb.Bar.ChangesAt(fb.Meter, i+1, off) {
				c, _ := fb.Bar.ChordAt(fb.Meter, i+1, off)
				parts, under = append(parts, c.Spoken()), ": "
			}
			if !degrees || i >= len(fb.Bar.Bass) || off && !fb.Bar.Bass[i].Split {
				continue
			}
			token := fb.Bar.Bass[i].First
			if off {
				token = fb.Bar.Bass[i].Second
			}
			if token.Kind != tune.BassNote || len(parts) == 0 {
				continue
			}
			word := token.Degree.Spoken()
			if directions {
				word = [...]string{"", "up ", "down "}[token.Direction] + word
			}
			parts[len(parts)-1] += under + word
			under = ", "
		}
	}
	return strings.Join(parts, "; ")
}

// spokenRoots says the roots of a bar's chords.
func spokenRoots(fb tune.FormBar) string {
	var roots []string
	for _, c := range fb.Bar.Chords {
		if c.Chord.None {
			roots = append(roots, c.Chord.Spoken())
		} else {
			roots = append(roots, c.Chord.Root.Spoken())
		}
	}
	return strings.Join(roots, ", ")
}

package harmony

import (
	"fmt"
	"strconv"
	"strings"
)

// Rhythm is a figure of one or more bars that is struck on beats and offbeats and
// then comes again.
type Rhythm struct {
	Meter Meter
	// Bars has the half beats struck in each bar, from 0, in order.
	Bars [][]int
}

// ParseRhythm reads a rhythm as players count it: beats such as "1 2+", bars split
// by a bar line, as in "1 2+ | 1+ 4+". Commas may stand between beats, and "2&",
// "2 and" for "2+". The error says what of it cannot be read.
func ParseRhythm(m Meter, s string) (Rhythm, error) {
	r := Rhythm{Meter: m}
	for bar := range strings.SplitSeq(s, "|") {
		bar = strings.NewReplacer(",", " ", "&", "+", "and", "+").Replace(strings.ToLower(bar))
		var struck []int
		for _, word := range strings.Fields(strings.ReplaceAll(bar, " +", "+")) {
			count, off := strings.CutSuffix(word, "+")
			beat, err := strconv.Atoi(count)
			if err != nil || beat < 1 || beat > m.Beats() {
				return r, fmt.Errorf("%q is no beat of %s: write 1 to %d, with a + for the offbeat after it, such as 1 2+", word, m, m.Beats())
			}
			half := HalfOf(beat, off)
			if n := len(struck); n > 0 && half <= struck[n-1] {
				return r, fmt.Errorf("%q does not come after the beat before it: write the beats of a bar in order, such as 1 2+", word)
			}
			struck = append(struck, half)
		}
		r.Bars = append(r.Bars, struck)
	}
	return r, nil
}

// String writes the rhythm so that ParseRhythm reads it: "1 2+ | 1+ 4+".
func (r Rhythm) String() string {
	bars := make([]string, len(r.Bars))
	for i, struck := range r.Bars {
		words := make([]string, len(struck))
		for k, half := range struck {
			beat, off := BeatOf(half)
			words[k] = strconv.Itoa(beat)
			if off {
				words[k] += "+"
			}
		}
		bars[i] = strings.Join(words, " ")
	}
	return strings.Join(bars, " | ")
}

// Swings reports whether anything is struck on an offbeat, so that the swing ratio
// is heard.
func (r Rhythm) Swings() bool {
	for _, struck := range r.Bars {
		for _, half := range struck {
			if half%2 == 1 {
				return true
			}
		}
	}
	return false
}

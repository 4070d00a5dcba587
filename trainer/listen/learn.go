package listen

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// FewestTaps is how many notes a delay or a string is learned from at least.
const FewestTaps = 4

// LearnDelay learns how late an input is from notes that were played along with
// a click: taps and beats are times on one clock, in order. Each tap goes with
// the nearest beat, each beat with the nearest of its taps. What is
// learned holds the player's own mean lead or lag, which cannot be told from the
// input's; Spread says how steady both were. A delay of half a beat or more
// cannot be told from a tap on the next beat.
func LearnDelay(taps, beats []time.Duration) (Delay, error) {
	late := offsets(taps, beats)
	if len(late) < FewestTaps {
		return Delay{}, fmt.Errorf("%d notes came with the click; play at least %d", len(late), FewestTaps)
	}
	slices.Sort(late)
	n := len(late)
	median := (late[(n-1)/2] + late[n/2]) / 2
	var mean, sum float64
	for _, d := range late {
		mean += float64(d) / float64(n)
	}
	for _, d := range late {
		sum += (float64(d) - mean) * (float64(d) - mean)
	}
	return Delay{Median: median, Spread: time.Duration(math.Round(math.Sqrt(sum / float64(n)))), Taps: n}, nil
}

// offsets returns how late the tap nearest to each beat is, for beats that have
// one.
func offsets(taps, beats []time.Duration) []time.Duration {
	if len(beats) == 0 {
		return nil
	}
	best := map[int]time.Duration{}
	for _, tap := range taps {
		i, _ := slices.BinarySearch(beats, tap)
		if i == len(beats) || i > 0 && tap-beats[i-1] <= beats[i]-tap {
			i--
		}
		d := tap - beats[i]
		if old, ok := best[i]; !ok || d.Abs() < old.Abs() {
			best[i] = d
		}
	}
	late := make([]time.Duration, 0, len(best))
	for _, d := range best {
		late = append(late, d)
	}
	return late
}

// LearnString learns a string's channel, transposition and delay from notes as
// an input without calibration hands them on, while the open string of that
// MIDI number was plucked along with a click. The error says what came instead.
func LearnString(str, open int, notes []Note, beats []time.Duration) (StringCalibration, error) {
	var struck []Note
	for _, n := range notes {
		if n.On {
			struck = append(struck, n)
		}
	}
	if len(struck) < FewestTaps {
		return StringCalibration{}, fmt.Errorf("string %d: %d notes came; pluck it at least %d times", str, len(struck), FewestTaps)
	}
	channel, share := mostCommon(struck, func(n Note) int { return n.Channel })
	if 3*share < 2*len(struck) {
		return StringCalibration{}, fmt.Errorf("string %d: notes came on several channels; pluck this string alone", str)
	}
	struck = slices.DeleteFunc(struck, func(n Note) bool { return n.Channel != channel })
	midi, share := mostCommon(struck, func(n Note) int { return n.MIDI })
	if 3*share < 2*len(struck) {
		return StringCalibration{}, fmt.Errorf("string %d: several pitches came; pluck the open string alone", str)
	}
	var taps []time.Duration
	for _, n := range struck {
		if n.MIDI == midi {
			taps = append(taps, n.At)
		}
	}
	delay, err := LearnDelay(taps, beats)
	if err != nil {
		return StringCalibration{}, fmt.Errorf("string %d: %w", str, err)
	}
	return StringCalibration{String: str, Channel: channel, Transpose: midi - open, Delay: &delay}, nil
}

// mostCommon returns the value that most notes have, the lowest of equals, and
// how many have it.
func mostCommon(notes []Note, of func(Note) int) (value, count int) {
	counts := map[int]int{}
	for _, n := range notes {
		counts[of(n)]++
	}
	for v, c := range counts {
		if c > count || c == count && v < value {
			value, count = v, c
		}
	}
	return value, count
}

// FromStrings puts together what was learned of each string. The port's own
// delay, for notes of no known string, is the median of theirs.
func FromStrings(learned []StringCalibration) Calibration {
	c := Calibration{Strings: slices.Clone(learned)}
	slices.SortFunc(c.Strings, func(a, b StringCalibration) int { return cmp.Compare(b.String, a.String) })
	var medians, spreads []time.Duration
	for _, s := range learned {
		if s.Delay != nil {
			medians, spreads = append(medians, s.Delay.Median), append(spreads, s.Delay.Spread)
			c.Delay.Taps += s.Delay.Taps
		}
	}
	if n := len(medians); n > 0 {
		slices.Sort(medians)
		slices.Sort(spreads)
		c.Delay.Median, c.Delay.Spread = (medians[(n-1)/2]+medians[n/2])/2, spreads[n/2]
	}
	return c
}

// StringsKnown says whether notes can be told apart by string: at least two
// strings were learned and none shares its channel.
func (c Calibration) StringsKnown() bool {
	channels := map[int]bool{}
	for _, s := range c.Strings {
		if channels[s.Channel] {
			return false
		}
		channels[s.Channel] = true
	}
	return len(channels) > 1
}

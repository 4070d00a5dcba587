package walk

import "footfall/harmony/tune"

// Hand is what composing and criticism know of the player's hand. The zero Hand
// reaches everything.
type Hand struct {
	// ShiftMM returns the least distance in millimetres that the hand travels
	// along the neck between two MIDI note numbers.
	ShiftMM func(from, to int) float64
	// SpeedMM is how far the hand travels in a second, in millimetres.
	SpeedMM float64
}

// DefaultSpeedMM is 500 mm a second: seven frets from the nut in two fifths of
// one (common practice, no source; none was found, so it is a setting).
const DefaultSpeedMM = 500

// pace turns beats of a tune into seconds.
type pace struct{ secondsPerHalf float64 }

func paceOf(t *tune.Tune) pace {
	return pace{t.Meter.BeatQuarters() * 60 / t.Tempo / 2}
}

// late reports whether the hand cannot be at a note in time, so many half beats
// after the note before.
func (h Hand) late(from, to, halves int, p pace) bool {
	if h.ShiftMM == nil || h.SpeedMM <= 0 {
		return false
	}
	return h.ShiftMM(from, to) > h.SpeedMM*float64(halves)*p.secondsPerHalf
}

// within returns the hand with its distances worked out once for all pitches of
// a range.
func (h Hand) within(low, high int) Hand {
	if h.ShiftMM == nil {
		return h
	}
	n := high - low + 1
	mm := make([]float64, n*n)
	for a := range n {
		for b := range n {
			mm[a*n+b] = h.ShiftMM(low+a, low+b)
		}
	}
	h.ShiftMM = func(from, to int) float64 { return mm[(from-low)*n+to-low] }
	return h
}

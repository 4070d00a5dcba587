package walk

import "footfall/harmony/tune"

// Hand is what composing and criticism know of the player's hand. The zero Hand
// reaches everything.
type Hand struct {
	// ShiftMM returns the least distance in millimetres that the hand shifts
	// along the neck between two MIDI note numbers.
	ShiftMM func(from, to int) float64
	// SpeedMM is how far the hand shifts in a second, in millimetres, on top of
	// StartMM, which takes no time worth counting.
	SpeedMM, StartMM float64
}

// DefaultStartMM and DefaultSpeedMM are 20 mm and 200 mm a second of the time
// between two notes (common practice, no source).
const (
	DefaultStartMM = 20
	DefaultSpeedMM = 200
)

// pace turns beats of a tune into seconds.
type pace struct{ secondsPerHalf float64 }

func paceOf(t *tune.Tune) pace {
	return pace{t.Meter.BeatQuarters() * 60 / t.Tempo / 2}
}

// most is how far the hand shifts in some seconds, in millimetres.
func (h Hand) most(seconds float64) float64 { return h.StartMM + h.SpeedMM*seconds }

// late reports whether the hand cannot be at a note in time, so many half beats
// after the note before.
func (h Hand) late(from, to, halves int, p pace) bool {
	if h.ShiftMM == nil || h.SpeedMM <= 0 {
		return false
	}
	return h.ShiftMM(from, to) > h.most(float64(halves)*p.secondsPerHalf)
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
	far := h.ShiftMM
	h.ShiftMM = func(from, to int) float64 {
		if min(from, to) < low || max(from, to) > high {
			return far(from, to)
		}
		return mm[(from-low)*n+to-low]
	}
	return h
}

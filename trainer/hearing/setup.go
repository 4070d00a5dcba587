package hearing

import (
	"fmt"
	"math"
	"slices"
)

// SetupSeconds is how long a set-up listens: a moment of silence, then any notes.
const SetupSeconds = 5.0

// Room is what a set-up learned of an input. Levels are in dB of full scale.
type Room struct {
	// Noise is the level of the room between the notes.
	Noise float64 `json:"noise_db"`
	// Level is that of the plucks, and Peak the highest sample's.
	Level float64 `json:"level_db"`
	Peak  float64 `json:"peak_db"`
	// Clipped counts the samples at full scale.
	Clipped int `json:"clipped"`
	// Tuning is how many cents the guitar lies above A4 = 440 Hz, over −50 to
	// 50, by the median of Notes notes; 0 where there were too few.
	Tuning float64 `json:"tuning_cents"`
	Notes  int     `json:"notes"`
}

// String says what was learned.
func (r Room) String() string {
	return fmt.Sprintf("Noise %.0f dB, notes %.0f dB, tuned %+.0f cents by %d notes.", r.Noise, r.Level, r.Tuning, r.Notes)
}

// fewest notes that a tuning is learned from.
const fewest = 3

// Fault says in a sentence what is wrong with the input and what would do, ""
// for nothing.
func (r Room) Fault() string {
	switch {
	case r.Peak < -70:
		return "Nothing comes in: check that this is the right input and that it is not muted."
	case r.Clipped > 2:
		return "The input is too loud and clips: turn it down until the peaks stay below −3 dB."
	case r.Notes == 0:
		return "No note was heard: play a few notes on the low strings."
	case r.Level-r.Noise < 20:
		return "The room is too loud against the guitar: come closer to the microphone, or turn down what hums."
	case r.Level < -50:
		return "The guitar is very soft: turn the input up."
	}
	return ""
}

// Setup learns a Room from the first SetupSeconds of a stream.
type Setup struct {
	analyser *Analyser
	rate     int
	left     int
	levels   []float64 // of stretches of 20 ms, mean squares
	sum      float64
	count    int
	peak     float64
	clipped  int
	events   []Event
	cents    []float64
	plucks   []float64
}

// NewSetup returns a set-up for a sampling rate in Hz.
func NewSetup(rate int) (*Setup, error) {
	a, err := New(rate)
	if err != nil {
		return nil, err
	}
	return &Setup{analyser: a, rate: rate, left: int(SetupSeconds * float64(rate)), levels: make([]float64, 0, 256)}, nil
}

// Push takes the next block and reports whether enough has been heard.
func (s *Setup) Push(block []float32) (done bool) {
	block = block[:min(len(block), s.left)]
	s.left -= len(block)
	for _, v := range block {
		x := math.Abs(float64(v))
		s.peak = math.Max(s.peak, x)
		if x >= 0.999 {
			s.clipped++
		}
		s.sum += x * x
		if s.count++; s.count == s.rate/50 {
			s.levels = append(s.levels, s.sum/float64(s.count))
			s.sum, s.count = 0, 0
		}
	}
	s.events = s.analyser.Push(block, s.events[:0])
	s.note()
	return s.left == 0
}

func (s *Setup) note() {
	for _, e := range s.events {
		if e.Kind == Ended && e.Note.Part == Bass && e.Note.Confidence >= tellAt {
			if e.Note.ring {
				s.cents = append(s.cents, e.Note.Cents)
			}
			s.plucks = append(s.plucks, e.Note.Level)
		}
	}
}

// Room returns what was learned so far.
func (s *Setup) Room() Room {
	s.events = s.analyser.Flush(s.events[:0])
	s.note()
	r := Room{Clipped: s.clipped, Peak: decibels(s.peak * s.peak), Notes: len(s.cents), Noise: -120, Level: -120}
	if len(s.levels) > 0 {
		slices.Sort(s.levels)
		r.Noise = decibels(s.levels[len(s.levels)/20])
	}
	if len(s.plucks) > 0 {
		r.Level = median(s.plucks)
	}
	if len(s.cents) >= fewest {
		r.Tuning = median(s.cents)
	}
	return r
}

// Learn makes the analyser expect the room that a set-up learned.
func (a *Analyser) Learn(r Room) {
	a.gate = math.Max(leastLevel, r.Noise+gateMargin)
	a.tuneTo(math.Round(20*r.Tuning/100) / 20)
}

const (
	// leastLevel is below what any input gives for a note, in dB of full scale.
	leastLevel = -75
	// gateMargin is how far above the noise a pluck must lie, in dB.
	gateMargin = 6
)

// decibels of a mean square against full scale.
func decibels(power float64) float64 { return 10 * math.Log10(power+1e-12) }

func median(x []float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return (x[len(x)/2] + x[(len(x)-1)/2]) / 2
}

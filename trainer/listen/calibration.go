package listen

import (
	"time"

	"footfall/trainer/hearing"
)

// Calibration is what was learned of a port: which channel is which string,
// what it transposes, and how late it is. The zero value changes nothing.
type Calibration struct {
	// Strings holds what was learned of each string, in any order.
	Strings []StringCalibration `json:"strings,omitempty"`
	// Delay is how late notes arrive on strings that have no delay of their own.
	Delay Delay `json:"delay"`
	// Room is what a set-up learned of a microphone, nil for any other port.
	Room *hearing.Room `json:"room,omitempty"`
}

// StringCalibration is what was learned of one string.
type StringCalibration struct {
	String  int `json:"string"`
	Channel int `json:"channel"`
	// Transpose is how many semitones too high the port reports it.
	Transpose int `json:"transpose"`
	// Delay is how late notes of this string arrive, nil if only the port's
	// delay is known.
	Delay *Delay `json:"delay,omitempty"`
}

// Delay is a constant lateness and how much it varies.
type Delay struct {
	// Median is the constant part; Spread is the standard deviation about the
	// mean. Both are of Taps taps.
	Median time.Duration `json:"median_ns"`
	Spread time.Duration `json:"spread_ns"`
	Taps   int           `json:"taps"`
}

// Apply returns the note as it was played: its string told from its channel
// where just one string has that channel, the transposition undone, the delay
// taken off.
func (c Calibration) Apply(n Note) Note {
	var of *StringCalibration
	shared := false
	for i := range c.Strings {
		if c.Strings[i].Channel != n.Channel {
			continue
		}
		shared = of != nil
		if shared {
			break
		}
		of = &c.Strings[i]
	}
	delay := c.Delay.Median
	if of != nil && n.Channel != 0 {
		n.MIDI = min(max(n.MIDI-of.Transpose, 0), 127)
		if !shared {
			n.String = of.String
			if of.Delay != nil {
				delay = of.Delay.Median
			}
		}
	}
	n.At -= delay
	return n
}

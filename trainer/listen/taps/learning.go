package taps

import (
	"fmt"
	"time"

	"footfall/harmony"
	"footfall/trainer/listen"
)

// The click of a calibration: two bars of four at an easy tempo. Common practice,
// no source.
const (
	UsualTempo = 90
	UsualBars  = 2
)

// Learning is a calibration under way: it asks for one thing after the other and
// takes a round of each. Nothing is kept by it.
type Learning struct {
	// open gives the MIDI number of an open string; strings is how many are to be
	// learned, 0 where it is the delay alone.
	open    func(str int) int
	strings int
	before  listen.Calibration
	learned []listen.StringCalibration
	delay   *listen.Delay
}

// LearnStrings learns channel, transposition and delay of each of so many strings,
// the lowest first. before is what was known of the port.
func LearnStrings(open func(str int) int, strings int, before listen.Calibration) *Learning {
	return &Learning{open: open, strings: strings, before: before}
}

// LearnDelay learns the delay alone, from any notes. before is what was known of
// the port: its strings stay as they are, and the delay holds for all of them.
func LearnDelay(before listen.Calibration) *Learning { return &Learning{before: before} }

// Steps returns how many rounds there are, and how many of them were taken.
func (l *Learning) Steps() (taken, all int) {
	if l.strings > 0 {
		return len(l.learned), l.strings
	}
	if l.delay != nil {
		return 1, 1
	}
	return 0, 1
}

// Finished reports whether everything was learned.
func (l *Learning) Finished() bool {
	taken, all := l.Steps()
	return taken == all
}

// Ask says what to play in the next round; "" after the last.
func (l *Learning) Ask() string {
	switch {
	case l.Finished():
		return ""
	case l.strings == 0:
		return "Play any note with each click."
	}
	str := l.strings - len(l.learned)
	return fmt.Sprintf("String %d, open (%s): pluck it with each click.", str, harmony.FlatName(l.open(str)))
}

// Take learns from a round of what was asked. The error says what came instead;
// the same is then asked again.
func (l *Learning) Take(r Round) error {
	if l.strings > 0 {
		str := l.strings - len(l.learned)
		s, err := listen.LearnString(str, l.open(str), r.Notes, r.Beats)
		if err == nil {
			l.learned = append(l.learned, s)
		}
		return err
	}
	var taken []time.Duration
	for _, n := range r.Notes {
		if n.On {
			taken = append(taken, n.At)
		}
	}
	d, err := listen.LearnDelay(taken, r.Beats)
	if err == nil {
		l.delay = &d
	}
	return err
}

// Learned returns what is known of the port after the last round.
func (l *Learning) Learned() listen.Calibration {
	c := l.before
	if l.strings > 0 {
		of := listen.FromStrings(l.learned)
		c.Strings, c.Delay = of.Strings, of.Delay
		return c
	}
	c.Delay = *l.delay
	c.Strings = nil
	for _, s := range l.before.Strings {
		s.Delay = nil // the one that was just learned holds for all
		c.Strings = append(c.Strings, s)
	}
	return c
}

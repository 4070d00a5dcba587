package command

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
)

// What --calibrate may be given.
const (
	calibrateStrings = "strings"
	calibrateDelay   = "delay"
)

// Calibration taps: two bars of four at an easy tempo. Common practice, no
// source.
const (
	calibrateTempo = 90
	calibrateBars  = 2
)

// learn calibrates: it asks in whole lines, so that it can be answered by a
// script and heard by a screen reader.
func (l *listening) learn() error {
	epoch := time.Now()
	in, err := listen.Open(l.port, listen.Options{Now: func() time.Duration { return time.Since(epoch) }})
	if err != nil {
		return badInput(err)
	}
	defer in.Close()
	ask := bufio.NewScanner(l.cmd.InOrStdin())
	l.say("Calibrating %s. A click counts four, then goes on for %d beats: play on each of them.", l.port, 4*l.bars)
	var c listen.Calibration
	if l.calibrate == calibrateDelay {
		if c, err = l.store.Calibration(l.port); err == nil {
			c.Delay, err = l.learnDelay(in, epoch, ask)
		}
		for i := range c.Strings {
			c.Strings[i].Delay = nil // the one that was just learned holds for all
		}
	} else {
		c, err = l.learnStrings(in, epoch, ask)
	}
	if err != nil {
		return err
	}
	if err := errors.Join(l.store.Learn(l.port, c), l.store.Use(l.port)); err != nil {
		return err
	}
	if l.json {
		return json.NewEncoder(l.cmd.OutOrStdout()).Encode(c)
	}
	for _, s := range c.Strings {
		if s.Delay != nil {
			l.say("String %d: channel %d, transposed by %+d, delay %.1f ms, spread %.1f ms.", s.String, s.Channel, s.Transpose, inMS(s.Delay.Median), inMS(s.Delay.Spread))
		}
	}
	l.say("Delay of the port: %.1f ms, spread %.1f ms.", inMS(c.Delay.Median), inMS(c.Delay.Spread))
	if l.calibrate == calibrateStrings && !c.StringsKnown() {
		l.say("All strings come on one channel: which string is played cannot be told, and nothing will be said of it.")
	}
	l.say("Kept for %s.", l.port)
	return nil
}

// errUnfinished is returned where the player stops before the end.
var errUnfinished = errors.New("the calibration was not finished; nothing was kept")

func (l *listening) learnDelay(in listen.Input, epoch time.Time, ask *bufio.Scanner) (listen.Delay, error) {
	for {
		if err := l.ready("Play any note with each click.", ask); err != nil {
			return listen.Delay{}, err
		}
		round, err := l.round(in, epoch)
		if err != nil {
			return listen.Delay{}, err
		}
		var taken []time.Duration
		for _, n := range round.Notes {
			if n.On {
				taken = append(taken, n.At)
			}
		}
		delay, err := listen.LearnDelay(taken, round.Beats)
		if err == nil {
			return delay, nil
		}
		l.say("%s. %v. Once more.", in.Status().Line, err)
	}
}

func (l *listening) learnStrings(in listen.Input, epoch time.Time, ask *bufio.Scanner) (listen.Calibration, error) {
	neck, _ := l.settings.Instrument()
	tuning := neck.Tuning
	var learned []listen.StringCalibration
	for str := len(tuning); str >= 1; {
		prompt := fmt.Sprintf("String %d, open (%s): pluck it with each click.", str, pitchName(tuning.Open(str)))
		if err := l.ready(prompt, ask); err != nil {
			return listen.Calibration{}, err
		}
		round, err := l.round(in, epoch)
		if err != nil {
			return listen.Calibration{}, err
		}
		s, err := listen.LearnString(str, tuning.Open(str), round.Notes, round.Beats)
		if err != nil {
			l.say("%s. %v. Once more.", in.Status().Line, err)
			continue
		}
		learned = append(learned, s)
		str--
	}
	return listen.FromStrings(learned), nil
}

// ready waits for the player.
func (l *listening) ready(prompt string, ask *bufio.Scanner) error {
	l.say("%s Press enter to begin, or type q to stop.", prompt)
	if !ask.Scan() {
		return errors.Join(errUnfinished, ask.Err())
	}
	if strings.EqualFold(strings.TrimSpace(ask.Text()), "q") {
		return errUnfinished
	}
	return nil
}

func (l *listening) round(in listen.Input, epoch time.Time) (taps.Round, error) {
	ctx, stop := context.WithCancel(l.cmd.Context())
	defer stop()
	return taps.Play(ctx, in, taps.Options{
		Epoch: epoch, Tempo: l.tempo, Bars: l.bars, Sound: l.sound,
		Beat: func(beat int) {
			switch {
			case beat <= 0:
				l.say("  count %d", beat+4)
			default:
				l.say("  beat %d", beat)
			}
		},
	})
}

// say speaks to the player: on standard error where standard output is JSON.
func (l *listening) say(format string, args ...any) {
	var out io.Writer = l.cmd.OutOrStdout()
	if l.json {
		out = l.cmd.ErrOrStderr()
	}
	fmt.Fprintf(out, format+"\n", args...)
}

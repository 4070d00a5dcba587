package command

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
)

// What --calibrate may be given.
const (
	calibrateStrings = "strings"
	calibrateDelay   = "delay"
)

// learn calibrates: it asks in whole lines, so that it can be answered by a
// script and heard by a screen reader.
func (l *listening) learn() error {
	epoch := clock.Now()
	in, err := listen.Open(l.port, listen.Options{Now: func() time.Duration { return clock.Since(epoch) }})
	if err != nil {
		return badInput(err)
	}
	defer in.Close()
	ask := bufio.NewScanner(l.cmd.InOrStdin())
	l.say("Calibrating %s. A click counts four, then goes on for %d beats: play on each of them.", l.port, 4*l.bars)
	before, err := l.store.Calibration(l.port)
	if err != nil {
		return err
	}
	neck, _ := l.settings.Instrument()
	learning := taps.LearnStrings(neck.Tuning.Open, len(neck.Tuning), before)
	if l.calibrate == calibrateDelay {
		learning = taps.LearnDelay(before)
	}
	for !learning.Finished() {
		if err := l.ready(learning.Ask(), ask); err != nil {
			return err
		}
		round, err := l.round(in, epoch)
		if err != nil {
			return err
		}
		if err := learning.Take(round); err != nil {
			l.say("%s. %v. Once more.", in.Status().Line, err)
		}
	}
	c := learning.Learned()
	if err := errors.Join(l.store.Learn(l.port, c), l.store.Use(l.port)); err != nil {
		return err
	}
	if l.json {
		return json.NewEncoder(l.cmd.OutOrStdout()).Encode(c)
	}
	for _, line := range c.Report() {
		l.say("%s", line)
	}
	l.say("Kept for %s.", l.port)
	return nil
}

// errUnfinished is returned where the player stops before the end.
var errUnfinished = errors.New("the calibration was not finished; nothing was kept")

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
	out := l.cmd.OutOrStdout()
	if l.json {
		out = l.cmd.ErrOrStderr()
	}
	fmt.Fprintf(out, format+"\n", args...)
}

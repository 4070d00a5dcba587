// Package taps plays a click and gathers what is played along with it, on one
// clock: the material that a calibration learns from.
//
// It knows the sound and the inputs. It must never know screens: what to ask
// and what to keep is for them to say.
package taps

import (
	"context"
	"errors"
	"fmt"
	"time"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// Options say how a round goes.
type Options struct {
	// Epoch is the moment at which the input's clock (listen.Options.Now) was 0.
	Epoch time.Time
	// Tempo is in beats a minute, 30 to 300.
	Tempo float64
	// Bars is how many bars of four beats are tapped, after one that is counted
	// in.
	Bars int
	// Sound is how the click is opened.
	Sound sound.Options
	// Beat, if not nil, is told of each beat as it is heard: −3 to 0 in the
	// count-in, then from 1.
	Beat func(beat int)
}

// Round is what was played along with a click. The notes' times and the beats
// are on the clock of the sound that is heard, as in play-along.
type Round struct {
	Notes []listen.Note
	Beats []time.Duration
	// Silent is a line that says why the click could not be heard, "" where it
	// could.
	Silent string
}

// Play plays one round and returns after its last beat has passed. Notes from
// before the click are let go. The error is the context's, one of the options',
// or that the input was closed.
func Play(ctx context.Context, in listen.Input, o Options) (Round, error) {
	if o.Bars < 1 {
		return Round{}, fmt.Errorf("%d bars of click: give at least 1", o.Bars)
	}
	score := &playing.Score{Tempo: o.Tempo, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}}, Bars: make([]playing.Bar, o.Bars)}
	for i := range score.Bars {
		score.Bars[i].Meter = tune.Meter{Upper: 4, Lower: 4}
	}
	player, err := sound.Open(score, o.Sound)
	if err != nil {
		return Round{}, err
	}
	defer player.Close()
	var round Round
	if err := errors.Join(player.SetCourse(sound.Course{CountIn: 1, Passes: 1}), player.Play()); err != nil {
		return Round{}, err
	}
	for len(in.Notes()) > 0 {
		<-in.Notes()
	}
	half := time.Duration(float64(30*time.Second) / o.Tempo) // half a beat
	look := time.NewTicker(5 * time.Millisecond)
	defer look.Stop()
	told, end := -4, time.Time{}
	for {
		select {
		case <-ctx.Done():
			return Round{}, ctx.Err()
		case n, ok := <-in.Notes():
			if !ok {
				return Round{}, errors.New("the input was closed")
			}
			n.At = player.When(o.Epoch.Add(n.At)).At.Duration()
			round.Notes = append(round.Notes, n)
		case at := <-look.C:
			now := player.Now()
			if now.State == sound.Finished && end.IsZero() {
				end = at.Add(half) // a late tap of the last beat is still to come
			}
			if !end.IsZero() && at.After(end) {
				round.Beats, round.Silent = beats(player), player.Status()
				return round, nil
			}
			if beat := beatOf(now); beat > told && o.Beat != nil {
				told = beat
				o.Beat(beat)
			}
		}
	}
}

// beatOf numbers the beats: −3 to 0 counted in, then from 1.
func beatOf(now sound.Now) int {
	switch now.State {
	case sound.Counting:
		return now.Beat - 4
	case sound.Playing:
		return (now.Point.Bar-1)*4 + now.Beat
	}
	return -4
}

// beats returns when the beats after the count-in were heard.
func beats(player *sound.Player) (all []time.Duration) {
	bars, _ := player.Since(0)
	for _, b := range bars {
		if b.State != sound.Playing {
			continue
		}
		placed := harmony.Place(b.Bar, b.Start)
		for beat := 1; beat <= b.Bar.Meter.Beats(); beat++ {
			all = append(all, placed.Beat(beat, false).Duration())
		}
	}
	return all
}

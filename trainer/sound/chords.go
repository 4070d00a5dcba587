package sound

import (
	"context"
	"errors"
	"time"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Chords ring for two seconds, neither loud nor soft.
const (
	chordBeats    = 2
	chordTempo    = 60
	chordVelocity = 80
)

// Chords sounds chords one after the other, MIDI note numbers low to high, and
// returns when they are over or the context ends. The error says why nothing is
// heard.
func Chords(ctx context.Context, chords [][]int, o Options) error {
	meter := tune.Meter{Upper: chordBeats, Lower: 4}
	score := &playing.Score{Title: "chords", Tempo: chordTempo, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}}, Strings: playing.MaxStrings}
	for _, chord := range chords {
		bar := playing.Bar{Meter: meter}
		for i, midi := range chord[:min(len(chord), playing.MaxStrings)] {
			part := playing.PartShapes
			if i == 0 {
				part = playing.PartBass
			}
			bar.Notes = append(bar.Notes, playing.Note{Beat: 1, Halves: 2 * chordBeats, Part: part, String: playing.MaxStrings - i, MIDI: midi, Velocity: chordVelocity})
		}
		score.Bars = append(score.Bars, bar)
	}
	p, err := Open(score, o)
	if err != nil {
		return err
	}
	defer p.Close()
	mix := DefaultMix
	mix.MuteClick, mix.ShapesDB, mix.BassDB = true, 0, 0
	if err := errors.Join(p.SetCourse(Course{Passes: 1}), p.SetMix(mix), p.Play()); err != nil {
		return err
	}
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
			if says := p.Status(); says != "" {
				return errors.New(says)
			}
			if p.Now().State == Finished {
				return nil
			}
		}
	}
}

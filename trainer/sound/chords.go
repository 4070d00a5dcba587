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

// Cue is a soft sound that says how an answer went, of strings that are only touched: it
// has no pitch, so that it is no part of what is to be heard after it.
type Cue uint8

// The cues: two quick touches of the highest string for what is right, one of the lowest
// for what is wrong.
const (
	NoCue Cue = iota
	RightCue
	WrongCue
)

// A cue is so much softer than chords, which begin when it is over.
const (
	cueVelocity = 36
	cueApart    = 90 * time.Millisecond
	cueLength   = 350 * time.Millisecond
)

// notes are the touches of a cue, at the beginning of a bar.
func (c Cue) notes() []playing.Note {
	touch := playing.Note{Beat: 1, Halves: 1, Part: playing.PartShapes, Dead: true, Velocity: cueVelocity}
	switch c {
	case RightCue:
		touch.String, touch.MIDI = 1, 64 // E4, the open string in standard tuning
		again := touch
		again.Late = cueApart
		return []playing.Note{touch, again}
	case WrongCue:
		touch.String, touch.MIDI = 6, 40 // E2
		return []playing.Note{touch}
	}
	return nil
}

// chordScore is the music of a cue and of chords after it.
func chordScore(cue Cue, chords [][]int) *playing.Score {
	meter := tune.Meter{Upper: chordBeats, Lower: 4}
	score := &playing.Score{Title: "chords", Tempo: chordTempo, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}}, Strings: playing.MaxStrings}
	for n := range max(1, len(chords)) {
		bar := playing.Bar{Meter: meter}
		late := time.Duration(0)
		if n == 0 && cue != NoCue {
			bar.Notes, late = cue.notes(), cueLength
		}
		if n < len(chords) {
			for i, midi := range chords[n][:min(len(chords[n]), playing.MaxStrings)] {
				part := playing.PartShapes
				if i == 0 {
					part = playing.PartBass
				}
				bar.Notes = append(bar.Notes, playing.Note{Beat: 1, Late: late, Halves: 2 * chordBeats, Part: part, String: playing.MaxStrings - i, MIDI: midi, Velocity: chordVelocity})
			}
		}
		score.Bars = append(score.Bars, bar)
	}
	return score
}

// Chords sounds a cue, and after it chords, one after the other, MIDI note numbers low to
// high, and returns when they are over or the context ends. The error says why nothing is
// heard.
func Chords(ctx context.Context, cue Cue, chords [][]int, o Options) error {
	score := chordScore(cue, chords)
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

package take

import (
	"time"

	"footfall/fretboard"
)

// Settings say how exactly a pass is judged.
type Settings struct {
	// Window is how early or late a note may come and still count.
	Window time.Duration
	// BeatShare limits the window and the spread to a share of a beat, over 0 to
	// 0.5, for fast tempos.
	BeatShare float64
	// Spread is how long after its first note the last note of a strike may
	// come. It never reaches past the next thing that is due.
	Spread time.Duration
	// StrikeShare is the share of a strike's notes, over 0 to 1, that must be
	// heard for it to count as played.
	StrikeShare float64
	// CleanShare is the share of a pass's events that must be matched for it to
	// be clean; no more than the rest may be extra notes.
	CleanShare float64
	// CleanSpread is the greatest spread of a clean pass, as a share of Window.
	CleanSpread float64
}

// DefaultSettings are a window of ±50 ms (mir_eval's for onsets, Raffel et al.
// 2014). The others are common practice, no source: the window no wider than a
// fifth of a beat, which tells above 240 beats a minute; a strummed chord spread
// over up to 60 ms; half of a strike's notes heard; clean at 95 % with a
// spread of no more than half the window.
func DefaultSettings() Settings {
	return Settings{
		Window: 50 * time.Millisecond, BeatShare: 0.2, Spread: 60 * time.Millisecond,
		StrikeShare: 0.5, CleanShare: 0.95, CleanSpread: 0.5,
	}
}

// WindowOf returns how early or late a note may come where a beat lasts so long.
func (s Settings) WindowOf(beat time.Duration) time.Duration { return s.limited(s.Window, beat) }

func (s Settings) limited(d, beat time.Duration) time.Duration {
	if share := time.Duration(s.BeatShare * float64(beat)); s.BeatShare > 0 && share < d {
		return share
	}
	return d
}

// slots lists the windows of the notes, and of the free notes, of what is
// expected and where a fit has it, each in order of their opening. By ear the notes
// of a strike are free, and the strikes themselves have a slot each.
func (s Settings) slots(expected []Expected, al aligned, byEar bool) (notes, free, strikes []slot) {
	until := make([]time.Duration, len(expected)) // from each event to the next later one
	for i := len(expected) - 1; i >= 0; i-- {
		until[i] = s.Spread
		if i+1 < len(expected) {
			gap := al.due[i+1] - al.due[i]
			if gap <= 0 {
				until[i] = until[i+1]
			} else {
				until[i] = min(until[i], gap)
			}
		}
	}
	for i := range expected {
		e := &expected[i]
		if al.skipped[i] {
			continue
		}
		window := s.WindowOf(e.Beat)
		spread := time.Duration(0)
		if len(e.Notes)+len(e.Free) > 1 {
			spread = min(s.limited(s.Spread, e.Beat), until[i])
		}
		due := al.due[i]
		at := slot{event: i, due: due, lo: due - window, hi: due + window + spread}
		asked := &notes
		if byEar && e.Kind == fretboard.ShapeEvent {
			asked = &free
			strikes = append(strikes, at)
		}
		for n, w := range e.Notes {
			at.note, at.want = n, w
			*asked = append(*asked, at)
		}
		at.free = true
		for n, w := range e.Free {
			at.note, at.want = n, w
			free = append(free, at)
		}
	}
	inOrder(notes)
	inOrder(free)
	inOrder(strikes)
	return notes, free, strikes
}

package listen

import (
	"math"
	"time"

	"footfall/trainer/hearing"
)

const (
	// EarRate is what an Ear takes, in samples a second.
	EarRate = 48000
	// clockDrift is how much faster than the clock a sound device may run.
	clockDrift = 200e-6
	// A device or a busy machine loses sound without a word. Where for lossSeen, in samples,
	// no piece came as early as those before, lossLeast was lost at the least.
	lossSeen  = EarRate / 2
	lossLeast = 3 * time.Millisecond
)

// Ear turns captured sound into notes with times on the clock, which it hands to a feed. It
// is for one goroutine.
type Ear struct {
	*hearing.Analyser
	events []hearing.Event
	feed   *Feed
	strums chan<- Strum
	pushed int
	// began is when the first sample was played, on the clock: the earliest that
	// any piece allows, since pieces come late but never early. What is lost makes it later.
	began time.Duration
	// earliest is what the pieces since the last look for a loss, of watched samples, allow.
	earliest time.Duration
	watched  int
	told     map[int]toldNote // by the ID of each note handed on
}

// toldNote is a note as it was handed on.
type toldNote struct {
	midi int
	sure bool
}

// NewEar makes an ear for sound of EarRate, which tells strums where somebody reads them.
func NewEar(feed *Feed, strums chan<- Strum) (*Ear, error) {
	a, err := hearing.New(EarRate)
	if err != nil {
		return nil, err
	}
	return &Ear{Analyser: a, events: make([]hearing.Event, 0, 64), feed: feed, strums: strums, began: -1, told: map[int]toldNote{}}, nil
}

// Hear takes the next piece of sound, full scale −1 to 1, the last sample of which came at a
// time on the feed's clock.
func (s *Ear) Hear(samples []float32, at time.Duration) {
	s.events = s.Push(samples, s.events[:0])
	s.pushed += len(samples)
	length := time.Duration(float64(s.pushed) / EarRate * float64(time.Second))
	piece := time.Duration(float64(len(samples)) / EarRate * float64(time.Second))
	first := at - length
	if s.began < 0 || first < s.began {
		s.began = first
	} else {
		s.began += time.Duration(clockDrift * float64(piece))
	}
	if s.watched == 0 || first < s.earliest {
		s.earliest = first
	}
	if s.watched += len(samples); s.watched >= lossSeen {
		if s.earliest > s.began+lossLeast {
			s.began = s.earliest
		}
		s.watched = 0
	}
	for _, e := range s.events {
		if e.Kind == hearing.Strummed {
			s.strum(e.Strum)
		}
		if e.Note.Part == hearing.Chord {
			continue // told by the strum: a single note of a chord proves nothing
		}
		switch e.Kind {
		case hearing.Surer:
			s.begin(e)
		case hearing.Began, hearing.Revised:
			if e.Note.Confidence >= hearing.SureToTell {
				s.begin(e)
			}
		case hearing.Settled:
			s.begin(e)
		case hearing.Doubted:
			s.begin(e)
			delete(s.told, e.ID) // it has no end
		case hearing.Rang:
			if was, ok := s.told[e.ID]; ok && was.midi == e.Note.MIDI {
				n := noteHeard(e.Note, false)
				n.At, n.Rang, n.Rival = s.began+seconds(e.Note.Onset), true, e.Note.Tied()
				s.feed.Hand(n)
			}
		case hearing.Withdrawn, hearing.Ended:
			s.end(e, e.Note.Onset+e.Note.Duration)
		}
	}
}

func (s *Ear) strum(h hearing.Strum) {
	at := s.feed.calibrated(Note{At: s.began + seconds(h.Onset)}).At
	select {
	case s.strums <- Strum{At: at, Heard: h}:
	default: // nobody reads them
	}
}

// begin hands a note on, and again where it has become another, or sure.
func (s *Ear) begin(e hearing.Event) {
	now := toldNote{e.Note.MIDI, e.Note.Confidence >= Sure}
	was, ok := s.told[e.ID]
	if ok && was.midi == now.midi && (was.sure || !now.sure) {
		return
	}
	if ok && was.midi != now.midi {
		s.end(e, e.Note.Onset)
	}
	s.told[e.ID] = now
	n := noteHeard(e.Note, true)
	n.At += s.began
	s.feed.Hand(n)
}

func (s *Ear) end(e hearing.Event, ended float64) {
	was, ok := s.told[e.ID]
	if !ok {
		return
	}
	delete(s.told, e.ID)
	s.feed.Hand(Note{At: s.began + seconds(ended), MIDI: was.midi, Confidence: e.Note.Confidence})
}

// loudest is the level in dB of full scale that counts as velocity 1, and
// softest as next to 0.
const (
	loudest = -6.0
	softest = -60.0
)

// noteHeard is a note's beginning, or its end, as heard.
func noteHeard(n hearing.Note, on bool) Note {
	out := Note{On: on, MIDI: n.MIDI, Confidence: n.Confidence}
	at := n.Onset
	if on {
		out.Cents, out.Rival, out.Again = n.Cents, n.Tied(), n.Again
		out.Velocity = math.Max(1.0/127, math.Min(1, (n.Level-softest)/(loudest-softest)))
	} else {
		at += n.Duration
	}
	out.At = seconds(at)
	return out
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

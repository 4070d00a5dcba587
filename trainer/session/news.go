package session

import (
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// PlayedOf is a note's beginning as it is graded, its time as stamped.
func PlayedOf(n listen.Note) take.Played {
	p := take.Played{Time: n.At, MIDI: n.MIDI, String: n.String, Doubt: 1 - n.Confidence, Rival: n.Rival, Again: n.Again}
	if n.Channel != 0 { // what an ear hears softly is less sure, and says so by Doubt
		p.Velocity = n.Velocity
	}
	return p
}

// ReplyOf is a note as the answer to a question.
func ReplyOf(n listen.Note) drills.Reply {
	if n.Channel != 0 {
		return drills.Played(memory.MIDI, n.MIDI, n.String)
	}
	r := drills.Played(memory.Microphone, n.MIDI, n.String)
	r.Proof = drills.Early
	if n.Rang {
		r.Proof = drills.Rang
	}
	return r
}

// StrumOf is a strum as it is graded, its time as stamped.
func StrumOf(s listen.Strum) take.Strum {
	return take.Strum{Time: s.At, Hit: func(bass int, notes []int) (take.Verdict, float64) {
		hit, likely := s.Heard.Hit(bass, notes)
		return verdicts[hit], likely
	}, Odd: s.Heard.Odd}
}

var verdicts = map[hearing.Hit]take.Verdict{
	hearing.Heard: take.Matched, hearing.NotSure: take.Unsure, hearing.NotHeard: take.Missed,
}

// transport is what is asked of the sound; a sound.Player is one.
type transport interface {
	// When says what is heard at a moment.
	When(time.Time) sound.Now
	// Since returns the bars played after the first n ever, and the number to ask
	// with next time.
	Since(n uint64) ([]sound.Played, uint64)
}

// Beat is where the music is, told at each beat and offbeat and whenever it
// starts or rests.
type Beat struct {
	Now sound.Now
	// Off is set from the offbeat on.
	Off bool
}

// Marked is a note that was played, or a strum that an ear heard, of which Played
// has the time alone. Extra is true, and Expected, Verdict and Offset mean nothing,
// where nothing asked for it.
type Marked struct {
	Pass     int
	Played   take.Played
	Extra    bool
	Expected take.Expected
	Verdict  take.Verdict
	Offset   time.Duration
	// Stamped is when the input heard it.
	Stamped time.Time
}

// Missed is an event whose time has passed with nothing played for it. Verdict
// is Missed, or NotHeard where the input was away.
type Missed struct {
	Pass     int
	Expected take.Expected
	Verdict  take.Verdict
}

// Followed tells that from now on marks go by where the player was found to be: Shift
// later than asked, early below 0. What was marked before stays as it was told.
type Followed struct {
	Pass  int
	Shift time.Duration
}

// Said is the player's word on a pass by a pedal or a chosen note.
type Said struct {
	Pass  int
	Clean bool
}

// Over is the end of the last pass that was asked for, judged where that waits for
// the player.
type Over struct{}

// begun is a pass that begins with its first bar, ended a run of bars that is over.
type (
	begun struct {
		pass  int
		tempo float64
	}
	ended struct {
		pass int
		// score is nil where nobody listened; times within it are from the start.
		score *take.Score
		// whole is false where the pass was broken off, or begun in its middle: no ramp
		// goes by it.
		whole bool
		// tempo is that of its first bar, in quarter notes a minute, and length how long
		// it lasted.
		tempo  float64
		start  harmony.Instant
		length time.Duration
		layer  fretboard.Layer
		bars   take.Bars
		// free is set where the player made the line up, walk what came of it where
		// somebody listened.
		free bool
		walk *take.FreeTake
	}
)

func (Beat) name() string     { return "beat" }
func (Marked) name() string   { return "marked" }
func (Missed) name() string   { return "missed" }
func (Followed) name() string { return "followed" }
func (Said) name() string     { return "said" }
func (Over) name() string     { return "over" }
func (begun) name() string    { return "begun" }
func (ended) name() string    { return "ended" }

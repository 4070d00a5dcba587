// Package listen hears the player: MIDI ports, raw MIDI device files and named
// pipes, and (in its hearing package) the microphone, all behind one Input that
// hands on notes with a time stamp.
//
// It has side effects and knows devices. It must never know tunes, scores or
// screens: what a note means is for the pure rooms to say.
package listen

import (
	"time"

	"footfall/trainer/hearing"
)

// Note is one note beginning or ending, as an input heard it.
type Note struct {
	// At is when it happened on the clock given in Options, with the calibrated
	// delay already taken off. It never goes back by more than the spread of the
	// delays of the strings.
	At time.Duration
	// On is true where the note begins. A note-on with velocity 0 arrives as its
	// end, as MIDI 1.0 has it.
	On bool
	// MIDI is the note number, 0 to 127 (69 is A4, 440 Hz), with the calibrated
	// transposition undone.
	MIDI int
	// Cents is how far the sound lies from MIDI, −50 to +50; 0 where the input
	// does not measure it.
	Cents float64
	// Channel is the MIDI channel, 1 to 16, or 0 where the input has none.
	Channel int
	// track is which of a file's tracks it stands on, from 0, and tracks how many there are.
	track, tracks int
	// String is the string it was played on, 1 the highest of six, or 0 where
	// the input cannot tell.
	String int
	// Velocity is how hard it was struck, over 0 to 1; 0 for a note's end.
	Velocity float64
	// Confidence is how sure the input is that there was this note, over 0 to 1;
	// MIDI is always 1.
	Confidence float64
	// Rang is set, and On is not, where a note told before has rung on for a quarter of a
	// second, as only a plucked string does. An input that is told of each note, as MIDI
	// is, has nothing to prove and never says so.
	Rang bool
	// Rival is the MIDI number that the sound may as well be, 0 where one stands out.
	Rival int
	// Again is the chance that an unsure note of an ear is the one before struck again, 0
	// to 1.
	Again float64

	// pedal is set where it is no note but a step on a pedal.
	pedal bool
}

// Unsure says whether a note alone proves nothing.
func (n Note) Unsure() bool { return n.Confidence < Sure || n.Rival != 0 }

// Sure is the least Confidence of a note that proves something. Less is shown as
// unsure and costs nothing.
const Sure = 0.5

// Strum is what an input that listens to sound heard above the bass at one
// pluck. At is as that of a Note.
type Strum struct {
	At    time.Duration
	Heard hearing.Strum
}

const (
	// StrumBacklog is how many strums an Input keeps for a reader that is busy.
	StrumBacklog = 256
	// EarLag is how long after a pluck an input that listens to sound may take to
	// tell of it: 200 ms of sound are heard before the last word, and a device
	// hands it on in pieces.
	EarLag = 300 * time.Millisecond
)

// Span is a stretch of time on the clock given in Options, from its beginning
// up to but not including its end.
type Span struct{ From, To time.Duration }

// State says whether an input is there.
type State uint8

// The states of an input.
const (
	// Waiting: the port is missing, busy or has no writer; it is tried again
	// until it is there.
	Waiting State = iota
	// Hearing: notes played now are heard.
	Hearing
	// Closed: Close was called; nothing more will be heard.
	Closed
)

// Status is how an input is doing, in a line for the player.
type Status struct {
	State State
	// Line says the state in plain words, with the reason where it waits.
	Line string
	// Messages counts the notes handed on since the input was opened.
	Messages uint64
	// Dropped counts notes lost because Notes was not read for so long that
	// its Backlog was full.
	Dropped uint64
	// Broken counts bytes or messages that made no sense and were passed over.
	Broken uint64
}

// Backlog is how many notes an Input keeps for a reader that is busy: over
// eight seconds at 1,000 messages a second.
const Backlog = 8192

// Input is one source of notes. Every method may be called from any goroutine.
//
// Opening never fails because a device is missing, and a device that goes away
// never ends an Input: it waits, says so in Status, and goes on by itself when
// the device is back.
type Input interface {
	// Name is the port's name as the player picked it; it does not change.
	Name() string

	// Notes returns the channel on which notes come, the same at each call.
	// A receive returns in one of three ways:
	//   - a note, in the order the device sent them;
	//   - nothing: it blocks while the player is silent or the device away, for
	//     as long as that lasts;
	//   - the zero Note and false, after Close, once what was heard has been read.
	// The input never waits for its reader: beyond Backlog unread notes the
	// newest are dropped and counted in Status.
	Notes() <-chan Note

	// Strums returns the channel on which an input that listens to sound tells what
	// it heard above the bass, the same at each call; Notes tells the bass alone
	// then. It is nil for an input that is told of each note, as MIDI is. It is not
	// closed, and what comes beyond StrumBacklog unread ones is let go.
	Strums() <-chan Strum

	// Status says how the input is doing now. It never blocks.
	Status() Status

	// Absent returns the spans within from and to, in order and clipped to them,
	// in which the input could not hear: nothing that was or was not
	// played then is known. It returns nil where it heard all along. A span
	// that still lasts ends at to. The last AbsencesKept are remembered.
	Absent(from, to time.Duration) []Span

	// Later takes the input to be so much later than was known, early below 0: notes and
	// strums that come from now on are stamped so much earlier. It never blocks.
	Later(by time.Duration)

	// Close lets the device go, ends Notes and is safe to call again. It returns
	// within a second, with an error only if the device refused to close.
	Close() error
}

// AbsencesKept is how many absences an Input remembers for Absent.
const AbsencesKept = 1024

// Options are what opening an input needs to be told.
type Options struct {
	// Now is the clock that stamps notes: monotonic, shared with whatever the
	// notes are compared with. nil counts from the opening.
	Now func() time.Duration
	// Calibration is what is known of the port; its zero value changes nothing.
	Calibration Calibration
	// Strings are the notes of the open strings, MIDI numbers, for the tuner of a
	// microphone; nil is no tuner.
	Strings []int
}

package history

import (
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// Sitting is one run of practice, from its start to the last thing done in it.
type Sitting struct {
	// ID is the same on every machine that the history is copied to.
	ID    uuid.UUID
	Began time.Time
	// Last is when the latest answer or take came in, or when the sitting ended.
	Last time.Time
	// Drill and Tune say what was practised; both may be empty.
	Drill, Tune string
}

// Answer is one answered question.
type Answer struct {
	// ID is the same on every machine that the history is copied to. Append
	// makes one where it is zero.
	ID uuid.UUID
	// Sitting names the sitting it was given in.
	Sitting uuid.UUID
	// At is when the answer was given, to the millisecond; Append takes the
	// present where it is zero. Its time zone decides the day it counts to.
	At      time.Time
	Item    memory.Item
	Way     memory.Way
	Verdict memory.Verdict
	// Took is the time from question to first key, to the millisecond.
	Took time.Duration
	// Grade is what the memory model was told; Append works it out where it is
	// zero.
	Grade memory.Grade
	// Place is where on the neck the question was, the zero Place where it was
	// nowhere.
	Place fretboard.Place
	// Given is the answer as the player gave it.
	Given string
}

// Take is one finished pass of a passage and how it went.
type Take struct {
	// ID is the same on every machine that the history is copied to. AppendTake makes
	// one where it is zero.
	ID      uuid.UUID
	Sitting uuid.UUID
	At      time.Time
	// Item is the passage: tune, section, layer.
	Item memory.Item
	Way  memory.Way
	// Tempo is in quarter notes a minute.
	Tempo float64
	// Length is how long the pass lasted, to the millisecond.
	Length time.Duration
	// Expected, Matched, Missed, Extra and Wrong count notes.
	Expected, Matched, Missed, Extra, Wrong int
	// Mean and Spread are the mean and standard deviation of the matched notes'
	// offsets, late being positive, to the microsecond.
	Mean, Spread time.Duration
	// Judged says that somebody or something has judged the pass, Clean that it then
	// counts as clean for the ramp. Grade is 0 until it is judged.
	Judged, Clean bool
	Grade         memory.Grade
	// Ramp is the ramp after this pass, as drills/ramp writes it, "" if none.
	Ramp   string
	Events []TakeEvent
}

// Named is the verdict of a bar that a player named as what held a pass back. Of such an event
// nothing but the bar is known.
const Named = "named"

// TakeEvent is one thing expected, or played, in a take.
type TakeEvent struct {
	Bar, Beat int
	Off       bool
	// Place is where it was expected, MIDI the note played or expected.
	Place fretboard.Place
	MIDI  int
	// Verdict is "matched", "missed", "extra" or "wrong", or Named.
	Verdict string
	// Offset is late if positive, to the microsecond.
	Offset time.Duration
}

// itemKeys reads keys, each once.
type itemKeys map[string]memory.Item

func (k itemKeys) read(key string) (memory.Item, error) { return k.through(key, key) }

// upgrade reads a key of any version.
func (k itemKeys) upgrade(key string) (memory.Item, error) {
	if it, known := k[key]; known {
		return it, nil
	}
	return k.through(key, upgraded(key))
}

func (k itemKeys) through(key, now string) (memory.Item, error) {
	it, known := k[key]
	if known {
		return it, nil
	}
	it, err := memory.ParseKey(now)
	if err == nil {
		k[key] = it
	}
	return it, err
}

// groupsOf are the groups of answer times that an answer belongs to: its kind, and,
// where this program knows that, the item's own.
func groupsOf(it memory.Item) []string {
	if group := it.Group(); group != "" {
		return []string{string(it.Kind), group}
	}
	return []string{string(it.Kind)}
}

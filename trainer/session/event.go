package session

import (
	"bytes"
	"encoding/json"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/today"
)

// Event is something that happened in a session. Each marshals to the fields that
// scripts are promised; what else a face of the program shows is left out there.
type Event interface{ name() string }

// Told is an event and when it happened.
type Told struct {
	At    time.Time
	Event Event
}

// MarshalJSON writes the event's name, its moment as RFC 3339 and its fields as one
// object.
func (t Told) MarshalJSON() ([]byte, error) {
	fields, err := marshal(t.Event)
	if err != nil {
		return nil, err
	}
	head, err := marshal(struct {
		Event string    `json:"event"`
		At    time.Time `json:"at"`
	}{t.Event.name(), t.At})
	if err != nil || string(fields) == "{}" {
		return head, err
	}
	return append(append(head[:len(head)-1], ','), fields[1:]...), nil
}

// marshal writes JSON that keeps < and > as they are.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// Plan is the plan of a day.
type Plan struct {
	Steps []today.Step `json:"steps"`
	Plan  today.Plan   `json:"-"`
}

// Step is a step that waits to be started or left out.
type Step struct {
	N    int        `json:"n"`
	Kind today.Kind `json:"kind"`
	// Text is a lesson's, a paragraph each.
	Text []string   `json:"text,omitempty"`
	Step today.Step `json:"-"`
}

// Rest is a break that the day proposes. It waits for nothing.
type Rest struct{ Step today.Step }

// Playing is a play-along that a step opened. Whoever shows it says Next when its
// events have ended, or Leave.
type Playing struct{ PlayAlong *PlayAlong }

// Question waits for its answer.
type Question struct {
	// ID counts what a session asks, from 1.
	ID   int         `json:"id"`
	Item string      `json:"item"`
	Kind memory.Kind `json:"kind"`
	// New is set where the item is met for the first time.
	New    bool    `json:"new"`
	Prompt string  `json:"prompt"`
	Chord  *string `json:"chord"`
	Degree *string `json:"degree"`
	String *int    `json:"string"`
	// Frets is a shape, low string first, as fretboard.FormatFrets writes it.
	Frets   *string  `json:"frets"`
	Choices []string `json:"choices"`
	// Right are texts that would be judged right, the one to show first.
	Right []string `json:"right"`
	// Way is what is told of the way to the answer of a new thing, a sentence each.
	Way []string `json:"way"`

	Ask drills.Ask `json:"-"`
	// Story tells in a line how the thing went before this sitting.
	Story string `json:"-"`
	// Steps lead a new player to the answer.
	Steps []string `json:"-"`
	// N counts the questions of the sitting, of which Plan says what they are, and Left
	// how much time it has.
	N    int           `json:"-"`
	Plan drills.Plan   `json:"-"`
	Left time.Duration `json:"-"`
}

// Judged is the verdict on an answer, which is kept when it is told.
type Judged struct {
	ID     int      `json:"id"`
	Result string   `json:"result"`
	Right  []string `json:"right"`
	// Why is the reason, with the right answer where it was missed.
	Why string `json:"why"`
	// SlowAfter is the seconds over which a right answer is slow, by the player's own times;
	// nil where the music says when it comes.
	SlowAfter *float64 `json:"slow_after_s"`

	Judgement drills.Judgement `json:"-"`
	Answer    drills.Answer    `json:"-"`
}

// Pass is a pass that was played to its end.
type Pass struct {
	// N counts from 1.
	N int `json:"n"`
	// Tempo is in quarter notes a minute.
	Tempo   float64 `json:"tempo"`
	Seconds float64 `json:"seconds"`
	// Clean is nil where nobody has said; the session then waits to be told.
	Clean *bool `json:"clean"`

	Result Result `json:"-"`
	// Last is set where no more passes were asked for, or the time for them is over.
	Last bool `json:"-"`
}

// StepEnd is the end of a step, and whether it was done.
type StepEnd struct {
	N    int  `json:"n"`
	Done bool `json:"done"`
	// Found says what a level check found, and where the ladder begins.
	Found []string `json:"found,omitempty"`

	Step today.Step `json:"-"`
	// Sum is what its questions came to, nil where it asked none.
	Sum *drills.Summary `json:"-"`
}

// End is the end of the session, and whether it came by being done. It marshals to
// the summary.
type End struct {
	Summary any
	Done    bool
}

// MarshalJSON writes the summary.
func (e End) MarshalJSON() ([]byte, error) { return marshal(e.Summary) }

// Private reports whether an event is for the faces of the program alone.
func Private(e Event) bool {
	switch e.(type) {
	case Notice, Rest, Playing, Beat, Marked, Missed, Walked, Followed, Said, Over:
		return true
	}
	return false
}

// Fault is something that could not be done and changed nothing.
type Fault struct {
	Says string `json:"says"`
}

// Notice is a line about the history or a device, "" where all is well again. It is
// for people.
type Notice struct {
	Says string `json:"says"`
}

func (Plan) name() string     { return "plan" }
func (Step) name() string     { return "step" }
func (Rest) name() string     { return "rest" }
func (Playing) name() string  { return "playing" }
func (Question) name() string { return "question" }
func (Judged) name() string   { return "judged" }
func (Pass) name() string     { return "pass" }
func (StepEnd) name() string  { return "step_end" }
func (End) name() string      { return "end" }
func (Fault) name() string    { return "error" }
func (Notice) name() string   { return "notice" }

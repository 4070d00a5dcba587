package session

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/google/uuid"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/trainer/history"
)

// Sitting is a sitting whose answers are kept. All but Keep are for one
// goroutine at a time.
type Sitting struct {
	*drills.Sitting
	seed    uint64
	now     func() time.Time
	history History
	kept    history.Sitting
	begun   bool
	last    time.Time // when an answer was last kept
	first   bool
	known   map[memory.Item]memory.State
	stored  history.Answer // the last one kept
	round   *today.Round   // nil where it is no step of a day that has one
}

// SittingSummary is what a sitting came to, with its answers.
type SittingSummary struct {
	drills.Summary
	Seed    uint64     `json:"seed"`
	Answers []Answered `json:"answers"`
}

// Answered is an answer as scripts read it.
type Answered struct {
	Item    string `json:"item"`
	Prompt  string `json:"prompt"`
	Given   string `json:"given"`
	Verdict string `json:"verdict"`
	TookMS  int64  `json:"took_ms"`
}

// Sum is what the sitting has come to.
func (s *Sitting) Sum() SittingSummary {
	sum := SittingSummary{Summary: s.Summary(s.now()), Seed: s.seed, Answers: []Answered{}}
	for _, a := range s.Answers() {
		sum.Answers = append(sum.Answers, Answered{a.Item.Key(), a.Prompt, a.Given, a.Verdict.String(), a.Took.Milliseconds()})
	}
	return sum
}

// New reports whether an item is met for the first time.
func (s *Sitting) New(it memory.Item) bool {
	return s.known[it].New() && !slices.ContainsFunc(s.Answers(), func(a drills.Answer) bool { return a.Item == it })
}

// Guide is how many questions of a player's very first sitting are led to their
// answer; all but the first stop short of it.
const Guide = 3

// Steps lead to the answer of a question just asked, for a player whose history
// is empty; none for anybody else.
func (s *Sitting) Steps(q drills.Question) []string {
	w, ok := q.(drills.Worked)
	n := len(s.Answers())
	if !s.first || !ok || n >= Guide {
		return nil
	}
	steps := w.Steps()
	if n > 0 {
		return steps[:len(steps)-1]
	}
	return steps
}

// Seed returns the seed that the sitting's chance came from.
func (s *Sitting) Seed() uint64 { return s.seed }

// Keep stores an answer; it may be called from any goroutine, one call at a
// time. When it returns nil the answer is on the disk, or Notice says that it is
// in memory. Tell the sitting what came of it with Kept.
func (s *Sitting) Keep(a drills.Answer) error {
	if s.history == nil {
		return nil
	}
	ctx, now := context.Background(), s.now()
	if AwayBetween(s.last, now) {
		s.kept = history.Sitting{Began: now.Add(-a.Took), Drill: s.kept.Drill, Tune: s.kept.Tune}
		s.begun = false
	}
	s.last = now
	if !s.begun {
		// An error with an id says that the sitting has begun in memory.
		begun, err := s.history.Begin(ctx, s.kept)
		if err != nil && begun.ID == uuid.Nil {
			return err
		}
		s.kept, s.begun = begun, true
	}
	var err error
	s.stored, err = s.history.Append(ctx, history.Answer{
		Sitting: s.kept.ID, At: now, Item: a.Item, Way: a.Way, Verdict: a.Verdict, Grade: a.Grade, Took: a.Took,
		Place: a.Place, Given: a.Given,
	})
	return err
}

// TakeBack takes the last answer back, from the history too, and asks its question
// again. The error says why it cannot.
func (s *Sitting) TakeBack() error {
	if s.history != nil && s.stored.ID != uuid.Nil {
		if err := s.history.Withdraw(context.Background(), s.stored); err != nil {
			return err
		}
	}
	s.stored = history.Answer{}
	if !s.Sitting.TakeBack(s.now()) {
		return errors.New("there is no answer to take back")
	}
	return nil
}

// AwayBetween reports whether there is so much time between two moments, by the
// clock on the wall, that the player went away between them, the computer slept,
// or its clock was set.
func AwayBetween(last, now time.Time) bool {
	// Monotonic clocks stand still while some systems sleep.
	return now.Round(0).Sub(last.Round(0)).Abs() > drills.Away
}

// Notice returns a line for the player about the history, "" when all is well.
func (s *Sitting) Notice() string {
	if s.history == nil {
		return ""
	}
	return s.history.Notice()
}

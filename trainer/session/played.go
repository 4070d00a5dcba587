package session

import (
	"cmp"
	"fmt"
	"time"

	"footfall/drills/memory"
	"footfall/drills/today"
)

// Passage is what a step plays; false where it plays nothing.
func (a *Agenda) Passage(n int) (Passage, bool, error) {
	step, err := a.Begin(n)
	if err != nil || step.Tune == "" || step.Layer == "" {
		return Passage{}, false, err
	}
	t, err := a.desk.Tune(step.Tune)
	if err != nil {
		return Passage{}, false, fmt.Errorf("this step cannot be played: %w", err)
	}
	p := Passage{Tune: t, Section: step.Section, Layer: step.Layer, School: step.School, Ramp: step.Climb(), Most: step.Most, Length: cmp.Or(step.Left(), time.Second)}
	if step.Passes > 0 {
		p.Passes = max(1, step.Passes-step.Played)
	}
	return p, true, nil
}

// Passed takes in a pass of a step that was played to its end, and reports whether the
// step is done by it: by its passes, its minutes, clean ones at the day's tempo, or as its
// lesson asks.
func (a *Agenda) Passed(n int, r Result) (done bool, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.step(n)
	if s == nil {
		return false, nil
	}
	s.Played++
	s.Spent += r.Length.Seconds()
	a.clean(s, r)
	s.Done = s.Done || s.Passes > 0 && s.Played >= s.Passes || s.Left() == 0
	return s.Done, a.save()
}

// clean counts a pass on which there is a word, for the day and towards what the lesson of a
// step asks for.
func (a *Agenda) clean(s *today.Step, r Result) {
	if r.Judged {
		*s = s.Passed(r.Tempo, r.Clean)
	}
	defer func() { s.Done = s.Done || s.Met || s.AtTop >= today.CleanAtTop }()
	if !r.Judged || !r.Clean || s.Task == nil || s.Task.Passage == nil || r.Tempo < s.Task.Passage.At {
		return
	}
	key := memory.Item{Kind: memory.Passage, Tune: s.Tune, Section: s.Section, Layer: s.Layer}.Key()
	t := s.Tries[key]
	t.Asked, t.Right = t.Asked+1, t.Right+1
	s.Tries = map[string]today.Try{key: t}
	if t.Right >= s.Task.Passage.Clean && !s.Met {
		s.Met = true
		a.goOn(*s)
	}
}

// Following takes in the passes of a play-along that is a step of the day, as they end,
// and the words that are said on them later.
type Following struct {
	agenda *Agenda
	n      int
	// passes are how many were taken in, judged those on which there was a word.
	passes int
	judged map[int]bool
}

// Follow begins to take in the passes of a step.
func (a *Agenda) Follow(n int) *Following {
	return &Following{agenda: a, n: n, judged: map[int]bool{}}
}

// Take takes in what is new in the results of the play-along, and reports whether the
// step is done by it.
func (f *Following) Take(results []Result) (done bool, err error) {
	for i, r := range results {
		switch {
		case i >= f.passes:
			f.passes++
			var now bool
			if now, err = f.agenda.Passed(f.n, r); err != nil {
				return done, err
			}
			done = done || now
		case r.Judged && !f.judged[i]:
			var now bool
			if now, err = f.agenda.said(f.n, r); err != nil {
				return done, err
			}
			done = done || now
		}
		f.judged[i] = r.Judged
	}
	return done, nil
}

// said takes in a word on a pass that was taken in before.
func (a *Agenda) said(n int, r Result) (done bool, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.step(n)
	if s == nil {
		return false, nil
	}
	a.clean(s, r)
	return s.Done, a.save()
}

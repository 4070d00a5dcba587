package session

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"footfall/drills/ramp"
	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/settings"
	"footfall/trainer/sound"
)

// RestBar says after which passes a bar of rest comes. In it the click counts the next
// pass in, and the hands are free to say whether the last one was clean. Only what
// waits for no word keeps its pulse: after a pass whose word the next tempo goes by it is silent.
type RestBar uint8

// The kinds of rest, in the order of settings.Rests.
const (
	RestUnheard RestBar = iota // where nobody listens
	RestAlways
	RestNever
)

// RestOf reads the name of a kind of rest, as the settings have it.
func RestOf(name string) (RestBar, error) {
	if i := slices.Index(settings.Rests, name); i >= 0 {
		return RestBar(i), nil
	}
	return 0, fmt.Errorf("no rest is called %q: write %s", name, strings.Join(settings.Rests, ", "))
}

// rests reports whether a bar of rest comes after each pass.
func (s *PlayAlong) rests() bool {
	return s.sounding.Rest == RestAlways || s.sounding.Rest == RestUnheard && s.input == nil
}

// Rests reports whether a bar of rest comes after each pass.
func (s *PlayAlong) Rests() bool { return locked(s, s.rests) }

// SetRest lets a bar of rest come after each pass, or none, from the next one on.
func (s *PlayAlong) SetRest(on bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sounding.Rest = RestNever
	if on {
		s.sounding.Rest = RestAlways
	}
	s.tell(s.player.SetCourse(s.course()))
}

// timeToSay is how long a silent rest lasts at least: both hands are on the guitar. Common
// practice, no source.
const timeToSay = 8 * time.Second

// restLength is how long a silent rest lasts where nobody says a word: as the last bar that
// was played, or longer.
func (s *PlayAlong) restLength() time.Duration {
	now := s.player.Now()
	return max(timeToSay, harmony.Place(now.Bar, 0).End().Duration())
}

// endRest lets what waits go on after a rest in which nobody has said a word.
func (s *PlayAlong) endRest() {
	last := s.passage.Passes > 0 && s.passes >= s.passage.Passes
	if !s.judging || !s.waits() || !s.running || !s.rests() || last || clock.Now().Before(s.restEnds) {
		return
	}
	s.goOn(s.progress.Unjudged())
	s.again()
}

// Resting reports whether the music rests between two passes.
func (s *PlayAlong) Resting() bool {
	now := s.player.Now()
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.running || len(s.results) == 0 {
		return false
	}
	return now.State == sound.Counting && now.Pass > 1 || now.State == sound.Finished && s.judging && s.waits()
}

// Judging reports whether the last pass waits for a word.
func (s *PlayAlong) Judging() bool { return locked(s, func() bool { return s.judging }) }

// Unsaid are the numbers of the passes that nobody has said a word on, oldest first.
func (s *PlayAlong) Unsaid() []int {
	s.mu.Lock()
	defer s.mu.Unlock()
	var unsaid []int
	for _, r := range s.results {
		if !r.Judged {
			unsaid = append(unsaid, r.Pass)
		}
	}
	return unsaid
}

// Judge is the player's own word on the latest of the passes that have none: said again
// it is on the one before. It reports which pass it was on, 0 where each has its word.
func (s *PlayAlong) Judge(clean bool) (pass int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for n := len(s.results); n > 0; n-- {
		if !s.results[n-1].Judged {
			s.judge(n, clean, "")
			return n
		}
	}
	return 0
}

// JudgePass is the player's own word on a pass, in the place of what was said before:
// false where there is no such pass.
func (s *PlayAlong) JudgePass(n int, clean bool) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if n < 1 || n > len(s.results) {
		return false
	}
	s.judge(n, clean, "")
	return true
}

// NameBar notes the bar that held a pass back, counted through the form, 0 for none, and
// reports whether there is such a pass, which was not clean and has that bar.
func (s *PlayAlong) NameBar(n, bar int) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if n < 1 || n > len(s.results) {
		return false
	}
	r := &s.results[n-1]
	if !r.Judged || r.Clean || bar != 0 && !r.Bars.Holds(bar) {
		return false
	}
	r.Bar = bar
	s.kept(n)
	return true
}

// JudgeLast is the player's own word on the last n passes, or on as many as there are,
// and reports on how many.
func (s *PlayAlong) JudgeLast(n int, clean bool) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n = min(n, len(s.results))
	for i := len(s.results) - n; i < len(s.results); i++ {
		s.judge(i+1, clean, "")
	}
	return max(0, n)
}

// NoWord is told where nobody will say a word on the last pass: a ladder stays where it
// is, any other ramp has gone on already.
func (s *PlayAlong) NoWord() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.judging {
		return
	}
	if s.waits() {
		s.goOn(s.progress.Unjudged())
		s.again()
	}
	s.judging = false
}

// judge takes the player's word on a pass and keeps it. The ramp goes on by the first
// word on each pass.
func (s *PlayAlong) judge(n int, clean bool, why string) {
	first, last := !s.results[n-1].Judged, n == len(s.results)
	s.verdict(n, clean, why)
	switch {
	case last && s.judging && s.waits():
		s.goOn(s.progress.After(clean))
		s.again()
	case first && s.waits(): // a late word
		s.progress = s.progress.Said(clean)
		s.planned = s.progress
		s.tell(s.player.SetPassTempo(s.planned.Tempo))
	case first && !clean:
		s.progress = s.progress.Said(false)
		s.results[n-1].Ramp = s.progress
		s.holdBack()
	}
	if last {
		s.judging = false
	}
	s.kept(n)
	s.rouse()
}

// holdBack plays the next pass no faster than the one under way, after one that failed,
// where that was not waited for.
func (s *PlayAlong) holdBack() {
	if s.old || s.waits() || s.planned.Ramp.Mode != ramp.Up {
		return
	}
	s.planned = s.planned.Said(false)
	s.tell(s.player.SetPassTempo(s.planned.After(true).Tempo))
}

// verdict notes a verdict on a pass.
func (s *PlayAlong) verdict(n int, clean bool, why string) {
	r := &s.results[n-1]
	r.Judged, r.Clean, r.Why, r.Bar = true, clean, why, 0
}

// scored takes the score's verdict on the last pass, goes on by it and keeps it.
func (s *PlayAlong) scored(clean bool, why string) {
	n := len(s.results)
	s.verdict(n, clean, why)
	s.goOn(s.progress.After(clean))
	if !clean {
		s.holdBack()
	}
	s.again()
	s.kept(n)
}

// goOn moves the ramp on after the last pass, unless that was played by the plan before.
func (s *PlayAlong) goOn(next ramp.Progress) {
	if !s.old {
		s.progress = next
	}
	if s.waits() {
		s.planned = s.progress
	}
	s.results[len(s.results)-1].Ramp = s.progress
}

// again begins the next pass where it has waited for the last one's verdict.
func (s *PlayAlong) again() {
	s.judging = false
	s.rouse()
	if !s.waits() || !s.running {
		return
	}
	if s.passage.Passes > 0 && s.passes >= s.passage.Passes {
		s.running = false
		return
	}
	s.tell(s.player.SetPassTempo(s.planned.Tempo))
	clear(s.marks)
	s.tell(s.player.Stop())
	s.tell(s.player.Play())
}

// kept hands a result to whoever keeps it.
func (s *PlayAlong) kept(n int) {
	if s.ended {
		return
	}
	select {
	case s.keep <- s.results[n-1]:
	default:
		s.notice = "The history does not answer: the last pass is not kept."
	}
}

// pedaled is an input with pedals.
type pedaled interface{ Pedals() <-chan struct{} }

func pedalsOf(in listen.Input) <-chan struct{} {
	if p, ok := in.(pedaled); ok {
		return p.Pedals()
	}
	return nil
}

// trodden takes the pedal as a word, where it may be one.
func (s *PlayAlong) trodden() []Event {
	if !s.sounding.Answer.Pedal {
		return nil
	}
	return s.answer()
}

// answered takes a note as a word where it is the one that was chosen, and no pass is
// played.
func (s *PlayAlong) answered(n listen.Note) []Event {
	chosen := s.sounding.Answer.MIDI
	if !n.On || chosen == 0 || n.MIDI != chosen || n.Unsure() || s.player.Now().State == sound.Playing {
		return nil
	}
	return s.answer()
}

// answer is a word on the last pass: that it was clean, or where that was the word that
// it was not.
func (s *PlayAlong) answer() []Event {
	n := len(s.results)
	if n == 0 {
		return nil
	}
	r := s.results[n-1]
	s.judge(n, !r.Judged || !r.Clean, "")
	return []Event{Said{n, s.results[n-1].Clean}}
}

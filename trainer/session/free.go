package session

import (
	"time"

	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// FreeLayer is the layer in which the player makes the line up: nothing is asked
// for, and each bar is judged by whether its chords are to be heard.
const FreeLayer = memory.FreeLayer

func (p Passage) free() bool { return p.Layer == FreeLayer }

// unwritten is a tune without its line, and without what is struck over it.
func unwritten(t *tune.Tune) *tune.Tune {
	out := *t
	out.Sections = append([]tune.Section(nil), t.Sections...)
	for i := range out.Sections {
		s := &out.Sections[i]
		s.Bars = append([]tune.Bar(nil), s.Bars...)
		for j := range s.Bars {
			s.Bars[j].Bass = nil
			s.Bars[j].Copies[tune.BassRow] = tune.Copy{}
		}
	}
	return &out
}

// layer is a pass's as the history has it.
func (r Result) layer() string {
	if r.free {
		return FreeLayer
	}
	return r.Layer.String()
}

// Walked is the verdict on a freely walked bar, told when it has passed.
type Walked struct {
	Pass int
	// Bar counts through the form.
	Bar     int
	Verdict walk.Verdict
	Says    string
}

func (Walked) name() string { return "walked" }

// passing is a freely walked bar that is over and waits for its last notes.
type passing struct {
	pass *pass
	bar  int
	end  time.Duration
	// later is set where end is that of a player who is some beats late.
	later bool
}

// walked judges the bars that are over by a musical time.
func (s *follower) walked(at time.Duration) {
	for len(s.passing) > 0 && at >= s.passing[0].end+s.late() {
		b := &s.passing[0]
		free := s.free(b.pass, b.end, b.bar+1) // what a bar leads to is the next one's
		if by := free.LateAt(b.bar); by > 0 && !b.later {
			beat := time.Duration(float64(time.Minute) * b.pass.last.Bar.Meter.BeatQuarters() / b.pass.tempo)
			b.end, b.later = min(b.end+time.Duration(by*float64(beat)), b.pass.end), true
			continue
		}
		s.passing = s.passing[1:]
		if i := b.bar - b.pass.first; i < len(free.Bars) {
			s.tell(Walked{Pass: b.pass.number, Bar: b.bar, Verdict: free.Bars[i].Verdict, Says: free.Bars[i].Says})
		}
	}
}

// free judges what a pass has so far, to a musical time, as far as a bar: where a player
// was late or stopped is told by the bars that were played.
func (s *follower) free(p *pass, end time.Duration, last int) *take.FreeTake {
	heard := take.Heard{Notes: s.tape.Between(p.start, end+s.settings.Window, s.settings), ByEar: s.byEar}
	a := s.task.arrangement
	return take.Free(a.Tune, p.tempo, take.Bars{First: p.first, Last: min(last, p.whole.Last)}, heard, a.Neck, s.settings)
}

// SetFree lets the player make the line up, or play the written one, from the next
// bar line on. It reports the error of a line that cannot be arranged, and then
// changes nothing.
func (s *PlayAlong) SetFree(free bool) error {
	now := s.Arrangement()
	if !free {
		return s.arrange(locked(s, func() fretboard.Layer { return s.written }), now.School)
	}
	a, err := fretboard.Arrange(unwritten(now.Tune), s.desk.Neck, s.desk.Hand, fretboard.Bass, fretboard.InSchool(now.School))
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.written = now.Layer
	return s.replace(a, true)
}

// Free reports whether the player makes the line up.
func (s *PlayAlong) Free() bool { return locked(s, func() bool { return s.isFree }) }

// LastBar returns the verdict on the last bar that was walked freely in the pass now
// playing; false where there is none.
func (s *PlayAlong) LastBar() (Walked, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.follower.pass == nil || s.lastWalked.Pass != s.follower.pass.number {
		return Walked{}, false
	}
	return s.lastWalked, true
}

// BarOf returns the verdict on a bar of the pass now playing, or of the one before;
// false where there is none yet.
func (s *PlayAlong) BarOf(bar int) (Walked, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	w, ok := s.walks[bar]
	return w, ok
}

package playalong

import (
	"time"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/listen/along"
	"footfall/trainer/sound"
)

// Poll brings the session up to what is heard now: it notices the bars and
// passes that began or ended.
func (s *Session) Poll() {
	if n := s.player.Sleeps(); n != s.sleeps {
		s.sleeps = n
		s.tell(s.Pause())
		s.notice = "The music stood still while the computer slept or the program was stopped: it is paused."
	}
	now := s.player.Now()
	s.warnOfClicks(now)
	bars, next := s.player.Since(s.seen)
	heard := uint64(0)
	for _, b := range bars {
		if b.Start > now.At {
			break // generated, but not heard yet
		}
		heard++
		s.bar(b)
	}
	s.seen = next - uint64(len(bars)) + heard
}

// clickable is an input that hears the program's own click.
type clickable interface{ Click(at time.Duration) }

// warnOfClicks tells an ear that hears the room when the click will sound, bar by
// bar as they are made ready, which is before they are heard.
func (s *Session) warnOfClicks(now sound.Now) {
	ear, ok := s.gear.Input.(clickable)
	if !ok || s.gear.Sound.Mute {
		return
	}
	var bars []sound.Played
	bars, s.clicked = s.player.Since(s.clicked)
	shift := s.gear.Now().Sub(s.gear.Began) - now.At.Duration()
	for _, b := range bars {
		if b.State != sound.Playing && b.State != sound.Counting || s.choice.Mix.MuteClick {
			continue
		}
		placed := harmony.Place(b.Bar, b.Start)
		for beat := 1; beat <= b.Bar.Meter.Beats(); beat++ {
			ear.Click(placed.Beat(beat, false).Duration() + shift)
		}
	}
}

// bar takes a bar in that began to be heard.
func (s *Session) bar(b sound.Played) {
	if p := s.pass; p != nil && (b.State != sound.Playing || b.Number == s.bars.First || b.Number != s.bars.First+p.bars) {
		s.endPass(b)
	}
	switch b.State {
	case sound.Playing:
		// Bars that are played on from the middle, after a pause or into a new
		// loop, belong to no pass.
		if s.pass == nil && b.Number == s.bars.First {
			s.beginPass(b)
		}
		if s.pass != nil {
			s.pass.bars++
		}
	case sound.Finished:
		if !s.waits() {
			s.running = false
		}
	}
}

func (s *Session) beginPass(b sound.Played) {
	s.passes++
	if s.passes > 1 && !s.waits() {
		s.planned = s.planned.After(true)
	}
	s.pass = &pass{number: s.passes, tempo: b.Bar.Tempo, layer: s.a.Layer, planned: s.planned, start: b.Start}
	s.extra = 0
	for k := range s.marks {
		if k.pass < b.Pass {
			delete(s.marks, k)
		}
	}
	if !s.waits() {
		s.tell(s.player.SetPassTempo(s.planned.After(true).Tempo))
	}
}

// endPass ends the pass with the bar, or the rest, that comes after it.
func (s *Session) endPass(b sound.Played) {
	p := s.pass
	s.pass = nil
	p.end = b.Start
	if p.bars != s.bars.Last-s.bars.First+1 {
		return
	}
	if s.follower != nil {
		s.ended = append(s.ended, p)
		return
	}
	r := s.result(p)
	s.results = append(s.results, r)
	s.keep(r)
	s.judging = true
	if !s.waits() {
		s.progress = p.planned.After(true)
	}
}

func (s *Session) result(p *pass) Result {
	return Result{
		Pass: p.number, Tempo: p.tempo, Layer: p.layer, Length: (p.end - p.start).Duration(), Ramp: p.planned,
		At: s.gear.Now().Add(-(s.player.Now().At - p.start).Duration()),
	}
}

// Tell takes in what the ear heard. It reports whether a pass was judged by it.
func (s *Session) Tell(n along.News) (judged bool) {
	s.Poll()
	switch n := n.(type) {
	case along.Marked:
		if n.Extra {
			s.extra++
			return false
		}
		s.marks[place{n.Pass, n.Expected.At, n.Expected.Kind}] = Mark{n.Verdict, n.Offset}
	case along.Missed:
		s.marks[place{n.Pass, n.Expected.At, n.Expected.Kind}] = Mark{Verdict: n.Verdict}
	case along.Graded:
		if !n.Whole || len(s.ended) == 0 {
			return false
		}
		r := s.result(s.ended[0])
		s.ended = s.ended[1:]
		r.Score, r.Judged = n.Score, true
		r.Clean, r.Why = n.Score.Clean()
		if n := len(s.results); n > 0 {
			s.results[n-1].Score = nil
		}
		s.results = append(s.results, r)
		s.after(&s.results[len(s.results)-1])
		return true
	}
	return false
}

// Judge is the player's own word on the last pass, where nobody listened.
func (s *Session) Judge(clean bool) {
	if !s.judging {
		return
	}
	s.judging = false
	r := &s.results[len(s.results)-1]
	r.Judged, r.Clean = true, clean
	s.after(r)
}

// Unjudged is told where nobody will judge the last pass. A ladder goes on as if it
// had not been clean, any other ramp as if it had.
func (s *Session) Unjudged() {
	s.judging = false
	if s.waits() {
		r := &s.results[len(s.results)-1]
		s.after(r)
	}
}

func (s *Session) keep(r Result) {
	if s.gear.Keep != nil {
		s.tell(s.gear.Keep(r))
	}
}

// after moves the ramp on, keeps the pass, and starts the next one where it has
// waited.
func (s *Session) after(r *Result) {
	if s.waits() {
		s.progress = s.progress.After(r.Clean)
		s.planned = s.progress
	} else {
		s.progress = r.Ramp.After(r.Clean)
	}
	r.Ramp = s.progress
	if r.Judged {
		s.keep(*r)
	}
	if !s.waits() || !s.running {
		return
	}
	if s.choice.Passes > 0 && s.passes >= s.choice.Passes {
		s.running = false
		return
	}
	s.tell(s.player.SetPassTempo(s.planned.Tempo))
	clear(s.marks)
	s.tell(s.player.Stop())
	s.tell(s.player.Play())
}

// Over reports whether every pass asked for is played and, where there is a
// listener, judged.
func (s *Session) Over() bool {
	return !s.running && s.pass == nil && len(s.ended) == 0 && s.choice.Passes > 0 && s.passes >= s.choice.Passes
}

func (s *Session) tell(err error) {
	if err != nil {
		s.notice = err.Error()
	}
}

// SetTempo changes the tempo at the next bar, in quarter notes a minute, and the
// passes to come with it. It is kept within what a ramp may have.
func (s *Session) SetTempo(tempo float64) {
	tempo = min(tune.HighestTempo, max(tune.LowestTempo, tempo))
	move := func(p ramp.Progress) ramp.Progress {
		p.Tempo = tempo
		p.Ramp.Target = max(p.Ramp.Target, tempo)
		if p.Ramp.Mode == ramp.Target {
			p.Ramp.Floor, p.Ramp.Target = tempo, tempo
		}
		p.Ramp.Floor = min(p.Ramp.Floor, tempo)
		return p
	}
	s.planned, s.progress = move(s.planned), move(s.progress)
	s.tell(s.player.SetTempo(tempo))
	next := s.planned
	if !s.waits() && s.pass != nil {
		next = next.After(true)
	}
	s.tell(s.player.SetPassTempo(next.Tempo))
}

// Tempo returns the tempo of what is heard, or of the pass to come at rest.
func (s *Session) Tempo() float64 {
	if now := s.player.Now(); now.State == sound.Playing || now.State == sound.Counting {
		return now.Bar.Tempo
	}
	return s.planned.Tempo
}

// SetLoop plays other bars, from the next bar line on; the bars count through
// the form.
func (s *Session) SetLoop(bars take.Bars) {
	all := len(s.choice.Tune.Unroll())
	bars.First = min(max(1, bars.First), all)
	bars.Last = min(max(bars.First, bars.Last), all)
	if bars == s.bars {
		return
	}
	s.bars, s.pass = bars, nil
	s.tell(s.player.SetCourse(s.course()))
	s.ask()
}

// SetLayer plays another layer, from the next bar line on. It reports the error
// of a layer that cannot be arranged, and then changes nothing.
func (s *Session) SetLayer(l fretboard.Layer) error {
	a, err := fretboard.Arrange(s.choice.Tune, s.choice.Neck, s.choice.Hand, l)
	if err != nil {
		return err
	}
	before := s.a
	s.a = a
	score, err := s.music()
	if err != nil {
		s.a = before
		return err
	}
	s.tell(s.player.SetScore(score))
	s.ask()
	return nil
}

// ask tells the follower what is played from now on.
func (s *Session) ask() {
	if s.follower != nil {
		s.follower.Ask(s.task())
	}
}

// SetClick changes the beats that click, from the next bar line on.
func (s *Session) SetClick(c sound.Click) {
	s.choice.Click = c
	s.tell(s.player.SetClick(c))
}

// Click returns the beats that click.
func (s *Session) Click() sound.Click { return s.choice.Click }

// SetMix changes levels at once and mutes at the next bar line.
func (s *Session) SetMix(m sound.Mix) {
	s.choice.Mix = m
	s.tell(s.player.SetMix(m))
}

// Mix returns the levels and mutes.
func (s *Session) Mix() sound.Mix { return s.choice.Mix }

// NextPass begins the next pass at the next bar line. The one that is cut short
// is not judged.
func (s *Session) NextPass() { s.tell(s.player.NextPass()) }

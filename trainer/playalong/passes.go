package playalong

import (
	"time"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// Poll brings the session up to what is heard now: it notices bars and passes
// that began or ended, and judges passes whose last notes have come. It returns
// the results that are new.
func (s *Session) Poll() []Result {
	now := s.player.Now()
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
	s.missed(now)
	done := len(s.results)
	for len(s.ended) > 0 {
		p := s.ended[0]
		if now.At < p.end+take.InstantOf(s.gear.Score.Window+s.gear.Score.Spread) {
			break
		}
		s.ended = s.ended[1:]
		s.judge(p)
	}
	return s.results[done:]
}

// bar takes a bar in that began to be heard.
func (s *Session) bar(b sound.Played) {
	if p := s.pass; p != nil && (b.State != sound.Playing || b.Number == s.bars.First || len(p.bars) > 0 && b.Number != s.bars.First+len(p.bars)) {
		s.endPass(b)
	}
	switch b.State {
	case sound.Playing:
		if s.pass == nil {
			s.beginPass(b)
		}
		if s.pass != nil {
			s.pass.bars = append(s.pass.bars, b.Bar)
			s.expect(b)
		}
	case sound.Finished:
		if !s.waits() {
			s.running = false
		}
	}
}

// beginPass starts a pass with its first bar. Bars that are played on from the
// middle, after a pause or a new loop, belong to no pass.
func (s *Session) beginPass(b sound.Played) {
	if b.Number != s.bars.First {
		return
	}
	s.passes++
	if s.passes > 1 && !s.waits() {
		s.planned = s.planned.After(true)
	}
	s.pass = &pass{number: s.passes, tempo: b.Bar.Tempo, a: s.a, planned: s.planned, start: b.Start, marks: map[int]take.LiveMark{}}
	if !s.waits() {
		s.tell(s.player.SetPassTempo(s.planned.After(true).Tempo))
	}
}

// expect lays the pass out in time: the bars played as they were, the others as
// the present one is.
func (s *Session) expect(b sound.Played) {
	p := s.pass
	if n := len(p.bars); n > 1 && p.bars[n-1] == p.bars[n-2] && p.a == s.a && p.expected != nil {
		return
	}
	p.a = s.a
	p.expected = s.layOut(p, b.Bar)
	p.live = take.NewLive(p.expected, s.gear.Score)
}

func (s *Session) layOut(p *pass, now take.Bar) []take.Expected {
	all := append([]take.Bar{}, p.bars...)
	for len(all) < s.bars.Last-s.bars.First+1 {
		all = append(all, now)
	}
	times, err := take.New(all)
	if err != nil {
		s.tell(err)
		return nil
	}
	return take.Expect(p.a, times, s.bars)
}

// endPass ends the pass with the bar, or the rest, that comes after it.
func (s *Session) endPass(b sound.Played) {
	p := s.pass
	s.pass = nil
	p.end = b.Start
	p.whole = len(p.bars) == s.bars.Last-s.bars.First+1
	if p.whole {
		s.ended = append(s.ended, p)
	}
}

// Hear takes a note of the input in. It returns what the note seems to be; false
// outside a pass and for a note's end.
func (s *Session) Hear(n listen.Note) (take.LiveMark, bool) {
	if !n.On {
		return take.LiveMark{}, false
	}
	at := s.player.When(s.gear.Began.Add(n.At)).At
	played := take.Played{Time: at.Duration(), MIDI: n.MIDI, String: n.String}
	s.tape.Hear(played)
	p := s.pass
	if p == nil || p.live == nil {
		return take.LiveMark{}, false
	}
	played.Time = (at - p.start).Duration()
	m := p.live.Hear(played)
	if m.Event >= 0 {
		if before, marked := p.marks[m.Event]; !marked || before.Verdict == take.Missed {
			p.marks[m.Event] = m
		}
	}
	return m, true
}

// missed marks the events that went by without a note.
func (s *Session) missed(now sound.Now) {
	p := s.pass
	if p == nil || p.live == nil || s.gear.Input == nil {
		return
	}
	for _, i := range p.live.Missed((now.At - p.start).Duration()) {
		if _, marked := p.marks[i]; !marked {
			verdict := take.Missed
			if s.gear.Input.Status().State != listen.Hearing {
				verdict = take.NotHeard
			}
			p.marks[i] = take.LiveMark{Event: i, Verdict: verdict}
		}
	}
}

// judge scores a pass that is over.
func (s *Session) judge(p *pass) {
	r := Result{
		Pass: p.number, Tempo: p.tempo, Layer: p.a.Layer, Length: (p.end - p.start).Duration(),
		At: s.gear.Now().Add(-(s.player.Now().At - p.start).Duration()), Ramp: p.planned,
	}
	if s.gear.Input == nil {
		s.results = append(s.results, r)
		s.judging = true
		if !s.waits() {
			s.progress = p.planned.After(true)
		}
		return
	}
	r.Score = s.tape.Cut(s.layOut(p, p.bars[len(p.bars)-1]), p.start.Duration(), p.end.Duration(), s.absent(p), s.gear.Score)
	r.Judged = true
	r.Clean, r.Why = r.Score.Clean()
	s.results = append(s.results, r)
	s.after(&s.results[len(s.results)-1])
}

// absent are the spans in which the input was away, on the sound's clock.
func (s *Session) absent(p *pass) []take.Span {
	shift := s.player.When(s.gear.Began).At.Duration()
	var spans []take.Span
	for _, a := range s.gear.Input.Absent(p.start.Duration()-shift, p.end.Duration()-shift) {
		spans = append(spans, take.Span{From: a.From + shift, To: a.To + shift})
	}
	return spans
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
	if s.gear.Keep != nil {
		s.tell(s.gear.Keep(*r))
	}
	if !s.waits() || !s.running {
		return
	}
	if s.choice.Passes > 0 && s.passes >= s.choice.Passes {
		s.running = false
		return
	}
	s.tell(s.player.SetPassTempo(s.planned.Tempo))
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
	tempo = min(ramp.Fastest, max(ramp.Slowest, tempo))
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
	return nil
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

// PassLength returns how long one pass lasts at the present tempo.
func (s *Session) PassLength() time.Duration {
	t, err := take.OfTune(s.choice.Tune, s.bars.Last-s.bars.First+1, s.Tempo())
	if err != nil {
		return 0
	}
	return t.End().Duration()
}

package session

import (
	"time"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// crowd is how many notes between two looks are more than a MIDI cable carries: 31,250
// bits a second, ten to a byte and two bytes to a note at least (MIDI 1.0), are 15.6 in
// 10 ms. They have their times already, and are heard together at the next look: waking
// up for each of thousands takes most of what they take.
const crowd = 16

// run is the play-along's own goroutine: it follows the music and the player.
func (s *PlayAlong) run() {
	defer s.done.Done()
	defer s.end()
	var notes, answers <-chan listen.Note
	var strums <-chan listen.Strum
	var pedals [2]<-chan struct{}
	if s.input != nil {
		notes, strums, pedals[0] = s.input.Notes(), s.input.Strums(), pedalsOf(s.input)
	}
	if s.answers != nil {
		answers, pedals[1] = s.answers.Notes(), pedalsOf(s.answers)
	}
	timer := time.NewTimer(0)
	defer timer.Stop()
	came, one := 0, notes // notes since the last look; one is nil while they come in crowds
	for {
		var news []Event
		select {
		case <-s.stop:
			return
		case n, ok := <-one:
			if !ok {
				notes, one = nil, nil
				continue
			}
			news = s.step(func() []Event { return append(s.follower.hear(n), s.answered(n)...) })
			if came++; came == crowd {
				one = nil
				timer.Reset(look)
			}
		case n, ok := <-answers:
			if !ok {
				answers = nil
			}
			news = s.step(func() []Event { return s.answered(n) })
		case <-pedals[0]:
			news = s.step(s.trodden)
		case <-pedals[1]:
			news = s.step(s.trodden)
		case st := <-strums:
			news = s.step(func() []Event { return s.follower.strum(st) })
		case <-s.wake:
			timer.Reset(0)
			continue
		case <-timer.C:
			waited := len(notes)
			news = s.step(func() (told []Event) {
				for range waited {
					if n, ok := <-notes; ok {
						told = append(append(told, s.follower.hear(n)...), s.answered(n)...)
					}
				}
				return append(told, s.follower.look(clock.Now())...)
			})
			came = 0
			if one = notes; waited < crowd {
				timer.Reset(s.wait())
			} else {
				one = nil
				timer.Reset(look)
			}
		}
		for _, n := range news {
			select {
			case s.events <- n:
			case <-s.stop:
				return
			}
		}
	}
}

// end ends the telling and the keeping.
func (s *PlayAlong) end() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ended = true
	close(s.keep)
	close(s.events)
}

// wait is how soon to look again: at the next beat, if not before.
func (s *PlayAlong) wait() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.player.Now()
	if now.State != sound.Playing && now.State != sound.Counting {
		if s.follower.idle() && !s.running {
			return restLook
		}
		return look
	}
	placed := harmony.Place(now.Bar, now.Start)
	for _, at := range []harmony.Instant{placed.Beat(now.Beat, true), placed.Beat(now.Beat+1, false)} {
		if left := (at - now.At).Duration(); left > 0 {
			return min(look, left+time.Millisecond/10)
		}
	}
	return look
}

// step lets the follower see something, takes in what it tells, and returns what
// there is to tell.
func (s *PlayAlong) step(see func() []Event) []Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	if n := s.player.Sleeps(); n != s.sleeps {
		s.sleeps = n
		s.tell(s.pause())
		s.notice = "The music stood still while the computer slept or the program was stopped: it is paused."
	}
	now := s.player.Now()
	s.warnOfClicks(now)
	if now.State == sound.Playing && s.running {
		s.held = 0
	}
	var told []Event
	for _, n := range see() {
		if e := s.take(n); e != nil {
			told = append(told, e)
		}
	}
	off := now.Part*2 >= harmony.Parts
	if now.State == sound.Playing {
		off = now.Part >= now.Bar.OffPart()
	}
	if b := s.beat; b.Now.State != now.State || b.Now.Pass != now.Pass || b.Now.Point.Bar != now.Point.Bar || b.Now.Beat != now.Beat || b.Off != off {
		s.beat = Beat{now, off}
		told = append(told, s.beat)
	}
	if now.State == sound.Finished && !s.waits() && s.follower.pass == nil {
		s.running = false
	}
	s.endRest()
	if says := s.notices(); says != s.said {
		s.said = says
		told = append(told, Notice{says})
	}
	if over := s.over(); over != s.finished {
		if s.finished = over; over {
			told = append(told, Over{})
		}
	}
	return told
}

// take takes in what the follower tells, and returns what there is to tell of it.
func (s *PlayAlong) take(n Event) Event {
	switch n := n.(type) {
	case begun:
		s.begin(n)
		return nil
	case ended:
		if !n.whole {
			return nil
		}
		return s.passed(n)
	case Marked:
		if n.Extra {
			s.extra++
		} else {
			s.marks[place{n.Pass, n.Expected.At, n.Expected.Kind}] = Mark{n.Verdict, n.Offset}
		}
	case Walked:
		s.walks[n.Bar], s.lastWalked = n, n
	case Missed:
		s.marks[place{n.Pass, n.Expected.At, n.Expected.Kind}] = Mark{Verdict: n.Verdict}
	}
	return n
}

// begin takes in that a pass begins, and plans the next one.
func (s *PlayAlong) begin(b begun) {
	s.passes++
	if !s.fresh && !s.waits() {
		s.planned = s.planned.After(true)
	}
	s.fresh = false
	s.extra = 0
	for k := range s.marks {
		if k.pass < b.pass {
			delete(s.marks, k)
		}
	}
	if !s.waits() {
		s.tell(s.player.SetPassTempo(s.planned.After(true).Tempo))
	}
}

// passed takes in a pass that was played to its end.
func (s *PlayAlong) passed(e ended) Event {
	for i := range s.results {
		s.results[i].Score = nil
	}
	n := len(s.results) + 1
	r := Result{
		Pass: n, Tempo: e.tempo, Layer: e.layer, Bars: e.bars, Length: e.length, Ramp: s.progress, Score: e.score, Free: e.walk, free: e.free,
		section: s.sectionOf(e.bars), heard: s.input != nil,
		At: s.desk.Now().Add(-(s.player.Now().At - e.start).Duration()),
	}
	told := Pass{N: n, Tempo: r.Tempo, Seconds: r.Length.Seconds()}
	if s.due = s.passage.Length > 0 && s.desk.Now().Sub(s.began) >= s.passage.Length; s.due {
		s.running = false
		s.tell(s.player.Stop())
	}
	told.Last = s.due || s.passage.Passes > 0 && n >= s.passage.Passes
	if told.Last && s.running && !s.waits() && s.player.Now().State != sound.Finished { // it was begun anew
		s.running = false
		s.tell(s.player.Stop())
	}
	s.results = append(s.results, r)
	s.old = e.start.Duration() < s.planAt
	switch {
	case e.walk != nil:
		clean, why := e.walk.Clean()
		s.worst = take.Worst(s.worst, e.walk.Tallies())
		s.scored(clean, why)
		told.Clean = &clean
	case e.score == nil:
		s.judging = true
		if !s.waits() {
			s.goOn(s.progress.After(true))
		} else {
			s.restEnds = clock.Now().Add(s.restLength())
		}
		s.kept(n)
	default:
		clean, why := e.score.Clean()
		s.worst = take.Worst(s.worst, e.score.Bars)
		s.scored(clean, why)
		told.Clean = &clean
	}
	told.Result = s.results[n-1]
	return told
}

// keeping writes passes into the history, so that nobody else waits for the disk.
func (s *PlayAlong) keeping() {
	defer s.done.Done()
	takes := s.desk.takes(s.passage, s.way())
	for r := range s.keep {
		if err := takes.keep(r); err != nil {
			s.mu.Lock()
			s.notice = err.Error()
			s.mu.Unlock()
		}
	}
}

// over reports whether every pass asked for, or the time there was, is over, and
// each pass judged that waits for it.
func (s *PlayAlong) over() bool {
	if s.judging || s.running || s.paused || s.follower.pass != nil || len(s.follower.over) > 0 {
		return false
	}
	return s.due || s.passage.Passes > 0 && s.passes >= s.passage.Passes
}

func (s *PlayAlong) tell(err error) {
	if err != nil {
		s.notice = err.Error()
	}
}

// clickable is an input that hears the program's own click.
type clickable interface{ Click(at time.Duration) }

// warnOfClicks tells an ear that hears the room when the click will sound, bar by
// bar as they are made ready, which is before they are heard.
func (s *PlayAlong) warnOfClicks(now sound.Now) {
	ear, ok := s.input.(clickable)
	if !ok || s.sounding.Sound.Mute {
		return
	}
	var bars []sound.Played
	bars, s.clicked = s.player.Since(s.clicked)
	shift := clock.Now().Sub(s.epoch) - now.At.Duration()
	for _, b := range bars {
		if b.State != sound.Playing && b.State != sound.Counting || s.sounding.Mix.MuteClick {
			continue
		}
		placed := harmony.Place(b.Bar, b.Start)
		for half := range b.Bar.Meter.Halves() {
			beat, off := harmony.BeatOf(half)
			counted := b.State == sound.Counting && !off
			if counted || s.sounding.Time.Sounds(b.Bar, half) {
				ear.Click(placed.Beat(beat, off).Duration() + shift)
			}
		}
	}
}

// SetTempo changes the tempo at the next bar, in quarter notes a minute, and the
// passes to come with it. It is kept within what a ramp may have.
func (s *PlayAlong) SetTempo(tempo float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
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
	if !s.waits() && !s.fresh && s.follower.pass != nil {
		next = next.After(true)
	}
	s.tell(s.player.SetPassTempo(next.Tempo))
}

// Tempo returns the tempo of what is heard, or of the pass to come at rest.
func (s *PlayAlong) Tempo() float64 {
	if now := s.player.Now(); now.State == sound.Playing || now.State == sound.Counting {
		return now.Bar.Tempo
	}
	return locked(s, func() float64 { return s.planned.Tempo })
}

// SetLoop plays other bars, from the next bar line on; the bars count through
// the form.
func (s *PlayAlong) SetLoop(bars take.Bars) {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := len(s.passage.Tune.Tune.Unroll())
	bars.First = min(max(1, bars.First), all)
	bars.Last = min(max(bars.First, bars.Last), all)
	if bars == s.bars {
		return
	}
	s.bars = bars
	s.tell(s.player.SetCourse(s.course()))
	s.follower.task = s.task()
}

// SetLayer plays another layer, from the next bar line on. It reports the error
// of a layer that cannot be arranged, and then changes nothing.
func (s *PlayAlong) SetLayer(l fretboard.Layer) error {
	return s.arrange(l, s.Arrangement().School)
}

// SetSchool plays shapes of another school, from the next bar line on, as SetLayer
// does another layer.
func (s *PlayAlong) SetSchool(school fretboard.School) error {
	return s.arrange(s.Arrangement().Layer, school)
}

// fastest is the tempo that the fingers are made for.
func (s *PlayAlong) fastest() float64 {
	return max(s.passage.Tune.Tune.Tempo, locked(s, func() float64 { return s.planned.Ramp.Target }))
}

func (s *PlayAlong) arrange(l fretboard.Layer, school fretboard.School) error {
	a, err := fretboard.Arrange(s.passage.Tune.Tune, s.desk.Neck, s.desk.Hand, l, fretboard.AtTempo(s.fastest()), fretboard.InSchool(school))
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.replace(a, false)
}

// replace plays another arrangement, from the next bar line on.
func (s *PlayAlong) replace(a *fretboard.Arrangement, free bool) error {
	before, was := s.a, s.isFree
	s.a, s.isFree = a, free
	score, err := s.music()
	if err != nil {
		s.a, s.isFree = before, was
		return err
	}
	s.tell(s.player.SetScore(score))
	s.follower.task = s.task()
	return nil
}

// SetClick changes the beats that click, from the next bar line on.
func (s *PlayAlong) SetClick(c playing.Click) {
	t := s.Time()
	t.Click = c
	s.SetTime(t)
}

// SetTime changes what keeps time, from the next bar line on.
func (s *PlayAlong) SetTime(t playing.Timekeeping) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sounding.Time = t
	s.tell(s.player.SetTime(t))
}

// SetGhosts adds dead notes to the line or leaves them out, from the next bar line on.
func (s *PlayAlong) SetGhosts(on bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sounding.Ghosts = on
	return s.replace(s.a, s.isFree)
}

// SetMix changes levels at once and mutes at the next bar line.
func (s *PlayAlong) SetMix(m sound.Mix) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sounding.Mix = m
	s.tell(s.player.SetMix(m))
}

// NextPass begins the next pass at the next bar line. The one that is cut short
// is not judged.
func (s *PlayAlong) NextPass() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tell(s.player.NextPass())
}

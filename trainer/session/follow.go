package session

import (
	"slices"
	"time"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// look is how often the transport is looked at, and for missed events, while music
// plays; notes are marked as they come.
const look = 10 * time.Millisecond

// restLook is how often it is looked at while nothing plays.
const restLook = 25 * look

// task is what is to be played.
type task struct {
	arrangement *fretboard.Arrangement
	// bars are those of a pass, as the sound's course has them.
	bars take.Bars
	// free is set where the player makes the line up.
	free bool
}

// follower follows a player through passes: it brings together what an input hears
// and what the transport plays, marks each note as it comes, and ends each pass when
// it has been heard, with its score where there is an input. It has no goroutine.
// All times but epoch are musical: since the sound was opened.
type follower struct {
	input listen.Input // nil where nobody listens
	// epoch is the moment at which the input's clock (listen.Options.Now) was 0.
	epoch    time.Time
	clock    transport
	settings take.Settings
	task     task
	since    uint64
	live     *take.Live
	asked    []asked // goes with the events of live, from number gone on
	gone     int
	tape     take.Tape
	// pass is the pass that is being played, nil at rest; over are those that
	// wait to be graded.
	pass  *pass
	over  []*pass
	ahead *ahead
	// passing are bars walked freely that are over and not judged yet.
	passing []passing
	moving  bool // the transport is not at rest
	// byEar is set where the input listens to sound, and lag is how late it tells.
	byEar bool
	lag   time.Duration
	news  []Event
}

// asked is an event that live waits for.
type asked struct {
	pass     int
	expected take.Expected
}

// pass is a run of bars without a break.
type pass struct {
	number int
	// whole are the bars of a whole pass, first the one it began with.
	whole      take.Bars
	first      int
	broken     bool // in the middle of a bar
	last       sound.Played
	start, end time.Duration
	expected   []take.Expected // their times from the start
	tempo      float64
	layer      fretboard.Layer
	free       bool
	// began is no later than the first note that may belong to it.
	began time.Time
}

// ahead is what has been asked for of the bar that will come next, so that its
// first notes may be early.
type ahead struct {
	bar   int
	start harmony.Instant
	first int // the number of its first event
}

// newFollower makes a follower of an input, nil for none.
func newFollower(in listen.Input, epoch time.Time, clock transport, t task, settings take.Settings) *follower {
	s := &follower{input: in, epoch: epoch, clock: clock, task: t, settings: settings}
	if in != nil && in.Strums() != nil {
		s.byEar, s.lag = true, listen.EarLag
	}
	s.tape.ByEar = s.byEar
	s.rest()
	return s
}

// mostDelay is the most that an input is taken to be late.
const mostDelay = 250 * time.Millisecond

// rest forgets what was asked for. An input is as late afterwards as before.
func (s *follower) rest() {
	was := s.live
	s.live, s.asked, s.gone = take.NewLive(s.settings, s.byEar), nil, 0
	if was != nil && was.Shift().Abs() < mostDelay {
		s.live.Start(was.Shift())
	}
}

// when returns the musical time of a moment on the input's clock.
func (s *follower) when(at time.Duration) time.Duration {
	return s.clock.When(s.epoch.Add(at)).At.Duration()
}

// hear marks a note.
func (s *follower) hear(n listen.Note) []Event {
	if !n.On {
		return nil
	}
	s.bars(s.epoch.Add(n.At))
	if !s.atRest() {
		p := PlayedOf(n)
		p.Time = s.when(n.At)
		s.tape.Hear(p)
		if !s.task.free {
			s.mark(s.live.Hear(p), p, n.At)
		}
	}
	return s.told()
}

// strum marks a strum.
func (s *follower) strum(h listen.Strum) []Event {
	s.bars(s.epoch.Add(h.At))
	if !s.atRest() {
		st := StrumOf(h)
		st.Time = s.when(h.At)
		s.tape.Strum(st)
		if s.task.free {
			return s.told()
		}
		s.mark(s.live.Strum(st), take.Played{Time: st.Time}, h.At)
	}
	return s.told()
}

func (s *follower) atRest() bool { return s.pass == nil && s.ahead == nil && len(s.over) == 0 }

func (s *follower) tell(e Event) { s.news = append(s.news, e) }

// told returns what happened since the last time.
func (s *follower) told() []Event {
	news := s.news
	s.news = nil
	return news
}

func (s *follower) mark(live take.LiveMark, p take.Played, at time.Duration) {
	switch {
	case live.Event >= 0:
		a := s.asked[live.Event-s.gone]
		s.tell(Marked{
			Pass: a.pass, Played: p, Expected: a.expected, Verdict: live.Verdict, Offset: live.Offset, Stamped: s.epoch.Add(at),
		})
	case live.Extra && s.pass != nil: // in a count-in it is noodling
		s.tell(Marked{Pass: s.pass.number, Played: p, Extra: true, Stamped: s.epoch.Add(at)})
	}
}

// look sees what has passed by now.
func (s *follower) look(now time.Time) []Event {
	s.bars(now)
	at := s.clock.When(now).At.Duration()
	s.miss(now, at)
	s.walked(at)
	for len(s.over) > 0 && at >= s.over[0].end+s.late() {
		s.tell(s.end(s.over[0], now))
		s.over = s.over[1:]
	}
	return s.told()
}

// miss tells the events whose time has passed.
func (s *follower) miss(now time.Time, at time.Duration) {
	for _, i := range s.live.Missed(at - s.lag) {
		if s.input == nil {
			continue
		}
		a := s.asked[i-s.gone]
		m := Missed{Pass: a.pass, Expected: a.expected, Verdict: take.Missed}
		window := s.settings.WindowOf(a.expected.Beat)
		due := now.Sub(s.epoch) - (at - a.expected.Time)
		if len(s.input.Absent(due-window, due+window)) > 0 {
			m.Verdict = take.NotHeard
		}
		s.tell(m)
	}
}

// late is how long after the end of a pass its last note may be told: it may be
// played late, and be read a little after it was stamped.
func (s *follower) late() time.Duration {
	if s.input == nil {
		return 0
	}
	return s.settings.Window + s.settings.Spread + 2*look + s.lag
}

// idle reports whether nothing plays and no pass waits for its grade.
func (s *follower) idle() bool { return !s.moving && len(s.over) == 0 }

// bars takes in the bars that the transport has begun.
func (s *follower) bars(now time.Time) {
	var played []sound.Played
	played, s.since = s.clock.Since(s.since)
	for _, b := range played {
		s.bar(b, now)
	}
}

func (s *follower) bar(b sound.Played, now time.Time) {
	playing := b.State == sound.Playing
	s.moving = b.State >= sound.Counting
	if p := s.pass; p != nil && p.free && s.input != nil {
		s.passing = append(s.passing, passing{pass: p, bar: p.last.Number, end: min(p.end, b.Start.Duration())})
	}
	if p := s.pass; p != nil && (!playing || b.Pass != p.number || b.Number != p.last.Number+1) {
		if at := b.Start.Duration(); at < p.end-time.Millisecond {
			p.end, p.broken = at, true
		}
		s.over = append(s.over, p)
		s.pass = nil
	}
	from := 0 // how many of the bar's events were asked for ahead
	if a := s.ahead; a != nil {
		// The transport rounds a bar line once, not bar by bar.
		if playing && a.bar == b.Number && (a.start-b.Start).Duration().Abs() < time.Millisecond {
			of := s.asked[a.first-s.gone:]
			for i := range of {
				of[i].pass = b.Pass
			}
			from = len(of)
		} else {
			s.live.Void(a.first) // the music went elsewhere
		}
		s.ahead = nil
	}
	if !s.moving { // of a rest before the first bar nothing else is told
		s.rest()
		return
	}
	placed := harmony.Place(b.Bar, b.Start)
	switch b.State {
	case sound.Playing:
		if shift, moved := s.live.Follow(); moved && s.input != nil {
			s.tell(Followed{b.Pass, shift})
		}
		if s.pass == nil {
			s.pass = &pass{number: b.Pass, whole: s.span(), first: b.Number, start: b.Start.Duration(), tempo: b.Bar.Tempo, layer: s.task.arrangement.Layer, free: s.task.free, began: now.Add(-time.Second)}
			if b.Number == s.pass.whole.First {
				s.tell(begun{b.Pass, b.Bar.Tempo})
			}
		}
		s.pass.last, s.pass.end = b, placed.End().Duration()
		events := s.expect(b.Number, placed)
		for _, e := range events {
			e.Time -= s.pass.start
			s.pass.expected = append(s.pass.expected, e)
		}
		s.ask(b.Pass, events[min(from, len(events)):])
		next, of := s.after(b.Number), b.Pass
		if next <= b.Number {
			of++
		}
		s.askAhead(next, of, placed)
	case sound.Counting:
		if b.Number == 0 {
			s.askAhead(s.span().First, b.Pass, placed)
		}
	}
}

// span returns the bars of a pass with both ends told.
func (s *follower) span() take.Bars {
	b := s.task.bars
	b.First = max(b.First, 1)
	if b.Last == 0 {
		b.Last = len(s.task.arrangement.Tune.Unroll())
	}
	return b
}

// after returns the bar that follows another as a rule.
func (s *follower) after(bar int) int {
	span := s.span()
	if bar >= span.Last || bar < span.First {
		return span.First
	}
	return bar + 1
}

// expect lists what a bar asks for, in musical time.
func (s *follower) expect(bar int, placed harmony.PlacedBar) []take.Expected {
	if s.task.free {
		return nil
	}
	return take.Expect(s.task.arrangement, placed, take.Bars{First: bar, Last: bar})
}

func (s *follower) ask(pass int, events []take.Expected) {
	s.live.Add(events)
	s.asked = slices.Delete(s.asked, 0, s.live.First()-s.gone)
	s.gone = s.live.First()
	for _, e := range events {
		s.asked = append(s.asked, asked{pass: pass, expected: e})
	}
}

// askAhead asks for what lies on the bar line at the end of a bar. Its tempo may
// yet change, but not its place.
func (s *follower) askAhead(bar, pass int, placed harmony.PlacedBar) {
	s.ahead = &ahead{bar: bar, start: placed.End(), first: s.gone + len(s.asked)}
	var first []take.Expected
	for _, e := range s.expect(bar, placed.Next(placed.Bar)) {
		if e.Time == placed.End().Duration() {
			first = append(first, e)
		}
	}
	s.ask(pass, first)
}

// end is a pass that is over, graded where somebody listens.
func (s *follower) end(p *pass, now time.Time) ended {
	e := ended{
		pass: p.number, whole: !p.broken && p.first == p.whole.First && p.last.Number == p.whole.Last,
		tempo: p.tempo, start: harmony.InstantOf(p.start), length: p.end - p.start, layer: p.layer, free: p.free, bars: p.whole,
	}
	if s.input == nil {
		return e
	}
	if p.free {
		e.walk = s.free(p, p.end, p.whole.Last)
		s.tape.Cut(nil, p.start, p.end, nil, s.settings)
		return e
	}
	var absent []take.Span
	for _, gap := range s.input.Absent(p.began.Sub(s.epoch), now.Sub(s.epoch)) {
		absent = append(absent, take.Span{From: s.when(gap.From), To: s.when(gap.To)})
	}
	expected := p.expected
	for len(expected) > 0 && expected[len(expected)-1].Time >= p.end-p.start {
		expected = expected[:len(expected)-1] // broken off before it was due
	}
	e.score = s.tape.Cut(expected, p.start, p.end, absent, s.settings)
	return e
}

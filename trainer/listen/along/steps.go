package along

import (
	"slices"
	"time"

	"footfall/drills/take"
	"footfall/harmony"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// steps is the follower without its goroutine. All times but Epoch are musical:
// since the sound was opened.
type steps struct {
	Options
	task  Task
	since uint64
	live  *take.Live
	asked []asked // goes with the events of live, from number gone on
	gone  int
	tape  take.Tape
	// pass is the pass that is being played, nil at rest; over are those that
	// wait to be graded.
	pass   *pass
	over   []*pass
	ahead  *ahead
	moving bool   // the transport is not at rest
	told   []News // of bars that began
	// byEar is set where the input listens to sound, and lag is how late it tells.
	byEar bool
	lag   time.Duration
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

func newSteps(o Options) *steps {
	s := &steps{Options: o, task: o.Task}
	if o.Input.Strums() != nil {
		s.byEar, s.lag = true, listen.EarLag
	}
	s.tape.ByEar = s.byEar
	s.rest()
	return s
}

// rest forgets what was asked for. An input is as late afterwards as before.
func (s *steps) rest() {
	was := s.live
	s.live, s.asked, s.gone = take.NewLive(s.Settings, s.byEar), nil, 0
	if was != nil && was.Shift().Abs() < mostDelay {
		s.live.Start(was.Shift())
	}
}

// mostDelay is the most that an input is taken to be late.
const mostDelay = 250 * time.Millisecond

// when returns the musical time of a moment on the input's clock.
func (s *steps) when(at time.Duration) time.Duration {
	return s.Clock.When(s.Epoch.Add(at)).At.Duration()
}

// hear marks a note.
func (s *steps) hear(n listen.Note) []News {
	if !n.On {
		return nil
	}
	news := s.bars(s.Epoch.Add(n.At))
	if s.atRest() {
		return news
	}
	p := PlayedOf(n)
	p.Time = s.when(n.At)
	s.tape.Hear(p)
	return append(news, s.marked(s.live.Hear(p), p, n.At)...)
}

// strum marks a strum.
func (s *steps) strum(h listen.Strum) []News {
	news := s.bars(s.Epoch.Add(h.At))
	if s.atRest() {
		return news
	}
	st := StrumOf(h)
	st.Time = s.when(h.At)
	s.tape.Strum(st)
	return append(news, s.marked(s.live.Strum(st), take.Played{Time: st.Time}, h.At)...)
}

func (s *steps) atRest() bool { return s.pass == nil && s.ahead == nil && len(s.over) == 0 }

func (s *steps) marked(live take.LiveMark, p take.Played, at time.Duration) []News {
	switch {
	case live.Event >= 0:
		a := s.asked[live.Event-s.gone]
		return []News{Marked{
			Pass: a.pass, Played: p, Expected: a.expected, Verdict: live.Verdict, Offset: live.Offset, Stamped: s.Epoch.Add(at),
		}}
	case live.Extra && s.pass != nil: // in a count-in it is noodling
		return []News{Marked{Pass: s.pass.number, Played: p, Extra: true, Stamped: s.Epoch.Add(at)}}
	}
	return nil
}

// look sees what has passed by now.
func (s *steps) look(now time.Time) []News {
	news := s.bars(now)
	at := s.Clock.When(now).At.Duration()
	for _, i := range s.live.Missed(at - s.lag) {
		a := s.asked[i-s.gone]
		m := Missed{Pass: a.pass, Expected: a.expected, Verdict: take.Missed}
		window := s.Settings.WindowOf(a.expected.Beat)
		due := now.Sub(s.Epoch) - (at - a.expected.Time)
		if len(s.Input.Absent(due-window, due+window)) > 0 {
			m.Verdict = take.NotHeard
		}
		news = append(news, m)
	}
	// A note may be read a little after it was stamped.
	for len(s.over) > 0 && at >= s.over[0].end+s.Settings.Window+s.Settings.Spread+2*look+s.lag {
		news = append(news, s.grade(s.over[0], now))
		s.over = s.over[1:]
	}
	return news
}

// idle reports whether nothing plays and no pass waits for its grade.
func (s *steps) idle() bool { return !s.moving && len(s.over) == 0 }

// bars takes in the bars that the transport has begun, and tells what they bring.
func (s *steps) bars(now time.Time) (news []News) {
	var played []sound.Played
	played, s.since = s.Clock.Since(s.since)
	for _, b := range played {
		s.bar(b, now)
	}
	news, s.told = s.told, nil
	return news
}

func (s *steps) bar(b sound.Played, now time.Time) {
	playing := b.State == sound.Playing
	s.moving = b.State >= sound.Counting
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
	placed := harmony.Place(b.Bar, b.Start)
	switch b.State {
	case sound.Playing:
		if shift, moved := s.live.Follow(); moved {
			s.told = append(s.told, Followed{b.Pass, shift})
		}
		if s.pass == nil {
			s.pass = &pass{number: b.Pass, whole: s.span(), first: b.Number, start: b.Start.Duration(), tempo: b.Bar.Tempo, began: now.Add(-time.Second)}
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
	default:
		s.rest()
	}
}

// span returns the bars of a pass with both ends told.
func (s *steps) span() take.Bars {
	b := s.task.Bars
	b.First = max(b.First, 1)
	if b.Last == 0 {
		b.Last = len(s.task.Arrangement.Tune.Unroll())
	}
	return b
}

// after returns the bar that follows another as a rule.
func (s *steps) after(bar int) int {
	span := s.span()
	if bar >= span.Last || bar < span.First {
		return span.First
	}
	return bar + 1
}

// expect lists what a bar asks for, in musical time.
func (s *steps) expect(bar int, placed harmony.PlacedBar) []take.Expected {
	return take.Expect(s.task.Arrangement, placed, take.Bars{First: bar, Last: bar})
}

func (s *steps) ask(pass int, events []take.Expected) {
	s.live.Add(events)
	s.asked = slices.Delete(s.asked, 0, s.live.First()-s.gone)
	s.gone = s.live.First()
	for _, e := range events {
		s.asked = append(s.asked, asked{pass: pass, expected: e})
	}
}

// askAhead asks for what lies on the bar line at the end of a bar. Its tempo may
// yet change, but not its place.
func (s *steps) askAhead(bar, pass int, placed harmony.PlacedBar) {
	s.ahead = &ahead{bar: bar, start: placed.End(), first: s.gone + len(s.asked)}
	var first []take.Expected
	for _, e := range s.expect(bar, placed.Next(placed.Bar)) {
		if e.Time == placed.End().Duration() {
			first = append(first, e)
		}
	}
	s.ask(pass, first)
}

func (s *steps) grade(p *pass, now time.Time) Graded {
	var absent []take.Span
	for _, gap := range s.Input.Absent(p.began.Sub(s.Epoch), now.Sub(s.Epoch)) {
		absent = append(absent, take.Span{From: s.when(gap.From), To: s.when(gap.To)})
	}
	expected := p.expected
	for len(expected) > 0 && expected[len(expected)-1].Time >= p.end-p.start {
		expected = expected[:len(expected)-1] // broken off before it was due
	}
	return Graded{
		Pass: p.number, Score: s.tape.Cut(expected, p.start, p.end, absent, s.Settings),
		Whole: !p.broken && p.first == p.whole.First && p.last.Number == p.whole.Last,
		Tempo: p.tempo, Length: p.end - p.start,
	}
}

package session

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/history"
)

// Passage is what is to be played along.
type Passage struct {
	Tune Tune
	// Section is empty for the whole form, Layer for all of the arrangement; in the
	// layer FreeLayer the player makes the line up.
	Section, Layer string
	// School is what the shapes are drawn from, the desk's where it is empty.
	School string
	// Ramp is the tempo plan as ramp.Parse reads it, the tune's own tempo where it is
	// empty.
	Ramp string
	// Most is the tempo that the ramp climbs to for now, 0 for its end.
	Most float64
	// Passes is after how many passes it ends, 0 for no end; Length ends it after the
	// pass in which so much time is over, 0 for no such end.
	Passes int
	Length time.Duration
}

// ToItsEnd is the passage with as many passes as lead its ramp to the end where all are
// clean, or as many as it has already.
func (p Passage) ToItsEnd() Passage {
	if p.Passes == 0 {
		p.Passes = 1
		if r, err := ramp.Parse(p.Ramp); err == nil {
			p.Passes = r.Passes()
		}
	}
	return p
}

// LeftOff is the passage of a tune as its player left it: in the layer and at the tempo of
// the last pass that was kept, or as the day plans it where there is none, nil for no day.
// What the passage asks for itself stays, and so does one that nothing is known of.
func (d *Desk) LeftOff(p Passage, day *Agenda) (Passage, error) {
	if p.Layer != "" || p.Ramp != "" {
		return p, nil
	}
	var last history.Take
	if d.History != nil {
		takes, err := d.History.LastTakes(context.Background())
		if err != nil {
			return p, err
		}
		for it, t := range takes {
			if it.Kind == memory.Passage && it.Tune == p.Tune.Name && t.At.After(last.At) {
				last = t
			}
		}
	}
	if !last.At.IsZero() {
		p.Layer, p.Ramp = last.Item.Layer, fmt.Sprintf("%g", last.Tempo)
		if left, err := ramp.ParseProgress(last.Ramp); err == nil {
			p.Ramp = left.Rest().String()
		}
		return p, nil
	}
	if day == nil {
		return p, nil
	}
	for _, s := range day.Plan().Steps {
		if s.Tune == p.Tune.Name && s.Layer != "" {
			p.Layer, p.Ramp = s.Layer, s.Climb()
			break
		}
	}
	return p, nil
}

// read works out what the texts of a passage mean. Errors are the player's.
func (p Passage) read(d *Desk) (a *fretboard.Arrangement, bars take.Bars, plan ramp.Progress, err error) {
	layer, t := fretboard.Bass, p.Tune.Tune
	if p.free() {
		t = unwritten(t)
	} else if layer, err = tune.ParseLayer(cmp.Or(p.Layer, fretboard.BassHalves.String())); err != nil {
		return nil, bars, plan, err
	}
	r, err := ramp.Parse(cmp.Or(p.Ramp, fmt.Sprintf("%g", p.Tune.Tune.Tempo)))
	if err != nil {
		return nil, bars, plan, fmt.Errorf("--%w", err)
	}
	if bars, err = sectionBars(p.Tune.Tune, p.Section); err != nil {
		return nil, bars, plan, err
	}
	school := d.School
	if p.School != "" {
		if school, err = fretboard.ParseSchool(p.School); err != nil {
			return nil, bars, plan, err
		}
	}
	// Slow practice has the fingers of the fastest pass, and of the tune itself.
	a, err = fretboard.Arrange(t, d.Neck, d.Hand, layer, fretboard.AtTempo(max(p.Tune.Tune.Tempo, r.Target)), fretboard.InSchool(school))
	plan = r.Start()
	plan.Most = p.Most
	return a, bars, plan, err
}

// sectionBars returns the bars of a section's first time through the form, all
// bars for no name.
func sectionBars(t *tune.Tune, name string) (take.Bars, error) {
	form := t.Unroll()
	if name == "" {
		return take.Bars{First: 1, Last: len(form)}, nil
	}
	section := t.Section(name)
	if section == nil {
		return take.Bars{}, fmt.Errorf("the tune has no section %q; its form is %s", name, strings.Join(t.FormOrder(), " "))
	}
	for i, fb := range form {
		if fb.Section == name {
			return take.Bars{First: i + 1, Last: i + len(section.Bars)}, nil
		}
	}
	return take.Bars{}, fmt.Errorf("section %q is not played in the form %s; pick one that is", name, strings.Join(t.FormOrder(), " "))
}

// Result is how a pass went.
type Result struct {
	// Pass counts from 1.
	Pass  int
	Tempo float64
	// At is when it began, Length how long it lasted.
	At     time.Time
	Length time.Duration
	Layer  fretboard.Layer
	// Bars are those of the pass, counted through the form; section is what the history
	// calls them.
	Bars    take.Bars
	section string
	// Score is nil where nobody listened. Of the results of a session only the last
	// has it: it holds every note.
	Score *take.Score
	// Free is the walk of a pass in which the player made the line up, nil for others.
	Free *take.FreeTake
	free bool
	// heard is set where somebody listened.
	heard bool
	// Judged is set when Clean is known: from the score, or from the player.
	Judged, Clean bool
	// Bar is the bar that held a pass back by the player's word, 0 where none was named.
	Bar int
	// Why says why a scored pass is not clean.
	Why string
	// Ramp is the plan after this pass.
	Ramp ramp.Progress
}

// passes plays passes that nobody hears and that take no time but the clock's: a
// script's.
type passes struct {
	a       *fretboard.Arrangement
	bars    take.Bars
	plan    ramp.Progress // of the pass to come
	passage Passage
	takes   *takes
	results []Result
	waiting bool // for a word on the last result
	ended   bool
	done    bool
	began   time.Time
	// agenda is the day that the passes are step n of, nil for none.
	agenda *Agenda
	n      int
}

// passage makes what plays a passage: a play-along, or passes without sound where the
// clock stands still.
func (d *Desk) passage(p Passage) (run, error) {
	if d.Clock.Stopped() {
		return d.passes(p)
	}
	s, err := d.PlayAlong(p)
	return &played{s}, err
}

// played is a play-along as a step of a day: it goes on by itself, and says so.
type played struct{ *PlayAlong }

func (p *played) begin(s *Session) { s.tell(Playing{p.PlayAlong}) }

func (p *played) do(*Session, Command) { p.Close() }

func (p *played) stop(*Session) { p.Close() }

func (p *played) over() (over, done bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.ended, p.finished
}

func (p *played) summary(*Session) any { return SumOf(p.Arrangement(), p.Results()) }

// Passes makes a session of passes that take no time but the clock's.
func (d *Desk) Passes(p Passage) (*Session, error) {
	run, err := d.passes(p)
	if err != nil {
		return nil, err
	}
	return d.session(run), nil
}

func (d *Desk) passes(p Passage) (*passes, error) {
	a, bars, plan, err := p.read(d)
	if err != nil {
		return nil, err
	}
	return &passes{a: a, bars: bars, plan: plan, passage: p, takes: d.takes(p, memory.Own), began: d.Now()}, nil
}

func (p *passes) over() (over, done bool) { return p.ended, p.done }

func (p *passes) summary(*Session) any { return SumOf(p.a, p.results) }

// begin plays the next pass to its end.
func (p *passes) begin(s *Session) {
	r := Result{Pass: len(p.results) + 1, Tempo: p.plan.Tempo, At: s.now(), Length: p.lasts(), Layer: p.a.Layer, Bars: p.bars, section: p.passage.Section, free: p.passage.free(), Ramp: p.plan}
	s.advance(r.Length)
	p.results, p.waiting = append(p.results, r), true
	s.notify(p.takes.keep(r))
	s.tell(Pass{N: r.Pass, Tempo: r.Tempo, Seconds: r.Length.Seconds(), Result: r})
}

// lasts is how long a pass takes at the tempo of the one to come.
func (p *passes) lasts() time.Duration {
	at, err := p.a.Tune.Placed(p.bars.First, p.plan.Tempo)
	if err != nil {
		return 0 // a ramp has no such tempo
	}
	for _, fb := range p.a.Tune.Unroll()[p.bars.First:p.bars.Last] {
		next := at.Bar
		next.Meter = fb.Meter
		at = at.Next(next)
	}
	return at.End().Duration()
}

// stop ends it. A pass that nobody has judged is kept unjudged.
func (p *passes) stop(s *Session) {
	if p.waiting {
		p.waiting = false
		p.keep(s, false, false)
	}
	p.ended = true
}

func (p *passes) do(s *Session, c Command) {
	switch c := c.(type) {
	case Clean:
		switch n := len(p.results); {
		case c.Bar > 0 && !p.bars.Holds(c.Bar):
			s.fault(fmt.Sprintf("the pass has no bar %d: its bars are %d to %d", c.Bar, p.bars.First, p.bars.Last))
		case c.Pass == 0 || c.Pass == n:
			p.results[n-1].Bar = c.Bar
			p.judge(s, true, c.Clean)
		case c.Pass < n: // a word on one that was left unjudged, or another word
			r := &p.results[c.Pass-1]
			if !r.Judged {
				p.plan = p.plan.Said(c.Clean)
			}
			r.Judged, r.Clean, r.Bar = true, c.Clean, c.Bar
			s.notify(p.takes.keep(*r))
		default:
			s.fault(fmt.Sprintf("there is no pass %d yet: pass %d waits for a word", c.Pass, n))
		}
	case Skip:
		p.judge(s, false, false)
	case Leave:
		p.stop(s)
	default:
		s.fault("a pass waits: say whether it was clean, skip, leave or quit")
	}
}

// judge takes a word on the pass that waits, or that there is none, and goes on.
func (p *passes) judge(s *Session, judged, clean bool) {
	p.waiting = false
	p.keep(s, judged, clean)
	if p.agenda != nil {
		done, err := p.agenda.Passed(p.n, p.results[len(p.results)-1])
		s.notify(err)
		if done {
			p.ended, p.done = true, true
			return
		}
	}
	if len(p.results) == p.passage.Passes || p.passage.Length > 0 && s.now().Sub(p.began) >= p.passage.Length {
		p.ended, p.done = true, true
		return
	}
	p.begin(s)
}

func (p *passes) keep(s *Session, judged, clean bool) {
	r := &p.results[len(p.results)-1]
	if judged {
		p.plan = p.plan.After(clean)
	} else {
		p.plan = p.plan.Unjudged()
	}
	r.Judged, r.Clean, r.Ramp = judged, clean, p.plan
	s.notify(p.takes.keep(*r))
}

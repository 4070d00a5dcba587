package inputs

import (
	"context"
	"errors"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
)

// learned is a calibration under way, or what it found out.
type learned struct {
	*taps.Learning // nil where it is the room of a microphone that is learned
	port           string
	// stop ends the round that is played; nil between rounds.
	stop context.CancelFunc
	beat int
	// says is what came instead of what was asked; silent why the click could
	// not be heard.
	says, silent string
	done         bool
	report       []string
}

// beaten is a beat of a round; rounded is its end.
type beaten struct {
	of   *learned
	beat int
}

type rounded struct {
	of    *learned
	round taps.Round
	err   error
}

// calibrate begins to calibrate the input pointed at, which is picked by it.
func (p *Page) calibrate(strings bool) {
	if p.pick(); p.ear == nil {
		return
	}
	before, err := p.gear.Store.Calibration(p.pointed)
	if err != nil {
		p.tell(err)
		return
	}
	learning := taps.LearnDelay(before)
	if strings {
		learning = taps.LearnStrings(p.gear.Tuning.Open, len(p.gear.Tuning), before)
	}
	p.learned = &learned{Learning: learning, port: p.pointed}
}

// begun plays a round, or leaves what was found out.
func (p *Page) begun() tea.Cmd {
	l := p.learned
	switch {
	case l.done:
		p.learned = nil
		return nil
	case l.stop != nil:
		return nil // one is played
	}
	ctx, stop := context.WithCancel(context.Background())
	if l.Learning == nil {
		p.hearRoom(ctx, stop)
		return nil
	}
	l.stop, l.says, l.beat = stop, "", beforeClick
	e := p.ear
	o := taps.Options{
		Epoch: e.epoch, Tempo: p.gear.Tempo, Bars: p.gear.Bars, Sound: p.gear.Sound,
		Beat: func(beat int) { p.send(beaten{l, beat}) },
	}
	return func() tea.Msg {
		round, err := taps.Play(ctx, e, o)
		return rounded{l, round, err}
	}
}

// beforeClick is the beat before the first of the count-in, which is −3.
const beforeClick = -4

// took takes a round that was played.
func (p *Page) took(r rounded) {
	l := p.learned
	l.stop()
	l.stop = nil
	if r.err != nil {
		if !errors.Is(r.err, context.Canceled) {
			p.tell(r.err)
		}
		return
	}
	l.silent = r.round.Silent
	if err := l.Take(r.round); err != nil {
		l.says = err.Error()
		return
	}
	if !l.Finished() {
		return
	}
	p.keep(l.Learned(), nil)
}

// keep keeps what was learned, and reports it: by the lines given, nil for the
// calibration's own.
func (p *Page) keep(c listen.Calibration, report []string) {
	l := p.learned
	if report == nil {
		report = c.Report()
	}
	if err := p.gear.Store.Learn(l.port, c); err != nil {
		p.tell(err)
		p.learned = nil
		return
	}
	l.done, l.report = true, append(report, "Kept for "+l.port+".")
	p.known = withCalibration(p.known, l.port, c)
	p.again()
}

// withCalibration is the list with what was just learned of a port.
func withCalibration(known []listen.Known, port string, c listen.Calibration) []listen.Known {
	out := append([]listen.Known(nil), known...)
	for i := range out {
		if out[i].Name == port {
			out[i].Calibration = c
		}
	}
	return out
}

// abandon ends a calibration; what it learned so far is not kept.
func (p *Page) abandon() {
	if l := p.learned; l != nil && l.stop != nil {
		l.stop()
	}
	p.learned = nil
}

// roomHearer is an input that can learn its room, as a microphone.
type roomHearer interface {
	SetUp() (<-chan hearing.Room, error)
}

// roomed is what was learned of a room.
type roomed struct {
	of   *learned
	room hearing.Room
}

// setUp begins to learn the room of the microphone pointed at, which is picked by it.
func (p *Page) setUp() {
	if p.pick(); p.ear == nil {
		return
	}
	p.learned = &learned{port: p.pointed}
}

// hearRoom listens to the room.
func (p *Page) hearRoom(ctx context.Context, stop context.CancelFunc) {
	l := p.learned
	in, ok := p.ear.Input.(roomHearer)
	if !ok {
		stop()
		p.tell(errors.New(l.port + " cannot learn its room."))
		return
	}
	room, err := in.SetUp()
	if err != nil {
		stop()
		p.tell(err)
		return
	}
	l.stop, l.says = stop, ""
	p.start(func() {
		select {
		case r := <-room:
			p.send(roomed{l, r})
		case <-ctx.Done():
		}
	})
}

// tookRoom keeps a room that was learned, unless something is wrong with it.
func (p *Page) tookRoom(r hearing.Room) {
	l := p.learned
	l.stop()
	l.stop = nil
	if fault := r.Fault(); fault != "" {
		l.says = strings.TrimSuffix(fault, ".")
		return
	}
	c, err := p.gear.Store.Calibration(l.port)
	if err != nil {
		p.tell(err)
		return
	}
	c.Room = &r
	p.keep(c, []string{r.String()})
}

package inputs

import (
	"context"
	"errors"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
)

// learned is a calibration under way, or what it found out.
type learned struct {
	*taps.Learning
	port string
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
	c := l.Learned()
	if err := p.gear.Store.Learn(l.port, c); err != nil {
		p.tell(err)
		p.learned = nil
		return
	}
	l.done, l.report = true, append(c.Report(), "Kept for "+l.port+".")
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

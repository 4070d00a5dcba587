// Package play is the page that plays along: a rolling chart with the present beat and
// the bar to come, the neck with what is played and what comes next, the passes and
// how they went. What is played is chosen on it. The session it shows does the rest.
package play

import (
	"fmt"
	"strconv"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// Page plays one tune along.
type Page struct {
	theme  *theme.Theme
	neck   fretboard.Neck
	title  string
	along  *session.PlayAlong
	form   []tune.FormBar
	keys   keys
	width  int
	height int
	// drawn is the view of shown, so that frames between musical events cost
	// nothing.
	drawn string
	shown shown
	stale bool
	// What stands before the page: a look back on the last take, the choice of what is
	// played, or the sum at the end; at most one is not nil.
	review *review
	setUp  *setUp
	ending *ending
	// several is of how many passes the next word is, 0 for the one that has none.
	several int
	// naming is the pass of which digits name the bar that held it back, 0 for none.
	naming int
	// bar is the one chosen while nothing plays, from which and to which the loop is set; 0
	// for none.
	bar   int
	fault string
	// fingers is set while fingers stand on the neck, in the place of degrees.
	fingers bool
	// done is set once what the page was opened for is done, and back goes back then.
	done bool
	back func()
}

// shown is all that the view depends on and that moves with the music.
type shown struct {
	state sound.State
	pass  int
	bar   int
	beat  int
	off   bool
	// resting is set between two passes.
	resting bool
	// notice is the session's.
	notice string
}

type keys struct {
	start, on, toggle, clean, unclean, several, setUp, slower, faster, layer, free, heard, school, click, from, to, whole, next, review, delay, fingers, across key.Binding
}

func newKeys(t *theme.Theme) keys {
	return keys{
		start: page.Act.Key(t, "start"), on: page.Act.Key(t, "go on"), toggle: page.Switch.Key(t, "play/pause"), setUp: page.SetUp.Key(t, "set up"), slower: page.Less.Key(t, "slower"), faster: page.More.Key(t, "faster"),
		layer: page.Layer.Key(t, "layer"), free: page.Walk.Key(t, "make up the line"), school: page.School.Key(t, "school"), heard: page.Hear.Key(t, "what you hear"), click: page.Click.Key(t, "beats that click"),
		from: page.LoopFrom.Key(t, "loop from here"), to: page.LoopTo.Key(t, "to here"), whole: page.Whole.Key(t, "whole form"),
		next: page.Next.Key(t, "next pass"), clean: page.Clean.Key(t, "clean"), unclean: page.Unclean.Key(t, "not clean"),
		several: page.Several.Key(t, "then y or n: judge so many passes"), review: page.LookBack.Key(t, "look back on the take"), delay: page.Act.Key(t, "keep the delay"),
		fingers: page.Fingers.Key(t, "fingers or degrees"), across: page.Across.Key(t, "choose the bar"),
	}
}

// Told says that a play-along has told something.
type Told struct{ From *session.PlayAlong }

// New makes the page of a play-along, which it closes when it is left.
func New(t *theme.Theme, n fretboard.Neck, s *session.PlayAlong) *Page {
	tn := s.Arrangement().Tune
	return &Page{theme: t, neck: n, title: tn.Title, along: s, form: tn.Unroll(), keys: newKeys(t), stale: true}
}

// Init does nothing: what the play-along tells comes as Told.
func (p *Page) Init() tea.Cmd { return nil }

// Tune is what is played.
func (p *Page) Tune() *tune.Tune { return p.along.Arrangement().Tune }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height, p.stale = width, height, true }

// Small is true: without its neck the page fits terminals that others do not.
func (p *Page) Small() bool { return true }

// Title names the page and the tune.
func (p *Page) Title() string {
	switch {
	case p.review != nil:
		return page.Titled(p.theme, "last take", p.title)
	case p.ending != nil:
		return page.Titled(p.theme, "how it went", p.title)
	}
	return page.Titled(p.theme, "play along", p.title)
}

// Status says layer and tempo.
func (p *Page) Status() string {
	a, dot := p.along.Arrangement(), p.theme.Glyphs.Dot
	layer := a.Layer.Title()
	switch {
	case p.along.Free():
		layer = session.FreeLayer
	case a.School != fretboard.Mixed:
		layer += " " + dot + " " + a.School.String()
	}
	return fmt.Sprintf("%s %s %g BPM", layer, dot, p.along.Tempo())
}

// Passing is true: the page is made anew each time.
func (p *Page) Passing() bool { return true }

// Leave stops the music.
func (p *Page) Leave() tea.Cmd {
	return func() tea.Msg {
		p.along.Close()
		return nil
	}
}

// Step leaves what stands before the page, and sums up before the page itself is left.
func (p *Page) Step() (bool, tea.Cmd) {
	p.stale = true
	switch {
	case p.review != nil:
		p.review = nil
	case p.setUp != nil:
		p.setUp = nil
	case p.ending == nil && len(p.along.Results()) > 0:
		p.tell(p.along.Pause())
		p.ending = &ending{}
	default:
		return false, nil
	}
	return true, nil
}

// Keys lists the page's keys.
func (p *Page) Keys() []key.Binding {
	switch {
	case p.review != nil:
		return p.review.keys()
	case p.setUp != nil:
		return p.setUp.keys(p.theme)
	case p.ending != nil:
		return p.ending.keys(p)
	}
	k := p.keys
	unsaid := len(p.along.Unsaid()) > 0
	k.clean.SetEnabled(unsaid || p.several > 0)
	k.unclean.SetEnabled(unsaid || p.several > 0)
	k.several.SetEnabled(len(p.along.Results()) > 0)
	_, scored := p.lastScore()
	_, free := p.lastFree()
	k.review.SetEnabled(scored || free)
	_, late := p.along.Delay()
	k.delay.SetEnabled(late)
	k.on.SetEnabled(p.done && !late)
	k.start.SetEnabled(p.atStart() && !p.done && !late)
	k.across.SetEnabled(!p.along.Running())
	return []key.Binding{k.start, k.on, k.toggle, k.clean, k.unclean, k.delay, k.setUp, k.from, k.to, k.across, k.slower, k.faster, k.layer, k.whole, k.heard, k.review, k.click, k.next, k.free, k.school, k.fingers, k.several}
}

// Back is how the page goes back once what it was opened for is done.
func (p *Page) Back(back func()) { p.back = back }

// Update takes keys, and what the play-along tells.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case page.Done:
		p.done, p.stale = p.back != nil, true
	case Told:
		p.stale = p.stale || msg.From == p.along
	case page.Clicked:
		p.stale = true
		p.clicked(msg)
	case tea.KeyMsg:
		p.stale = true
		switch {
		case p.review != nil:
			p.reviewKey(msg)
		case p.setUp != nil:
			p.setUp.key(p, msg)
		case p.ending != nil:
			p.endingKey(msg)
		default:
			p.key(msg)
		}
	}
	return nil
}

// clicked takes a click on a line of what stands before the page.
func (p *Page) clicked(c page.Clicked) {
	switch {
	case p.review != nil:
		to, acts := page.Picked(c, p.review.at, len(p.review.bars))
		if p.review.at = to; acts {
			p.reviewKey(page.Pressed("enter"))
		}
	case p.setUp != nil:
		to, acts := page.Picked(c, p.setUp.at, len(choices))
		if p.setUp.at = to; acts {
			p.setUp.key(p, page.Pressed("right"))
		}
	case p.ending != nil:
		p.ending.back, _ = page.Picked(c, p.ending.back, len(p.along.Results()))
	}
}

func (p *Page) key(msg tea.KeyMsg) {
	s, k := p.along, p.keys
	p.fault = ""
	several := p.several
	p.several = 0
	if p.namesBar(msg) {
		return
	}
	switch {
	case key.Matches(msg, k.toggle), page.Act.Is(msg) && p.atStart():
		p.toggle()
	case page.Act.Is(msg) && p.done:
		if _, late := p.along.Delay(); late {
			p.along.KeepDelay()
			return
		}
		p.tell(p.along.Pause())
		p.ending = &ending{}
	case key.Matches(msg, k.across) && !s.Running():
		loop := s.Bars()
		p.bar = min(max(loop.First, p.here()+map[string]int{"left": -1, "right": 1}[page.Arrow(msg).String()]), loop.Last)
	case key.Matches(msg, k.setUp):
		p.setUp = &setUp{}
	case key.Matches(msg, k.slower):
		s.SetTempo(s.Tempo() - 2)
	case key.Matches(msg, k.faster):
		s.SetTempo(s.Tempo() + 2)
	case key.Matches(msg, k.fingers):
		p.fingers = !p.fingers
	case key.Matches(msg, k.free):
		p.tell(s.SetFree(!s.Free()))
	case key.Matches(msg, k.layer):
		p.tell(s.SetLayer((s.Arrangement().Layer + 1) % (fretboard.BassHalves + 1)))
	case key.Matches(msg, k.school):
		p.tell(s.SetSchool((s.Arrangement().School + 1) % (fretboard.Drop3s + 1)))
	case key.Matches(msg, k.heard):
		s.SetMix(nextHeard(s.Mix()))
	case key.Matches(msg, k.click):
		s.SetClick((s.Click() + 1) % playing.Click(len(playing.ClickNames)))
	case key.Matches(msg, k.from):
		s.SetLoop(take.Bars{First: p.here(), Last: max(p.here(), s.Bars().Last)})
	case key.Matches(msg, k.to):
		s.SetLoop(take.Bars{First: min(p.here(), s.Bars().First), Last: p.here()})
	case key.Matches(msg, k.whole):
		s.SetLoop(take.Bars{First: 1, Last: len(p.form)})
	case key.Matches(msg, k.next):
		s.NextPass()
	case key.Matches(msg, k.several):
		p.several = min(int(msg.Runes[0]-'0'), len(s.Results()))
	case key.Matches(msg, k.clean), key.Matches(msg, k.unclean):
		p.judge(several, key.Matches(msg, k.clean))
	case key.Matches(msg, k.delay):
		s.KeepDelay()
	case key.Matches(msg, k.review):
		if score, ok := p.lastScore(); ok {
			p.review = newReview(p.theme, score)
		} else if free, ok := p.lastFree(); ok {
			p.review = newFreeReview(p.theme, free)
		}
	}
}

// atStart reports whether nothing was played yet, and nothing plays.
func (p *Page) atStart() bool { return !p.along.Running() && p.along.Passes() == 0 }

func (p *Page) toggle() {
	if p.along.Running() {
		p.tell(p.along.Pause())
	} else {
		p.bar = 0
		p.tell(p.along.Play())
	}
}

// judge says a word on the last passes, or where their number is 0 on the last one that
// has none.
func (p *Page) judge(several int, clean bool) {
	if several > 0 {
		p.along.JudgeLast(several, clean)
		return
	}
	if n := p.along.Judge(clean); !clean {
		p.naming = n
	}
}

// named is the pass of which digits name a bar: while passes are played, the last one alone.
func (p *Page) named() int {
	if p.ending == nil && p.naming != len(p.along.Results()) {
		return 0
	}
	return p.naming
}

// namesBar takes a digit as one of the number of the bar that held back the pass that was just
// said to be not clean. Any other key ends that.
func (p *Page) namesBar(msg tea.KeyMsg) bool {
	n := p.named()
	digit, err := strconv.Atoi(msg.String())
	if n == 0 || err != nil {
		p.naming = 0
		return false
	}
	if !p.along.NameBar(n, 10*p.along.Results()[n-1].Bar+digit) {
		p.along.NameBar(n, digit) // another number
	}
	return true
}

func (p *Page) tell(err error) {
	if err != nil {
		p.fault = err.Error()
	}
}

// here is the bar that is heard or the one chosen, else the first of the loop at rest and in
// a count-in.
func (p *Page) here() int {
	if p.chosen() {
		return p.bar
	}
	if bar := p.along.Now().Point.Bar; bar >= 1 && bar <= len(p.form) {
		return bar
	}
	return p.along.Bars().First
}

// chosen reports whether a bar of the loop is chosen, and nothing plays.
func (p *Page) chosen() bool {
	loop := p.along.Bars()
	return p.bar >= loop.First && p.bar <= loop.Last && !p.along.Running()
}

// What can be heard, in the order of the key.
var heardNames = []string{"click, bass and shapes", "click and bass", "click and shapes", "the click alone", "bass and shapes, no click"}

var heardMutes = [][3]bool{{}, {false, false, true}, {false, true, false}, {false, true, true}, {true, false, false}} // click, bass, shapes

func heardOf(m sound.Mix) int {
	for i, mutes := range heardMutes {
		if mutes == [3]bool{m.MuteClick, m.MuteBass, m.MuteShapes} {
			return i
		}
	}
	return 0
}

func nextHeard(m sound.Mix) sound.Mix {
	mutes := heardMutes[(heardOf(m)+1)%len(heardMutes)]
	m.MuteClick, m.MuteBass, m.MuteShapes = mutes[0], mutes[1], mutes[2]
	return m
}

func (p *Page) lastScore() (*take.Score, bool) {
	rs := p.along.Results()
	if len(rs) == 0 || rs[len(rs)-1].Score == nil {
		return nil, false
	}
	return rs[len(rs)-1].Score, true
}

// View draws the page; between musical events it is the view before.
func (p *Page) View() string {
	now := p.along.Now()
	at := shown{now.State, now.Pass, now.Point.Bar, now.Beat, false, p.along.Resting(), p.notice()}
	at.off = now.Part*2 >= harmony.Parts
	if now.State == sound.Playing {
		at.off = now.Part >= now.Bar.OffPart()
	}
	if !p.stale && at == p.shown {
		return p.drawn
	}
	p.shown, p.stale = at, false
	switch {
	case p.review != nil:
		p.drawn = p.review.view(p.width, p.height)
	case p.ending != nil:
		p.drawn = p.ending.view(p)
	default:
		p.drawn = p.draw(now, at)
	}
	return p.drawn
}

func (p *Page) notice() string {
	if p.fault != "" {
		return p.fault
	}
	return p.along.Notice()
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// lead says a mean offset in few words.
func lead(d time.Duration) string {
	switch {
	case ms(d) >= 0.5:
		return fmt.Sprintf("%.0f ms late", ms(d))
	case ms(d) <= -0.5:
		return fmt.Sprintf("%.0f ms early", -ms(d))
	default:
		return "on time"
	}
}

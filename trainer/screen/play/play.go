// Package play is the page that plays along: the bars with the present beat, the
// neck with what is played and what comes next, the pass and its tempo, and how
// what the player does lies in time. The session it shows does the rest.
package play

import (
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

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
	drawn  string
	shown  shown
	stale  bool
	review *review
	fault  string
}

// shown is all that the view depends on and that moves with the music.
type shown struct {
	state sound.State
	pass  int
	bar   int
	beat  int
	off   bool
	// notice is the session's.
	notice string
}

type keys struct {
	toggle, slower, faster, layer, free, heard, school, click, from, to, whole, next, clean, unclean, review key.Binding
}

func newKeys(t *theme.Theme) keys {
	return keys{
		toggle: page.Switch.Key(t, "play/pause"), slower: page.Less.Key(t, "slower"), faster: page.More.Key(t, "faster"),
		layer: page.Layer.Key(t, "layer"), free: page.Walk.Key(t, "walk freely"), school: page.School.Key(t, "school"), heard: page.Hear.Key(t, "what is heard"), click: page.Click.Key(t, "click on"),
		from: page.LoopFrom.Key(t, "loop from here"), to: page.LoopTo.Key(t, "loop to here"), whole: page.Whole.Key(t, "whole form"),
		next: page.Next.Key(t, "next pass"), clean: page.Clean.Key(t, "clean"), unclean: page.Unclean.Key(t, "not clean"),
		review: page.LookBack.Key(t, "look back on the take"),
	}
}

// Told is what a play-along tells.
type Told struct {
	From  *session.PlayAlong
	Event session.Event
}

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

// Title names the page and the tune.
func (p *Page) Title() string {
	if p.review != nil {
		return page.Titled(p.theme, "last take", p.title)
	}
	return page.Titled(p.theme, "play along", p.title)
}

// Status says layer and tempo.
func (p *Page) Status() string {
	a := p.along.Arrangement()
	if p.along.Free() {
		return fmt.Sprintf("%s %s %g", session.FreeLayer, p.theme.Glyphs.Dot, p.along.Tempo())
	}
	if a.School != fretboard.Mixed {
		return fmt.Sprintf("%s %s %s %s %g", a.Layer, p.theme.Glyphs.Dot, a.School, p.theme.Glyphs.Dot, p.along.Tempo())
	}
	return fmt.Sprintf("%s %s %g", a.Layer, p.theme.Glyphs.Dot, p.along.Tempo())
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

// Step leaves the review of a take.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.review == nil {
		return false, nil
	}
	p.review, p.stale = nil, true
	return true, nil
}

// Keys lists the page's keys.
func (p *Page) Keys() []key.Binding {
	if p.review != nil {
		return p.review.keys()
	}
	k := p.keys
	judging := p.along.Judging()
	k.clean.SetEnabled(judging)
	k.unclean.SetEnabled(judging)
	_, scored := p.lastScore()
	_, free := p.lastFree()
	k.review.SetEnabled(scored || free)
	return []key.Binding{k.toggle, k.clean, k.unclean, k.slower, k.faster, k.layer, k.free, k.school, k.heard, k.review, k.click, k.from, k.to, k.whole, k.next}
}

// Update takes keys, and what the play-along tells.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case Told:
		p.stale = p.stale || msg.From == p.along
	case tea.KeyMsg:
		p.stale = true
		if p.review != nil {
			p.reviewKey(msg)
			return nil
		}
		p.key(msg)
	}
	return nil
}

func (p *Page) key(msg tea.KeyMsg) {
	s, k := p.along, p.keys
	p.fault = ""
	switch {
	case key.Matches(msg, k.toggle):
		if s.Running() {
			p.tell(s.Pause())
		} else {
			p.tell(s.Play())
		}
	case key.Matches(msg, k.slower):
		s.SetTempo(s.Tempo() - 2)
	case key.Matches(msg, k.faster):
		s.SetTempo(s.Tempo() + 2)
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
	case key.Matches(msg, k.clean):
		s.Judge(true)
	case key.Matches(msg, k.unclean):
		s.Judge(false)
	case key.Matches(msg, k.review):
		if score, ok := p.lastScore(); ok {
			p.review = newReview(p.theme, score)
		} else if free, ok := p.lastFree(); ok {
			p.review = newFreeReview(p.theme, free)
		}
	}
}

func (p *Page) tell(err error) {
	if err != nil {
		p.fault = err.Error()
	}
}

// here is the bar that is heard, the first of the loop at rest and in a
// count-in.
func (p *Page) here() int {
	if bar := p.along.Now().Point.Bar; bar >= 1 && bar <= len(p.form) {
		return bar
	}
	return p.along.Bars().First
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
	at := shown{now.State, now.Pass, now.Point.Bar, now.Beat, false, p.notice()}
	at.off = now.Part*2 >= harmony.Parts
	if now.State == sound.Playing {
		at.off = now.Part >= now.Bar.OffPart()
	}
	if !p.stale && at == p.shown {
		return p.drawn
	}
	p.shown, p.stale = at, false
	if p.review != nil {
		p.drawn = p.review.view(p.width, p.height)
	} else {
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

func (p *Page) draw(now sound.Now, at shown) string {
	var below []string
	for _, l := range strings.Split(p.drawNeck(at), "\n") {
		below = append(below, "  "+l)
	}
	below = append(below, "", p.plan(), p.lastTake())
	if at.notice != "" {
		for l := range strings.SplitSeq(ansi.Wordwrap(p.theme.Words(at.notice), max(10, p.width-4), ""), "\n") {
			below = append(below, p.theme.Warn.Render("  "+l))
		}
	}
	lines := append([]string{p.heading(now), ""}, p.drawBars(at, p.height-3-len(below))...)
	lines = append(append(lines, ""), below...)
	for i, l := range lines {
		lines[i] = ansi.Truncate(l, p.width, p.theme.Words("…"))
	}
	return strings.Join(page.Squeezed(lines, p.height), "\n")
}

// heading says where the music is.
func (p *Page) heading(now sound.Now) string {
	loop := p.along.Bars()
	where := fmt.Sprintf("bars %d to %d", loop.First, loop.Last)
	if loop.First == loop.Last {
		where = fmt.Sprintf("bar %d", loop.First)
	}
	switch now.State {
	case sound.Counting:
		where += "   count-in  " + countWords(now.Beat, now.Bar.Meter.Beats())
	case sound.Playing:
		where += fmt.Sprintf("   pass %d, bar %d, beat %d", max(1, p.along.Passes()), now.Point.Bar, now.Beat)
		if n := p.along.Extra(); n > 0 {
			where += fmt.Sprintf("   %d too many", n)
		}
	case sound.Paused:
		where += "   paused; space goes on"
	case sound.Finished:
		where += "   done; space plays again"
	default:
		where += "   space starts"
	}
	if p.along.Judging() {
		where += "   was that pass clean? y or x"
	}
	return "  " + p.theme.Strong.Render(where)
}

// countWords writes the beats of a bar, the present one in brackets.
func countWords(beat, of int) string {
	var beats []string
	for b := 1; b <= of; b++ {
		text := fmt.Sprintf(" %d ", b)
		if b == beat {
			text = fmt.Sprintf("[%d]", b)
		}
		beats = append(beats, text)
	}
	return strings.Join(beats, "")
}

// plan says what is heard, the click, and the tempos to come.
func (p *Page) plan() string {
	s := p.along
	var tempos []string
	for _, t := range s.Progress().Plan(6) {
		if text := fmt.Sprintf("%g", t); len(tempos) == 0 || tempos[len(tempos)-1] != text {
			tempos = append(tempos, text)
		}
	}
	dot := " " + p.theme.Glyphs.Dot + " "
	return p.theme.Dim.Render("  "+heardNames[heardOf(s.Mix())]+dot+"click on "+s.Click().String()+dot+"tempo ") + strings.Join(tempos, " ")
}

// lastTake says how the pass before went; while the player walks freely, how the
// last bar did.
func (p *Page) lastTake() string {
	if w, ok := p.along.LastBar(); ok {
		return p.theme.Words(fmt.Sprintf("  bar %d %s: %s", w.Bar, w.Verdict, w.Says))
	}
	rs := p.along.Results()
	if len(rs) == 0 {
		return p.theme.Dim.Render("  Stop at pain, numbness or tingling. Keep it so low that you can talk.")
	}
	r := rs[len(rs)-1]
	line := fmt.Sprintf("  pass %d at %g", r.Pass, r.Tempo)
	if r.Score != nil {
		line += fmt.Sprintf(": %d of %d right", r.Score.Matched, r.Score.Expected)
		if r.Score.Matched > 0 {
			line += fmt.Sprintf(", %s, spread %.0f ms", lead(r.Score.Lead()), ms(r.Score.Timing.Spread))
		}
	}
	if r.Free != nil {
		line += fmt.Sprintf(": %d of %d bars clear", r.Free.Clear, len(r.Free.Bars))
	}
	if r.Judged {
		line += map[bool]string{true: ", clean", false: ", not clean"}[r.Clean]
	}
	// Why stands here where it fits; the review of the take has it too.
	if why := line + ": " + r.Why; r.Why != "" && lipgloss.Width(why) <= p.width {
		line = why
	}
	return p.theme.Words(line)
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

// Package drill is the screen of a sitting: the question with the neck, the
// verdict on it, and the summary. What is asked, what counts and what is kept is the
// session's; the page shows what it tells and hands answers on.
package drill

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

type state uint8

const (
	asking  state = iota // a question waits
	tapping              // its rhythm is tapped
	keeping              // an answer is being stored
	judged               // the verdict shows
	over                 // the summary shows
)

// Page is the screen of one sitting.
type Page struct {
	theme   *theme.Theme
	session *session.Session
	id      page.ID
	title   string
	move    func(tea.Msg)
	send    func(tea.Msg)
	deaf    func()
	neck    fretboard.Neck
	width   int
	height  int
	keys    keys
	state   state
	asked   session.Question
	text    string
	// cursor is the place pointed at; it shows once an arrow key was pressed, and
	// stays where the hand is from question to question.
	cursor  fretboard.Place
	shown   bool
	places  []fretboard.Place
	drawn   neck.Drawing // the neck that was drawn last
	hint    string
	taps    *session.Tapping // while tapping
	beat    session.TapBeat
	judged  session.Judged
	answers []drills.Answer // so far
	early   []tea.KeyMsg
	trouble string
	summary drills.Summary
	// Aside stands beside the questions where there is room, with their tune.
	Aside aside.Pane
	// Sounds turns the soft sound of right and wrong off or on, and says which; nil where
	// there is none.
	Sounds func() (on bool, keep tea.Cmd)
	// goOn is after how long a right answer goes on by itself, 0 for not at all.
	goOn time.Duration
}

// onward goes on from a verdict by itself.
type onward struct {
	session *session.Session
	id      int
}

// GoOn lets right answers go on by themselves after a moment, 0 for not at all.
func (p *Page) GoOn(after time.Duration) { p.goOn = after }

// told is what the session told of an answer, which is kept by then.
type told struct {
	session *session.Session
	events  []session.Told
}

// New makes the page id of a session that has not begun and waits after each verdict,
// under a title, "" for one of its own. move asks the frame for
// another page, send sends a message from any goroutine; deaf ends the listening that
// was begun for the page.
func New(t *theme.Theme, id page.ID, s *session.Session, n fretboard.Neck, title string, move, send func(tea.Msg), deaf func()) *Page {
	p := &Page{theme: t, id: id, session: s, title: title, move: move, send: send, deaf: deaf, neck: n}
	p.keys = newKeys(t)
	p.take(s.Begin())
	return p
}

// Init does nothing: the first question is there when the page is made.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize takes the room there is.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title is the title given, else the drill and what it is about.
func (p *Page) Title() string {
	if p.title != "" {
		return p.title
	}
	return page.Titled(p.theme, drills.TitleOf(p.asked.Plan.Name), p.asked.Plan.Material.Title)
}

// Status counts the questions.
func (p *Page) Status() string {
	plan, n := p.asked.Plan, p.asked.N
	switch {
	case p.state == over:
		return "summary"
	case plan.Questions > 0:
		return fmt.Sprintf("question %d of %d", n, plan.Questions)
	case plan.Length > 0:
		return fmt.Sprintf("question %d %s %s left", n, p.theme.Glyphs.Dot, minutes(p.asked.Left))
	}
	return fmt.Sprintf("question %d", n)
}

func minutes(d time.Duration) string {
	switch {
	case d <= 0:
		return "no time"
	case d < time.Minute:
		return "under a minute"
	}
	return fmt.Sprintf("%d min", int((d+time.Minute/2)/time.Minute))
}

// Passing reports that a sitting left is not come back to.
func (p *Page) Passing() bool { return true }

// Step ends the music of taps, or the sitting with its summary, where something was
// answered.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.state == tapping {
		return true, p.rest()
	}
	if p.state == over || len(p.answers) == 0 {
		return false, nil
	}
	p.take(p.session.Do(session.Leave{}))
	return true, nil
}

// Leave stops listening.
func (p *Page) Leave() tea.Cmd {
	taps := p.taps
	return func() tea.Msg {
		if taps != nil {
			taps.Close()
		}
		p.deaf()
		return nil
	}
}

// Update takes keys, notes that were heard, and word that an answer was kept.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case tea.KeyMsg:
		return p.key(msg)
	case page.Clicked:
		return p.clicked(msg)
	case page.Note:
		return p.heard(msg)
	case page.Strum:
		if p.state == tapping {
			p.taps.Heard(msg.At, 0, true)
		}
	case beat:
		return p.beats(msg)
	case told:
		if msg.session == p.session {
			return p.kept(msg.events)
		}
	case onward:
		if msg.session == p.session && p.state == judged && p.judged.ID == msg.id {
			p.take(p.session.Do(session.Next{}))
		}
	}
	return nil
}

func (p *Page) key(k tea.KeyMsg) tea.Cmd {
	if p.Sounds != nil && p.state != tapping && p.state != keeping && key.Matches(k, p.keys.sounds) {
		on, keep := p.Sounds()
		p.move(page.Say{Line: "The sound of right and wrong is " + map[bool]string{true: "on.", false: "off."}[on]})
		return keep
	}
	switch p.state {
	case tapping:
		p.taps.Strike(memory.Typed)
		return nil
	case keeping:
		// Keys that come before the store has returned wait for their turn.
		p.early = append(p.early, k)
		return nil
	case judged:
		switch {
		case key.Matches(k, p.keys.next):
			p.take(p.session.Do(session.Next{}))
		case key.Matches(k, p.keys.slip):
			return p.command(session.Slip{})
		}
		return nil
	case over:
		if key.Matches(k, p.keys.next) {
			p.move(page.Back{})
		}
		return nil
	}
	p.hint = ""
	points := p.asked.Ask.Takes&(drills.FormPlace|drills.FormPlaces) != 0
	switch {
	case p.asked.Ask.Takes&drills.FormTaps != 0 && p.text == "" && (key.Matches(k, p.keys.tap) || key.Matches(k, p.keys.answer)):
		return p.begin()
	case key.Matches(k, p.keys.answer):
		return p.enter()
	case key.Matches(k, p.keys.help):
		return p.command(session.Help{})
	case p.text == "" && len(p.answers) > 0 && key.Matches(k, p.keys.slip):
		return p.command(session.Slip{})
	case points && (key.Matches(k, p.keys.move) || key.Matches(k, p.keys.ends)):
		p.session.FirstKey()
		p.point(k.String())
	case points && p.shown && p.asked.Ask.Takes&drills.FormPlaces != 0 && key.Matches(k, p.keys.place):
		p.toggle()
	case k.Type == tea.KeyBackspace:
		if r := []rune(p.text); len(r) > 0 {
			p.text = string(r[:len(r)-1])
		}
	case k.Type == tea.KeyRunes || k.Type == tea.KeySpace:
		if len(p.text)+len(k.Runes) <= 24 && p.asked.Ask.Takes&drills.FormText != 0 {
			p.session.FirstKey()
			p.text += string(k.Runes)
		}
	}
	return nil
}

// Letters reports whether letters are part of an answer.
func (p *Page) Letters() bool {
	takes := p.asked.Ask.Takes
	return p.state == asking && takes&drills.FormText != 0 && (p.text != "" || takes&(drills.FormPlace|drills.FormPlaces) == 0)
}

// clicked takes a click on a choice, which answers, or on the neck, which answers where
// one place is asked for and puts it down where several are.
func (p *Page) clicked(c page.Clicked) tea.Cmd {
	if p.state != asking {
		return nil
	}
	p.hint = ""
	takes := p.asked.Ask.Takes
	at, on := neck.At(p.drawn, c.X, c.N)
	switch {
	case c.On == page.Row && c.N < len(p.asked.Ask.Choices):
		p.session.FirstKey()
		return p.reply(drills.Typed(memory.Cursor, fmt.Sprint(c.N+1)))
	case c.On != page.Drawn || !on:
	case takes&drills.FormPlace != 0 && p.asked.Ask.String != 0 && at.String != p.asked.Ask.String:
		p.hint = fmt.Sprintf("That is string %d: the question is about string %d.", at.String, p.asked.Ask.String)
	case takes&drills.FormPlace != 0:
		p.session.FirstKey()
		p.cursor, p.shown = at, true
		return p.reply(drills.Pointed(at))
	case takes&drills.FormPlaces != 0:
		p.session.FirstKey()
		p.cursor, p.shown = at, true
		p.toggle()
	}
	return nil
}

// point shows the cursor, or moves it: fret by fret, string by string.
func (p *Page) point(k string) {
	if !p.shown {
		p.shown = true
		if p.asked.Ask.String != 0 {
			p.cursor.String = p.asked.Ask.String
		}
		return
	}
	if p.neck.LeftHanded {
		switch k {
		case "left":
			k = "right"
		case "right":
			k = "left"
		}
	}
	switch k {
	case "left":
		p.cursor.Fret = max(0, p.cursor.Fret-1)
	case "right":
		p.cursor.Fret = min(p.neck.HighestFret, p.cursor.Fret+1)
	case "up":
		p.cursor.String = max(1, p.cursor.String-1)
	case "down":
		p.cursor.String = min(len(p.neck.Tuning), p.cursor.String+1)
	}
	if s := p.asked.Ask.String; s != 0 && p.asked.Ask.Takes&drills.FormPlace != 0 {
		p.cursor.String = s // the pointer stays on the string that is asked
	}
	switch k {
	case "home":
		p.cursor.Fret = 0
	case "end":
		p.cursor.Fret = p.neck.HighestFret
	}
}

// toggle puts a place down, one a string, or takes it away.
func (p *Page) toggle() {
	for i, q := range p.places {
		if q.String == p.cursor.String {
			p.places = append(p.places[:i:i], p.places[i+1:]...)
			if q == p.cursor {
				return
			}
			break
		}
	}
	p.places = append(p.places, p.cursor)
}

func (p *Page) enter() tea.Cmd {
	switch {
	case strings.TrimSpace(p.text) != "":
		return p.reply(drills.Typed(memory.Typed, p.text))
	case len(p.places) > 0:
		return p.reply(drills.Reply{Way: memory.Cursor, Form: drills.FormPlaces, Places: p.places})
	case p.shown && p.asked.Ask.Takes&drills.FormPlace != 0:
		return p.reply(drills.Pointed(p.cursor))
	}
	p.session.Again() // enter alone hears the question once more
	p.hint = "Nothing is typed yet: type " + p.asked.Ask.Hint + p.orPoint() + "."
	return nil
}

func (p *Page) heard(n page.Note) tea.Cmd {
	switch {
	case p.state == tapping:
		if !n.Rang && !n.Unsure {
			p.taps.Heard(n.At, n.MIDI, n.Microphone)
		}
		return nil
	case p.state == asking && p.asked.Ask.Takes&drills.FormTaps != 0 && !n.Microphone && p.text == "":
		return p.begin()
	}
	if p.state != asking || p.asked.Ask.Takes&drills.FormSound == 0 {
		return nil
	}
	if n.Unsure {
		if !n.Rang {
			p.hint = drills.NotSure
		}
		return nil
	}
	if !n.Microphone {
		return p.reply(drills.Played(memory.MIDI, n.MIDI, n.String))
	}
	r := drills.Played(memory.Microphone, n.MIDI, n.String)
	r.Proof = drills.Early
	if n.Rang {
		r.Proof = drills.Rang
	}
	return p.reply(r)
}

func (p *Page) reply(r drills.Reply) tea.Cmd { return p.command(session.Answer{Reply: r}) }

// command does what keeps something, which may wait for the disk.
func (p *Page) command(c session.Command) tea.Cmd {
	p.state = keeping
	s := p.session
	return func() tea.Msg { return told{s, s.Do(c)} }
}

// pointAt puts the cursor on the right place, where the hand is or should be.
func (p *Page) pointAt(marks []fretboard.Mark) {
	var right []fretboard.Place
	for _, m := range marks {
		if m.Role == fretboard.Right {
			right = append(right, m.Place)
		}
	}
	if len(right) > 0 && !slices.Contains(right, p.cursor) {
		p.cursor = right[0]
	}
}

// kept shows what came of an answer, and takes the keys that came meanwhile.
func (p *Page) kept(events []session.Told) tea.Cmd {
	if len(events) == 0 && p.state == keeping { // no answer yet
		p.state = asking
	}
	p.take(events)
	early := p.early
	p.early = nil
	var cmds []tea.Cmd
	for _, k := range early {
		cmds = append(cmds, p.key(k))
	}
	// How a rhythm was tapped is to be read.
	if a := p.judged.Answer; p.goOn > 0 && p.state == judged && a.Right() && !a.Item.Kind.InTime() {
		on := onward{p.session, p.judged.ID}
		cmds = append(cmds, tea.Tick(p.goOn, func(time.Time) tea.Msg { return on }))
	}
	return tea.Batch(cmds...)
}

// take shows what the session told.
func (p *Page) take(events []session.Told) {
	for _, t := range events {
		switch e := t.Event.(type) {
		case session.Question:
			p.ask(e)
		case session.Judged:
			p.judged, p.state = e, judged
			p.answers = append(p.answers, e.Answer)
			p.keys.slip.SetEnabled(true)
			p.pointAt(e.Judgement.Marks)
		case session.Fault:
			p.hint, p.text, p.state = e.Says, "", asking
		case session.Notice:
			p.trouble = e.Says
		case session.End:
			p.state = over
			if e.Done {
				p.move(page.Done{ID: p.id})
			}
			if sum, ok := e.Summary.(session.SittingSummary); ok {
				p.summary = sum.Summary
			}
		}
	}
}

// ask shows a question.
func (p *Page) ask(q session.Question) {
	p.asked = q
	p.answers = p.answers[:min(len(p.answers), q.N-1)] // one may have been taken back
	p.state, p.text, p.hint, p.shown, p.places, p.taps = asking, "", "", false, nil, nil
	if p.cursor.String == 0 {
		p.cursor.String = p.neck.BassStrings[0]
	}
	if q.Ask.String != 0 {
		p.cursor.String = q.Ask.String
	}
	p.keys.forAsk(q.Kind, q.Ask)
	p.keys.slip.SetEnabled(len(p.answers) > 0)
}

// Keys lists the keys of the state the page is in.
func (p *Page) Keys() []key.Binding {
	p.keys.sounds.SetEnabled(p.Sounds != nil)
	return p.keys.of(p.state)
}

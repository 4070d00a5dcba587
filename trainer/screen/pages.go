package screen

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/screen/adding"
	"footfall/trainer/screen/arrangement"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/day"
	"footfall/trainer/screen/drill"
	"footfall/trainer/screen/drillmenu"
	"footfall/trainer/screen/home"
	"footfall/trainer/screen/inputs"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/play"
	"footfall/trainer/screen/review"
	"footfall/trainer/screen/shapes"
	"footfall/trainer/screen/theme"
	"footfall/trainer/screen/tuneroom"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// Services are what pages are made of.
type Services struct {
	Theme *theme.Theme
	Desk  *session.Desk
	// Guard ends the program in good order.
	Guard *Guard
	// Input opens what hears the player, for one page at a time; nil is no input,
	// and so is a nil Input that it gives.
	Input func() (listen.Input, error)
	// Inputs is what the page of inputs works with.
	Inputs inputs.Gear
	// Questions and Length are where a sitting ends; 0 is no such end.
	Questions int
	Length    time.Duration
	// GoOn is after how long a right answer goes on by itself, 0 for not at all.
	GoOn time.Duration
	// Mouse lets the mouse point, where the terminal tells of it.
	Mouse bool
	// AskBackground has the terminal asked for its background, where it is one.
	AskBackground bool
	// Settings are what the player has set. FirstStart asks for some of them first.
	Settings   Settings
	FirstStart bool
	// Notice is told when the screens open, "" for nothing to tell.
	Notice string

	// Passage is how tunes are played along unless a step of the day says otherwise.
	Passage session.Passage

	// Book is the player's own tunes.
	Book tunebook.Book

	moving sync.Mutex // a page that is being made asks too
	moves  []tea.Msg
	// edited is the tune that is played as the tune room has it.
	edited *tune.Tune
	laying sync.Mutex
	// setting is held where a setting changes, since a page of them may be in the making.
	setting sync.Mutex
	// agenda is the day's plan, once it was laid out.
	agenda *session.Agenda
}

// Go asks the frame for a page.Open, page.Back or page.Say, from a page's Update or
// while it is made. It is done before the next key is looked at, which a message that
// a command gives may not be.
func (s *Services) Go(m tea.Msg) {
	s.moving.Lock()
	defer s.moving.Unlock()
	s.moves = append(s.moves, m)
}

// move takes what was asked for first; false where nothing is.
func (s *Services) move() (tea.Msg, bool) {
	s.moving.Lock()
	defer s.moving.Unlock()
	if len(s.moves) == 0 {
		return nil, false
	}
	m := s.moves[0]
	s.moves = s.moves[1:]
	return m, true
}

// makers is the table of pages: which kind of ID is made by what. A new page is
// a row here, and a row in doors if the first screen leads to it.
var makers = map[string]func(*Services, page.ID) (page.Page, error){
	"home": func(s *Services, _ page.ID) (page.Page, error) {
		ofLessons := s.Desk.LessonTunes()
		return home.New(home.Room{
			Theme: s.Theme, Neck: func() fretboard.Neck { return s.Desk.Neck }, Front: s.front, Step: s.stepOf,
			Day: TodayOf("", 0), Tune: arrangementOf, Move: s.Go, Doors: doors, Fresh: s.Desk.Fresh(),
			Tunes: func() []session.Tune { return slices.Concat(s.Desk.AllTunes(), ofLessons) },
		}), nil
	},
	"drills": func(s *Services, id page.ID) (page.Page, error) {
		return drillmenu.New(s.Theme, s.Desk, id.Tune, s.Go, DrillOf), nil
	},
	"drill": func(s *Services, id page.ID) (page.Page, error) {
		name, chords, _ := strings.Cut(id.Arg, " ")
		return s.drill(id, session.Choice{Drill: name, Tune: id.Tune, Chords: chords, Questions: s.Questions, Length: s.Length}, "")
	},
	"arrangement": func(s *Services, id page.ID) (page.Page, error) {
		t, err := s.Desk.Tune(id.Tune)
		if err != nil {
			return nil, err
		}
		return arrangement.New(s.Theme, s.Desk.Neck, s.Desk.Hand, s.Desk.School, t.Tune, arrangement.Doors{
			Play: func() { s.Go(page.Open{ID: PlayOf(id.Tune)}) },
			Pin: func(section string, bar, beat int, frets string) (func() error, error) {
				pinned, err := s.Desk.Pin(s.Book, id.Tune, section, bar, beat, frets)
				if err != nil {
					return nil, err
				}
				s.Go(page.Changed{Tune: id.Tune})
				return func() error {
					s.Go(page.Changed{Tune: id.Tune})
					return pinned.Undo()
				}, nil
			},
			Tune: func() *tune.Tune {
				if now, err := s.Desk.Tune(id.Tune); err == nil {
					return now.Tune
				}
				return t.Tune
			},
		}), nil
	},
	"play": func(s *Services, id page.ID) (page.Page, error) {
		t, err := s.Desk.Tune(id.Tune)
		if err != nil {
			return nil, err
		}
		p := s.Passage
		p.Tune = t
		if p, err = s.Desk.LeftOff(p, s.underWay()); err != nil {
			return nil, err
		}
		if id.Arg == asEdited {
			p.Tune.Tune = s.edited
		}
		return s.playAlong(p, func([]session.Result) {})
	},
	"edit": func(s *Services, id page.ID) (page.Page, error) { return s.tuneRoom(id) },
	"today": func(s *Services, id page.ID) (page.Page, error) {
		minutes, err := strconv.Atoi(cmp.Or(id.Arg, "0"))
		if err != nil {
			return nil, err
		}
		agenda, err := s.today(session.Day{Minutes: minutes, Tune: id.Tune})
		if err != nil {
			return nil, err
		}
		p := day.New(s.Theme, agenda, s.Go, s.stepOf)
		p.Beside, p.Look = s.aside, func() (session.Front, error) { return s.Desk.Front(agenda) }
		return p, nil
	},
	"step": func(s *Services, id page.ID) (page.Page, error) { return s.step(id) },
	"add": func(s *Services, _ page.ID) (page.Page, error) {
		return adding.New(adding.Room{
			Theme: s.Theme, Read: s.Desk.Add, Move: s.Go, To: func(tune string) page.ID { return page.ID{Kind: "arrangement", Tune: tune} },
			Keep:  func(a *session.Adding) (session.Tune, bool, error) { return s.Desk.Keep(a, s.Book) },
			Draft: s.Book.Draft(chartDraft),
		}), nil
	},
	"lessons": func(s *Services, _ page.ID) (page.Page, error) { return s.lessonList() },
	"lesson":  func(s *Services, id page.ID) (page.Page, error) { return s.lessonPage(id.Arg) },
	"task":    func(s *Services, id page.ID) (page.Page, error) { return s.task(id) },
	"review": func(s *Services, _ page.ID) (page.Page, error) {
		return review.New(s.Theme, s.Desk.Neck, memory.DayOf(s.Desk.Now()), s.Desk.Review), nil
	},
	"inputs": func(s *Services, _ page.ID) (page.Page, error) {
		return inputs.New(s.Theme, s.Inputs, guard.Go, s.Guard.Send), nil
	},
	"settings": func(s *Services, _ page.ID) (page.Page, error) { return s.preferences(), nil },
	"welcome":  func(s *Services, _ page.ID) (page.Page, error) { return s.welcome(), nil },
	"shapes": func(s *Services, id page.ID) (page.Page, error) {
		return shapes.New(s.Theme, s.Desk.Neck, s.Desk.Hand, id.Arg)
	},
}

// chartDraft is the name under which a chart is kept that is no tune yet: it has no file.
const chartDraft = "chart"

// playAlong makes the page of a passage; took is told of the passes so far, whenever
// something may have changed of them.
func (s *Services) playAlong(p session.Passage, took func([]session.Result)) (page.Page, error) {
	along, err := s.Desk.PlayAlong(p)
	if err != nil {
		return nil, err
	}
	guard.Go(func() {
		for range along.Events() {
			for more := len(along.Events()); more > 0; more-- { // the page looks once at all that is there
				<-along.Events()
			}
			s.Guard.Send(play.Told{From: along})
			took(along.Results())
		}
		took(along.Results()) // with the words that were said at the end
	})
	room := play.New(s.Theme, s.Desk.Neck, along)
	room.Back(func() { s.Go(page.Back{}) })
	return room, nil
}

// today is the day under way, or one that is asked for in its place.
func (s *Services) today(ask session.Day) (*session.Agenda, error) {
	s.laying.Lock()
	defer s.laying.Unlock()
	if usual := ask.Minutes == 0 && ask.Tune == ""; usual && s.agenda != nil && s.agenda.Plan().Day == memory.DayOf(s.Desk.Now()).String() {
		return s.agenda, nil
	}
	a, err := s.Desk.Agenda(ask)
	if err == nil {
		s.agenda = a
	}
	return a, err
}

// underWay is the day that the pages of steps are about.
func (s *Services) underWay() *session.Agenda {
	s.laying.Lock()
	defer s.laying.Unlock()
	return s.agenda
}

// aside is what stands beside a page about a tune, "" for none.
func (s *Services) aside(name string) aside.Pane {
	pane := aside.Pane{Neck: s.Desk.Neck}
	if t, err := s.Desk.Tune(name); err == nil && name != "" {
		pane.Tune = t.Tune
	}
	return pane
}

// front is what the first screen shows.
func (s *Services) front() (session.Front, error) {
	a, err := s.today(session.Day{})
	if err != nil {
		return session.Front{}, err
	}
	return s.Desk.Front(a)
}

// step makes the page of a step of the day's plan: its questions, or what it plays.
func (s *Services) step(id page.ID) (page.Page, error) {
	n, err := strconv.Atoi(id.Arg)
	if err != nil {
		return nil, err
	}
	return s.stepPage(id, n)
}

// stepPage makes the page of the step with a number.
func (s *Services) stepPage(id page.ID, n int) (page.Page, error) {
	agenda := s.underWay()
	step, err := agenda.Begin(n)
	if err != nil {
		return nil, err
	}
	asked, asks, err := agenda.Questions(n, true)
	if err != nil {
		return nil, err
	}
	if asks {
		if l := s.Desk.Lesson(step.Lesson); l != nil {
			p := s.asking(id, asked, page.Titled(s.Theme, "lesson", l.Title))
			p.Aside.Blocks = []aside.Block{aside.Taught(s.Theme, l)}
			return p, nil
		}
		return s.asking(id, asked, page.Titled(s.Theme, "today", shortOf(step))), nil
	}
	p, plays, err := agenda.Passage(n)
	if err != nil {
		return nil, err
	}
	if !plays {
		return nil, fmt.Errorf("step %d has nothing to ask or to play", n)
	}
	following, told := agenda.Follow(n), false
	return s.playAlong(p, func(results []session.Result) {
		if done, err := following.Take(results); err == nil && done {
			s.Guard.Send(page.Done{ID: id})
			if !told {
				told = true
				s.Guard.Send(page.Say{Line: "That is what was asked for. Enter goes on with the day; or play on as you like."})
			}
		}
	})
}

// shortOf is what a step is called where there is little room.
func shortOf(step today.Step) string {
	name, _, _ := strings.Cut(step.Text, ":")
	return name
}

// drill makes the page of a choice.
func (s *Services) drill(id page.ID, c session.Choice, title string) (page.Page, error) {
	asked, err := s.Desk.Drill(c, true)
	if err != nil {
		return nil, err
	}
	return s.asking(id, asked, title), nil
}

// asking is the page of a session of questions.
func (s *Services) asking(id page.ID, asked *session.Session, title string) *drill.Page {
	p := drill.New(s.Theme, id, asked, s.Desk.Neck, title, s.Go, s.Guard.Send, s.hear())
	p.Aside = s.aside("")
	p.Aside.Places = s.Desk.Places()
	p.GoOn(s.GoOn)
	if s.Desk.Hearing != nil {
		p.Sounds = s.sounds
	}
	return p
}

// doors are the ways from the first screen to other pages, in the order they
// are shown.
var doors = []home.Door{
	{Key: page.PlayAlong, Says: "play along", NeedsTune: true, To: PlayOf},
	{Key: page.Arrangement, Says: "arrangement", NeedsTune: true, To: arrangementOf},
	{Key: page.Edit, Says: "edit", NeedsTune: true, To: EditOf},
	{Key: page.Drills, Says: "drills", To: func(t string) page.ID { return page.ID{Kind: "drills", Tune: t} }},
	{Key: page.Lessons, Says: "lessons", To: func(string) page.ID { return Lessons }},
	{Key: page.Shapes, Says: "shapes", To: func(string) page.ID { return page.ID{Kind: "shapes"} }},
	{Key: page.LookBack, Says: "look back", To: func(string) page.ID { return page.ID{Kind: "review"} }},
	{Key: page.Today, Says: "plan of the day", To: func(string) page.ID { return TodayOf("", 0) }},
	{Key: page.Add, Says: "add a tune", To: func(string) page.ID { return page.ID{Kind: "add"} }},
	{Key: page.Inputs, Says: "inputs", To: func(string) page.ID { return page.ID{Kind: "inputs"} }},
	{Key: page.SetUp, Says: "settings", To: func(string) page.ID { return Preferences }},
}

// asEdited is the argument of a play-along page that plays what the tune room has.
const asEdited = "edited"

// tuneRoom makes the page that edits a tune: the text of its file where it has
// one, else the tune, which is then saved among the player's own.
func (s *Services) tuneRoom(id page.ID) (page.Page, error) {
	t, err := s.Desk.Tune(id.Tune)
	if err != nil {
		return nil, err
	}
	file, text, err := session.TuneFile(s.Book, t)
	if err != nil {
		return nil, err
	}
	return tuneroom.New(tuneroom.Room{
		Theme: s.Theme, Neck: s.Desk.Neck, Hand: s.Desk.Hand, School: s.Desk.School, WalkingHand: session.WalkingHand(s.Desk.Neck),
		Text: text, File: file, Draft: s.Book.Draft(file.Path()), BuiltIn: t.Path == "" && t.Lesson == "", Move: s.Go,
		Hear: func(edited *tune.Tune) {
			s.edited = edited
			s.Go(page.Open{ID: page.ID{Kind: "play", Tune: id.Tune, Arg: asEdited}})
		},
		Saved: func(saved *tune.Tune) {
			s.Desk.Put(t.Changed(saved, file.Path()))
			s.Go(page.Changed{Tune: id.Tune})
		},
	})
}

// EditOf is the page that edits a tune.
func EditOf(tune string) page.ID { return page.ID{Kind: "edit", Tune: tune} }

// hear hands the notes that begin to the page on top, until deaf is called. An
// input that cannot be opened is a line to the player.
func (s *Services) hear() (deaf func()) {
	if s.Input == nil {
		return func() {}
	}
	epoch := clock.Now()
	in, err := s.Input()
	if err != nil {
		s.Go(page.Say{Line: err.Error()})
		return func() {}
	}
	if in == nil {
		return func() {}
	}
	guard.Go(func() {
		for notes := in.Notes(); ; {
			select {
			case n, ok := <-notes:
				if !ok {
					return
				}
				if n.On || n.Rang {
					s.Guard.Send(page.Note{At: epoch.Add(n.At), MIDI: n.MIDI, String: n.String, Microphone: n.Channel == 0, Unsure: n.Unsure(), Rang: n.Rang})
				}
			case st := <-in.Strums():
				s.Guard.Send(page.Strum{At: epoch.Add(st.At)})
			}
		}
	})
	return func() {
		if err := in.Close(); err != nil {
			s.Guard.Send(page.Say{Line: err.Error()})
		}
	}
}

// Home is the first screen.
var Home = page.ID{Kind: "home"}

// arrangementOf is the page that walks through a tune.
func arrangementOf(tune string) page.ID { return page.ID{Kind: "arrangement", Tune: tune} }

// PlayOf is the page that plays a tune along.
func PlayOf(tune string) page.ID { return page.ID{Kind: "play", Tune: tune} }

// TodayOf is the page of the day's plan: at a tune first, "" for none, and with so
// many minutes, 0 for the usual.
func TodayOf(tune string, minutes int) page.ID {
	return page.ID{Kind: "today", Tune: tune, Arg: strconv.Itoa(minutes)}
}

// stepOf is the page of a step of the day's plan, a lesson's text before what it asks;
// false where it has none.
func (s *Services) stepOf(step today.Step) (page.ID, bool) {
	if step.N == 0 {
		return page.ID{}, false
	}
	if step.Kind == today.Lesson && step.Lesson != "" {
		return LessonOf(step.Lesson), true
	}
	return page.ID{Kind: "step", Arg: strconv.Itoa(step.N)}, true
}

// DrillOf is the page of a choice.
func DrillOf(c session.Choice) page.ID {
	return page.ID{Kind: "drill", Tune: c.Tune, Arg: c.Drill + " " + c.Chords}
}

func (s *Services) page(id page.ID) (page.Page, error) {
	m, ok := makers[id.Kind]
	if !ok {
		return nil, fmt.Errorf("there is no page %q", id.Kind)
	}
	return m(s, id)
}

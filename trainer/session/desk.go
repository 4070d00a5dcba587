// Package session is what the faces of the program share: the tunes and chords
// there are to pick, and a sitting whose answers are kept.
//
// It knows the drills and the history; it must never know a screen or lines of
// text.
package session

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/nearest"
)

// Tune is a tune to pick.
type Tune struct {
	// Name is its name on the command line.
	Name string
	Tune *tune.Tune
	// Path is its file, "" for a tune that comes with the program or with a lesson.
	Path string
	// Lesson is the title of the lesson whose own tune it is, "" for none, and Teachers is set
	// where a teacher gave that.
	Lesson   string
	Teachers bool
}

// Says tells in a line what the tune trains, or which lesson brings it; "" where neither is
// known.
func (t Tune) Says() string {
	switch {
	case t.Tune.Trains != "" || t.Lesson == "":
		return t.Tune.Trains
	case t.Teachers:
		return "From your teacher's lesson " + t.Lesson + "."
	}
	return "From the lesson " + t.Lesson + "."
}

// History keeps answers, as a *history.Keeper does.
type History interface {
	Begin(context.Context, history.Sitting) (history.Sitting, error)
	Append(context.Context, history.Answer) (history.Answer, error)
	AppendTake(context.Context, history.Take) (history.Take, error)
	// JudgePass gives a pass that was kept its verdict, the bar that held it back, 0 for none,
	// and the ramp after it.
	JudgePass(ctx context.Context, id uuid.UUID, clean bool, bar int, ramp string) error
	// Withdraw takes an answer back that was kept.
	Withdraw(context.Context, history.Answer) error
	// Pace gives the player's own times for a kind of question.
	Pace(memory.Kind, memory.Way) memory.Pace
	// States gives what is known of every item that was ever asked.
	States(context.Context) (map[memory.Item]memory.State, error)
	// LastTakes gives the latest take of each passage.
	LastTakes(context.Context) (map[memory.Item]history.Take, error)
	// Answers calls each with every answer since a moment, the earliest first.
	Answers(ctx context.Context, since time.Time, each func(history.Answer) error) error
	// KeepPlan keeps the plan of a day, LastPlan gives that of the latest day up to one.
	KeepPlan(context.Context, history.Plan) error
	LastPlan(ctx context.Context, upTo memory.Day) (history.Plan, bool, error)
	// TunesInWork names the tunes practised since a moment, the latest first.
	TunesInWork(context.Context, time.Time) ([]string, error)
	// Look gives what is kept since a day, for looking back on.
	Look(ctx context.Context, since, today memory.Day) (progress.Record, error)
	// Notice is a line for the player about the history, "" when all is well.
	Notice() string
}

// Desk is where practice starts. Its fields are set once and then only read, but
// for the tunes: the loop that shows the pages may Put one.
type Desk struct {
	// Tunes are those at the beginning; AllTunes tells what lies there later.
	Tunes []Tune
	Neck  fretboard.Neck
	Hand  fretboard.Hand
	// School is what shapes are drawn from where a passage names none.
	School fretboard.School
	// Taught are lessons of the player's teacher.
	Taught []*lesson.Lesson
	// History keeps the answers; nil forgets them with the program.
	History History
	// Minutes is how long a day's plan is and BreakAfter after how many of them a
	// break is proposed, as today.Request has them; 0 is as long as usual.
	Minutes, BreakAfter int
	// Sounding is how play-alongs sound, and how they are heard.
	Sounding Sounding
	// Hearing lets the chords of questions be heard; nil, or a clock that stands still,
	// has them named instead.
	Hearing *Hearing

	close   func() error
	putting sync.Mutex
	works   works
	// Now tells the time, Seed gives chance for each new sitting. Clock is what Now
	// reads, where it may be told to stand still.
	Now   func() time.Time
	Clock *clock.Clock
	Seed  func() uint64
}

// Choice is what a player picked.
type Choice struct {
	// Drill is the name of a kind of question, or drills.Mixed.
	Drill string
	// Tune is a tune's name; where it is empty Chords is the name of a set.
	Tune, Chords string
	// Questions and Length end the sitting. Where both are 0 it ends after
	// UsualQuestions, a walk at its last note.
	Questions int
	Length    time.Duration
	// Only are the items to ask about; nil for all there are. A walk minds it not.
	Only []memory.Item
	// step is the step of the day that it is, nil for none, before what was answered last.
	step   *today.Step
	before today.Last
}

// UsualQuestions ends a sitting for which nothing else was asked.
const UsualQuestions = 20

// Drill is a drill to pick.
type Drill struct {
	Name, Says string
	// Title is what players call it.
	Title string
	// NeedsTune is set where chords alone will not do.
	NeedsTune bool
	// Needs is what it asks about beyond chords alone, in words, "" for nothing.
	Needs string
}

// Drills lists the drills there are.
func Drills() []Drill {
	var ds []Drill
	for _, k := range drills.Kinds {
		ds = append(ds, Drill{Name: string(k.Name), Title: drills.TitleOf(string(k.Name)), Says: k.Says, NeedsTune: k.Ordered, Needs: k.Needs})
	}
	return append(ds, Drill{Name: drills.Mixed, Title: drills.Mixed, Says: "every kind but walk the line, by turns"})
}

// Asks is nil where a drill finds something to ask about in a choice, or says what is
// lacking.
func (d *Desk) Asks(c Choice) error {
	kinds, err := drills.KindsNamed(c.Drill)
	if err != nil {
		return err
	}
	m, err := d.material(c)
	if err != nil || len(kinds) > 1 {
		return err
	}
	m.Hand = d.Hand
	return m.Has(kinds[0])
}

// material is what a choice asks about.
func (d *Desk) material(c Choice) (drills.Material, error) {
	if c.Tune != "" {
		t, err := d.Tune(c.Tune)
		if err != nil {
			return drills.Material{}, err
		}
		return drills.OfTune(t.Name, t.Tune, d.Neck), nil
	}
	var names []string
	for _, s := range drills.Sets {
		if s.Name == c.Chords {
			return drills.OfSet(s, d.Neck)
		}
		names = append(names, s.Name)
	}
	if strings.ContainsAny(c.Chords, "ABCDEFG") {
		return drills.OfSymbols(c.Chords, c.Chords, c.Chords, d.Neck)
	}
	advice := nearest.Advice(c.Chords, append(names, "or chord symbols with spaces between"))
	return drills.Material{}, fmt.Errorf("no set of chords is called %q: %s", c.Chords, advice)
}

// Tune finds a tune by its name or its title, in any case. The error names
// the tune that may have been meant, or all there are.
func (d *Desk) Tune(name string) (Tune, error) {
	if t, ok := d.ownTune(name); ok {
		return t, nil
	}
	if t := d.laid(name); t.Tune != nil {
		return t, nil
	}
	for _, t := range d.LessonTunes() {
		if strings.EqualFold(t.Tune.Title, name) {
			return t, nil
		}
	}
	var names []string
	for _, t := range d.AllTunes() {
		names = append(names, t.Name)
	}
	return Tune{}, fmt.Errorf("no tune is called %q: %s", name, nearest.Advice(name, names))
}

// laid is the tune on the desk that has a name or a title, in any case; the zero Tune for none.
func (d *Desk) laid(name string) Tune {
	for _, t := range d.AllTunes() {
		if strings.EqualFold(t.Name, name) || strings.EqualFold(t.Tune.Title, name) {
			return t
		}
	}
	return Tune{}
}

// Put lays a tune on the desk, in the place of one of the same name.
func (d *Desk) Put(t Tune) {
	d.putting.Lock()
	defer d.putting.Unlock()
	d.Tunes = slices.Clone(d.Tunes)
	for i := range d.Tunes {
		if strings.EqualFold(d.Tunes[i].Name, t.Name) {
			d.Tunes[i] = t
			return
		}
	}
	d.Tunes = append(d.Tunes, t)
}

// AllTunes are the tunes as they lie there now, not to be changed, for a page that
// is made while another saves one.
func (d *Desk) AllTunes() []Tune {
	d.putting.Lock()
	defer d.putting.Unlock()
	return d.Tunes
}

// WalkingHand is the player's hand as composing and criticism know it.
func WalkingHand(n fretboard.Neck) walk.Hand {
	return walk.Hand{
		Positions: func(midi int) (all []int) {
			for _, s := range n.Stances(midi) {
				all = append(all, s.Position)
			}
			return all
		},
		ShiftMM: n.ShiftMM, StartMM: walk.DefaultStartMM, SpeedMM: walk.DefaultSpeedMM,
	}
}

// Begin starts a sitting. An error is the choice's fault, or that of a history that
// cannot be read, and says what would do.
func (d *Desk) Begin(c Choice) (*Sitting, error) {
	ks, err := drills.KindsNamed(c.Drill)
	if err != nil {
		return nil, err
	}
	asked := len(c.Only)
	ks = slices.DeleteFunc(slices.Clone(ks), func(k drills.Kind) bool { return d.unasked(k.Name) })
	if c.Only = slices.DeleteFunc(slices.Clone(c.Only), func(it memory.Item) bool { return d.unasked(it.Kind) }); len(ks) == 0 || asked > 0 && len(c.Only) == 0 {
		return nil, errors.New(noEar)
	}
	m, err := d.material(c)
	if err != nil {
		return nil, err
	}
	m.Hand = d.Hand
	now := d.Now()
	seed := d.Seed()
	var round *today.Round
	known, err := d.known()
	if err != nil {
		return nil, err
	}
	if c.step != nil && len(c.Only) > 0 && !ks[0].Ordered {
		c.step.Items = c.Only
		round = today.NewRound(*c.step, known, c.before)
		c.Only = round.Items()
	}
	if c.Only != nil && !ks[0].Ordered {
		ks = slices.DeleteFunc(ks, func(k drills.Kind) bool {
			return !slices.ContainsFunc(c.Only, func(it memory.Item) bool { return it.Kind == k.Name })
		})
	}
	fresh := d.History != nil && len(known) == 0 && (c.step == nil || c.step.Kind != today.Level)
	s := &Sitting{history: d.History, seed: seed, now: d.Now, first: fresh, known: known, round: round}
	plan := drills.Plan{
		Name: c.Drill, Kinds: ks, Material: m, Questions: c.Questions, Length: c.Length,
		Chance: rand.New(rand.NewPCG(seed, 0)),
	}
	if plan.Questions == 0 && plan.Length == 0 && !ks[0].Ordered {
		plan.Questions = UsualQuestions
	}
	if d.History != nil {
		plan.Pace = d.History.Pace
		in := today.InStep{Before: c.before}
		if c.step != nil {
			in.Is, in.Tries = true, c.step.Tries
			in.Level = c.step.Kind == today.Level
			plan.Level = in.Level
		}
		plan.Choose = remembering(known, now, m, c.Only, in)
	}
	if round != nil {
		plan.Choose = round.Choose
	}
	s.Sitting, err = drills.Start(plan, now)
	if err != nil {
		return nil, err
	}
	s.kept, s.last = history.Sitting{Began: now, Drill: c.Drill, Tune: c.Tune}, now
	return s, nil
}

// Fresh reports whether nothing has been practised yet.
func (d *Desk) Fresh() bool {
	known, err := d.known()
	return d.History != nil && err == nil && len(known) == 0
}

// known is what the history knows. A history that is there and cannot be read is an
// error: its player is no new one.
func (d *Desk) known() (map[memory.Item]memory.State, error) {
	if d.History == nil {
		return nil, nil
	}
	return d.History.States(context.Background())
}

// remembering chooses what is about to be forgotten, and lets new items in by
// and by, in the order in which the tune needs them, or only gives them.
func remembering(known map[memory.Item]memory.State, now time.Time, m drills.Material, only []memory.Item, in today.InStep) drills.Chooser {
	order, limits := today.Needed(m), memory.Limits{Whole: true}
	if only != nil {
		order, limits = today.Only(only), memory.Limits{}
	}
	return in.Chooser(known, memory.DayOf(now), order, limits)
}

package drills

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// Exchange is a question and what was said to it.
type Exchange struct {
	Item memory.Item
	// Chord is the symbol it was asked over, Degree the degree, "" for none, and
	// String the string, 0 for any.
	Chord, Degree string
	String        int
	// Place is where on the neck it was, the zero Place if nowhere.
	Place  fretboard.Place
	Prompt string
	Way    memory.Way
	// Given is the reply in words.
	Given string
}

// Answer is an answered question, as the history keeps it. Where the same was asked and
// said the Exchange is shared, so that the answers of hours are small; it is never changed.
type Answer struct {
	*Exchange
	// Asked is when the question was shown, after the sitting's beginning, Took the time
	// from there to the first key or the played note, memory.Longest at most.
	Asked, Took time.Duration
	// SlowAfter is the time over which a right answer was slow for this player, 0 where the
	// music says when an answer comes.
	SlowAfter time.Duration
	Verdict   memory.Verdict
	// Grade is what the memory model is told.
	Grade memory.Grade
	// Own is set where SlowAfter is by the player's own times, not a first guess.
	Own bool
	// Unknown is set where the player did not know and asked for the way, Near where the
	// answer was right and not as asked.
	Unknown, Near bool
}

// Right reports whether the answer was not missed.
func (a Answer) Right() bool { return a.Verdict != memory.Missed }

// Says tells in a word or two how it went. That it was slow is told only where the
// player's own times say so.
func (a Answer) Says() string {
	switch {
	case a.Unknown:
		return "The way"
	case a.Verdict == memory.Missed:
		return "Wrong"
	case a.Near, a.Item.Kind.InTime() && a.Verdict == memory.Slow:
		return "Nearly"
	case a.slowly():
		return "Correct, slow"
	}
	return "Correct"
}

func (a Answer) slowly() bool { return a.Verdict == memory.Slow && !a.Near && a.Own }

// Pace tells in words how long it took, and where that was slow what it is measured
// against; "" where the time says nothing.
func (a Answer) Pace() string {
	switch {
	case a.Unknown || a.Item.Kind.InTime():
		return ""
	case a.slowly():
		return fmt.Sprintf("%.1f s; up to %.1f is usual for you", a.Took.Seconds(), a.SlowAfter.Seconds())
	}
	return fmt.Sprintf("%.1f s", a.Took.Seconds())
}

// Plan says what a sitting asks.
type Plan struct {
	// Name is the drill's name, as the history keeps it.
	Name string
	// Kinds are asked mixed. A kind that is Ordered must stand alone.
	Kinds    []Kind
	Material Material
	// Questions ends the sitting after so many, Length after so long, as Elapsed
	// counts it; 0 for no such end. An ordered kind ends with its last question too.
	Questions int
	Length    time.Duration
	// Level is set where the sitting is a level check, whose summary says what it found.
	Level bool
	// Choose picks what comes next; nil mixes by chance. Ordered kinds need none.
	Choose Chooser
	// Chance is the source of chance. It must not be nil.
	Chance *rand.Rand
	// Pace gives the player's own times for a kind answered in a way; it is asked
	// once for each. nil knows none.
	Pace func(memory.Kind, memory.Way) memory.Pace
}

// Sitting asks one question after the other. Its calls must come in the order
// Next, FirstKey (as often as you like), Answer until it is not Unread,
// Kept, and Next again; it is for one goroutine at a time.
type Sitting struct {
	plan  Plan
	pool  []Question
	items []memory.Item
	// exchanges are those of the answers so far.
	exchanges map[Exchange]*Exchange
	ordered   bool
	started   time.Time
	now       Question
	asked     time.Time
	first     time.Time
	seen      time.Time     // the latest time told
	away      time.Duration // that the player was not here
	state     state
	answers   []Answer
	unkept    int
	paces     map[paceKey]memory.Pace
	// numbers counts how often the right answer stood at each number of the choices.
	numbers [mostChoices]int
	// last is the question of the last answer, nil where it cannot be taken back, and
	// unpaced the pace before it.
	last    Question
	unpaced memory.Pace
}

type paceKey struct {
	kind memory.Kind
	way  memory.Way
}

type state uint8

const (
	resting state = iota // Next may be called
	asking               // a question waits for its answer
	keeping              // an answer waits to be kept
)

// aChange is what questions about two chords need.
const aChange = "a change from one root to another"

// lacks is the error of material that kinds of question find nothing in.
func (m Material) lacks(kinds []Kind) error {
	if len(kinds) == 1 && kinds[0].Needs != "" {
		return fmt.Errorf("%s has no %s to ask about", m.Title, strings.TrimPrefix(kinds[0].Needs, "a "))
	}
	return fmt.Errorf("%s has no chords to ask about", m.Title)
}

// Has is nil where a kind of question finds something to ask in the material, or says what
// is lacking.
func (m Material) Has(k Kind) error {
	qs, err := k.Draw(m)
	if err == nil && len(qs) == 0 {
		err = m.lacks([]Kind{k})
	}
	return err
}

// Start begins a sitting. The error says what the material lacks.
func Start(p Plan, now time.Time) (*Sitting, error) {
	s := &Sitting{plan: p, started: now, seen: now, paces: map[paceKey]memory.Pace{}, exchanges: map[Exchange]*Exchange{}}
	if s.plan.Choose == nil {
		s.plan.Choose = interleave
	}
	for _, k := range p.Kinds {
		if k.Ordered && len(p.Kinds) > 1 {
			return nil, fmt.Errorf("%s asks in order and cannot be mixed with other kinds: drill it alone", k.Name)
		}
		s.ordered = k.Ordered
		qs, err := k.Draw(p.Material)
		if err != nil {
			return nil, err
		}
		s.pool = append(s.pool, qs...)
	}
	if len(s.pool) == 0 {
		return nil, p.Material.lacks(p.Kinds)
	}
	s.items = make([]memory.Item, len(s.pool))
	for i, q := range s.pool {
		s.items[i] = q.Item()
	}
	return s, nil
}

// Plan returns what the sitting was started with.
func (s *Sitting) Plan() Plan { return s.plan }

// leastQuestion is what a question takes of a sitting's length at least, so that one
// whose clock stands still comes to its end.
const leastQuestion = time.Second

// Away is how long nothing has to happen for the player to have gone away, or
// the computer to have slept.
const Away = 5 * time.Minute

// Elapsed returns how long the sitting has lasted. Time that the player was away
// is left out, but for the first memory.Longest of it, and a clock that is set
// back takes nothing away.
func (s *Sitting) Elapsed(now time.Time) time.Duration {
	return max(0, now.Sub(s.started)-s.away-s.idle(now))
}

// idle is how much of the time since anything happened does not count.
func (s *Sitting) idle(now time.Time) time.Duration {
	switch gap := now.Sub(s.seen); {
	case gap > Away:
		return gap - memory.Longest
	case gap < 0:
		return gap
	}
	return 0
}

func (s *Sitting) see(now time.Time) {
	s.away += s.idle(now)
	s.seen = now
}

// ErrNotKept is returned by Next while an answer has not been kept.
var ErrNotKept = errors.New("the last answer has not been kept yet")

// ErrOver is returned by Next when the sitting has come to its end.
var ErrOver = errors.New("the sitting is over")

// Next gives the next question and starts its time. While a question is
// waiting it gives that one again, its time begun anew. It returns ErrOver at
// the end and ErrNotKept where Kept was not called for the last answer.
func (s *Sitting) Next(now time.Time) (Question, error) {
	s.see(now)
	switch s.state {
	case keeping:
		return nil, ErrNotKept
	case asking:
		s.asked, s.first = now, time.Time{}
		return s.now, nil
	}
	n := len(s.answers)
	if (s.plan.Questions > 0 && n >= s.plan.Questions) ||
		(s.plan.Length > 0 && max(s.Elapsed(now), time.Duration(n)*leastQuestion) >= s.plan.Length) ||
		(s.ordered && n >= len(s.pool)) {
		return nil, ErrOver
	}
	i := n
	if !s.ordered {
		if i = s.plan.Choose(s.items, s.answers, s.plan.Chance); i == NothingLeft {
			return nil, ErrOver
		}
	}
	s.now, s.asked, s.first, s.state = s.numbered(s.pool[i]), now, time.Time{}, asking
	return s.now, nil
}

// numbered puts the right answer of a question with choices at the number at which
// it has stood least in this sitting, so that no number is a good guess.
func (s *Sitting) numbered(q Question) Question {
	n, ok := q.(Numbered)
	if !ok || len(q.Ask().Choices) == 0 {
		return q
	}
	var least []int
	for i := range q.Ask().Choices {
		if len(least) == 0 || s.numbers[i] < s.numbers[least[0]] {
			least = least[:0]
		}
		if len(least) == 0 || s.numbers[i] == s.numbers[least[0]] {
			least = append(least, i)
		}
	}
	at := least[hashed(q.Item().Key())%uint32(len(least))]
	s.numbers[at]++
	return n.At(at + 1)
}

// FirstKey notes when the player began to answer; later calls for the same
// question change nothing.
func (s *Sitting) FirstKey(now time.Time) {
	s.see(now)
	if s.state == asking && s.first.IsZero() {
		s.first = now
	}
}

// Answer judges a reply. An Unread one leaves the question waiting, unless the
// reply is Final; after any other the Answer is to be stored, and Kept called, before Next. It must be
// called only while a question waits.
func (s *Sitting) Answer(r Reply, now time.Time) (Judgement, Answer) {
	if s.state != asking {
		panic("drills: Answer without a question")
	}
	j := s.now.Judge(r)
	if j.Result == Unread {
		if !r.Final {
			return j, Answer{}
		}
		j.Result, j.Given = Miss, r.Text
	}
	s.FirstKey(now)
	a := Answer{
		Exchange: s.exchange(r.Way, j.Given), Asked: s.asked.Sub(s.started),
		Unknown: r.Unknown, Near: j.Result == Near, Took: min(max(0, s.first.Sub(s.asked)), memory.Longest),
	}
	key := paceKey{a.Item.Kind, r.Way}
	pace, known := s.paces[key]
	if !known {
		pace.Way = r.Way
		if s.plan.Pace != nil {
			pace = s.plan.Pace(a.Item.Kind, r.Way)
		}
	}
	a.Verdict, a.SlowAfter, a.Own = pace.Verdict(j.Result != Miss, a.Took), pace.SlowAfter(), pace.Known()
	if a.Item.Kind.InTime() {
		a.Took, a.SlowAfter = 0, 0
		a.Verdict = memory.Pace{}.Verdict(j.Result != Miss, 0)
	}
	if r.Led && a.Verdict == memory.Slow {
		a.Verdict = memory.Sure
	}
	if a.Near {
		a.Verdict = memory.Slow
	}
	a.Grade = pace.Grade(a.Verdict, a.Took)
	if a.Item.Kind.InTime() && a.Verdict == memory.Sure {
		a.Grade = memory.Good
	}
	s.paces[key], s.unpaced, s.last = pace, pace, s.now
	if !r.Led {
		s.paces[key] = pace.With(a.Verdict, a.Took)
	}
	s.answers = append(s.answers, a)
	s.state = keeping
	return j, a
}

// exchange is the question with what was said to it, the same as before where both were.
func (s *Sitting) exchange(way memory.Way, given string) *Exchange {
	ask := s.now.Ask()
	e := Exchange{
		Item: s.now.Item(), Chord: ask.Chord, Degree: ask.Degree, String: ask.String, Place: ask.Place, Prompt: ask.Prompt,
		Way: way, Given: given,
	}
	if s.exchanges[e] == nil {
		s.exchanges[e] = &e
	}
	return s.exchanges[e]
}

// Kept tells that the store has returned for the last answer. After a failure
// the sitting goes on and counts the answer among those that are only in
// memory; a later success is taken to have stored those too.
func (s *Sitting) Kept(err error) {
	if s.state != keeping {
		return
	}
	s.state = resting
	if err != nil {
		s.unkept++
		return
	}
	s.unkept = 0
}

// TakeBack takes the last answer back, a slip of the finger, and asks its question
// again, its time begun anew; what was asked since is dropped. It can be done once
// after each answer, when that is kept; false says that it cannot.
func (s *Sitting) TakeBack(now time.Time) bool {
	s.see(now)
	if s.last == nil || s.state == keeping {
		return false
	}
	a := s.answers[len(s.answers)-1]
	s.answers = s.answers[:len(s.answers)-1]
	s.paces[paceKey{a.Item.Kind, a.Way}] = s.unpaced
	s.now, s.asked, s.first, s.last, s.state = s.last, now, time.Time{}, nil, asking
	return true
}

// Answers returns the answers so far, oldest first. It must not be changed.
func (s *Sitting) Answers() []Answer { return s.answers }

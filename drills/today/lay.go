package today

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"

	"footfall/drills/lesson"
	"footfall/drills/memory"
)

// Request is what a day's plan is laid out from.
type Request struct {
	Day memory.Day
	// Minutes is the time there is, 1 to MostMinutes; DefaultMinutes if 0.
	Minutes int
	// BreakAfter is how many minutes of practice go by before a break is proposed,
	// from 1; the constant of that name if 0.
	BreakAfter int
	Seed       uint64
	// Work are the tunes in work, the one at hand first.
	Work  []Work
	Known map[memory.Item]memory.State
	// Parts is what is believed of the parts of items; nil takes what Known tells.
	Parts *memory.Estimate
	// Recent are the answers of the last days, the oldest first.
	Recent []Recent
	// Unfinished are the new things of the day before that did not come to stand.
	Unfinished []memory.Item
	// Left is where each passage's ramp was left.
	Left map[memory.Item]Left
	// Lesson is taken in the place of new things and passages; nil for none.
	Lesson *Taught
	// Kinds are those of which new things may come; nil for all.
	Kinds []memory.Kind
	// Layers is how many layers of a tune may be asked, the bass first; 0 for all. School is
	// what shapes are drawn from while no others were taught, "" for the player's own.
	Layers int
	School string
	// OwnLine is set once a walking line was taught, so that one may be made up.
	OwnLine bool
	// Next is the lesson that comes next for who asks for none, with the task to take;
	// nil where all are learned.
	Next *Taught
	// Towards is the tune that is worked towards, nil for none.
	Towards *Towards
	Course  Course
}

// Taught is a lesson, and what its drills ask, task by task, nil for those that are no
// drill, and for walks.
type Taught struct {
	Lesson *lesson.Lesson
	Items  [][]memory.Item
	// Task is the one to take, counted from 0.
	Task int
	// Teachers is set for one that the player's teacher gave.
	Teachers bool
}

// Recent is one answer of the last days.
type Recent struct {
	Item  memory.Item
	Day   memory.Day
	Right bool
	// Seconds is how long it took.
	Seconds float64
}

// Left is where a passage was left.
type Left struct {
	// Ramp is the progress after the last pass, "" if it had none.
	Ramp string
	// Tempo is that of the last pass, Day when it was, Judged whether there was a word on it
	// and Clean how it went.
	Tempo         float64
	Day           memory.Day
	Judged, Clean bool
}

const (
	// DefaultMinutes is a sitting unless said otherwise.
	DefaultMinutes = 20
	// MostMinutes is the longest day that is planned.
	MostMinutes = 240
	// BreakAfter is how many minutes of practice go by before a break is proposed
	// (Klickstein, handbook advice).
	BreakAfter = 25
	// BreakMinutes is how long it is (the same).
	BreakMinutes = 5
	// RecentDays is how many days back Request.Recent reaches.
	RecentDays = 7

	secondsPerNew = 40 // a new thing with the questions about it that follow
	mostWarmUp    = 15 // minutes
	passageLength = 5  // minutes at one passage before the next
	// floorShare is the share of a tune's tempo that a new ramp starts from. Common
	// practice, no source.
	floorShare = 0.6
	// comesBack is within how many days a missed thing is asked again.
	comesBack = 2
)

// Lay lays out the day. The plan is the same for the same request.
func Lay(r Request) Plan {
	if r.Minutes == 0 {
		r.Minutes = DefaultMinutes
	}
	r.Minutes = min(max(r.Minutes, 1), MostMinutes)
	if r.BreakAfter <= 0 {
		r.BreakAfter = BreakAfter
	}
	for _, w := range r.Work {
		r.Known = memory.Lend(r.Known, w.Items)
	}
	if r.Parts == nil {
		r.Parts = memory.EstimateOf(r.Known)
	}
	// Each break takes its time off the practice; how many there are is known only
	// when the steps are laid.
	for breaks := 0; ; breaks++ {
		p := lay(r, r.Minutes-breaks*BreakMinutes)
		if p.Total() <= r.Minutes {
			return p
		}
	}
}

// lay lays out so many minutes of practice, and puts the breaks between.
func lay(r Request, minutes int) Plan {
	l := layer{Request: r, chance: rand.New(rand.NewPCG(r.Seed, uint64(r.Day))), left: minutes}
	l.plan = Plan{Day: r.Day.String(), Minutes: r.Minutes, Seed: r.Seed, Steps: []Step{}, Towards: r.Towards, Course: r.Course}
	room := l.warmUp()
	if r.Lesson != nil {
		l.plan.Lesson = r.Lesson.Lesson.Title
		l.tasks()
	} else {
		joy := l.joyTime()
		l.left -= joy
		l.learn(room)
		l.lessonPassage()
		l.passages()
		l.fill()
		l.left += joy
	}
	l.joy()
	l.breaks()
	n := 0
	for i := range l.plan.Steps {
		if l.plan.Steps[i].Kind != Break {
			n++
			l.plan.Steps[i].N = n
		}
	}
	return l.plan.keyed()
}

// layer is a plan in the making.
type layer struct {
	Request
	chance *rand.Rand
	plan   Plan
	// left are the minutes not yet given away.
	left int
	// spared are minutes that passages leave to questions.
	spared int
	// picking is set where the day has begun, and what is new was left open until now.
	picking bool
}

// add gives a step its minutes, as many as are left.
func (l *layer) add(s Step) {
	s.Minutes = min(s.Minutes, l.left)
	if s.Minutes < 1 {
		return
	}
	l.left -= s.Minutes
	l.plan.Steps = append(l.plan.Steps, s)
}

// warmUp takes what was missed on the last two days and not asked since, then what is
// due, that which is forgotten soonest first, up to a third of the time, or a half
// where so much was missed; and lays it out so that no two look-alikes follow each
// other. It reports whether all of it found room. On the first day the round that
// finds the level stands in its place.
func (l *layer) warmUp() bool {
	if !memory.Placed(l.Known) && len(l.Work) > 0 && l.Lesson == nil {
		l.add(Step{Kind: Level, Minutes: 2, Tune: l.Work[0].Name, Text: "Find your level: two minutes of questions at most, from the middle up or down",
			Why: "this finds out what you know already, so that all else begins there"})
		return true
	}
	inWork := map[memory.Item]bool{}
	for _, w := range l.Work {
		for _, it := range w.Items {
			inWork[it] = true
		}
	}
	missed := l.missedLately()
	var due []memory.Item
	back := 0
	for it, s := range l.Known {
		if s.New() || !inWork[it] && symbolFor(it) == "" || slices.Contains(l.Unfinished, it) || s.Missed == s.Asked && !l.may(it) {
			continue // what the level check asked and no lesson has come to waits for it
		}
		if _, again := missed[it]; again {
			back++
		} else if s.Due() > l.Day {
			continue
		}
		due = append(due, it)
	}
	if len(due) == 0 {
		return true
	}
	recall := make(map[memory.Item]float64, len(due))
	for _, it := range due {
		recall[it] = l.Known[it].Recall(l.Day)
	}
	since := func(it memory.Item) memory.Day { // what was missed first comes first
		if d, again := missed[it]; again {
			return d
		}
		return l.Day
	}
	slices.SortFunc(due, func(a, b memory.Item) int {
		return cmp.Or(cmp.Compare(since(a), since(b)), cmp.Compare(recall[a], recall[b]), cmp.Compare(a.Key(), b.Key()))
	})
	due = l.sampled(due, missed)
	each := l.secondsEach()
	need := (int(float64(back)*each) + 59) / 60
	minutes := min(mostWarmUp, max(1, (l.left+2)/3, min(need, l.left/2)))
	all, room := len(due), int(float64(minutes*60)/each)
	weakest := due[0]
	due = l.apart(due[:min(all, room)])
	l.add(Step{Kind: Due, Minutes: max(1, (int(float64(len(due))*each)+59)/60), Items: due,
		Text: fmt.Sprintf("Warm up: %s before you forget", count(len(due), "thing")),
		Why:  l.whyDue(due, all, back, weakest, recall[weakest])})
	if waiting := all - len(due); waiting > 0 {
		l.plan.Notes = append(l.plan.Notes, fmt.Sprintf("%s more due and will be first tomorrow.", count(waiting, "thing is", "things are")))
		return false
	}
	return true
}

// may reports whether new things of an item's kind may come.
func (l *layer) may(it memory.Item) bool { return l.Kinds == nil || slices.Contains(l.Kinds, it.Kind) }

// sampleOf is of how many due things one is asked where all their parts are firm, if
// there are more than fewDue.
const sampleOf, fewDue = 4, 12

// sampled leaves out most of the things that are due and all but sure to be right, as
// their parts are: one of a few stands for the others, which wait for another day.
func (l *layer) sampled(due []memory.Item, missed map[memory.Item]memory.Day) []memory.Item {
	if len(due) <= fewDue {
		return due
	}
	sure := 0
	return slices.DeleteFunc(due, func(it memory.Item) bool {
		if _, again := missed[it]; again || !l.Parts.Sure(it, l.Day) {
			return false
		}
		sure++
		return sure%sampleOf != 1
	})
}

// missedLately are the things whose latest answers of a day were missed in part, on one
// of the last days, and that were not asked on a later one; each with that day.
func (l *layer) missedLately() map[memory.Item]memory.Day {
	missed := map[memory.Item]memory.Day{}
	for _, a := range l.Recent {
		switch at, before := missed[a.Item]; {
		case a.Day >= l.Day || a.Day < l.Day-comesBack:
		case !a.Right:
			missed[a.Item] = a.Day
		case before && a.Day > at:
			delete(missed, a.Item)
		}
	}
	return missed
}

// secondsEach is how long a question takes this player with its verdict, the middle of
// the last days, within bounds.
func (l *layer) secondsEach() float64 {
	const verdict, usual, least, most = 3.0, 8.0, 5.0, 12.0
	if len(l.Recent) < 20 {
		return usual
	}
	var times []float64
	for _, a := range l.Recent {
		times = append(times, a.Seconds)
	}
	slices.Sort(times)
	return min(max(times[len(times)/2]+verdict, least), most)
}

// apart mixes items, leaving out those that could only stand beside a
// look-alike.
func (l *layer) apart(items []memory.Item) []memory.Item {
	rest := slices.Clone(items)
	l.chance.Shuffle(len(rest), func(i, j int) { rest[i], rest[j] = rest[j], rest[i] })
	var laid []memory.Item
	for len(rest) > 0 {
		next := 0
		if len(laid) > 0 {
			last := laid[len(laid)-1]
			next = slices.IndexFunc(rest, func(it memory.Item) bool { return !memory.Alike(last, it) })
		}
		if next < 0 {
			break
		}
		laid = append(laid, rest[next])
		rest = slices.Delete(rest, next, next+1)
	}
	for _, it := range rest {
		for i := 0; i <= len(laid); i++ {
			if (i == 0 || !memory.Alike(laid[i-1], it)) && (i == len(laid) || !memory.Alike(laid[i], it)) {
				laid = slices.Insert(laid, i, it)
				break
			}
		}
	}
	return laid
}

// learn lets new things in: those of the lesson that comes next, and those that the
// tunes in work need.
func (l *layer) learn(room bool) {
	most := l.newToday()
	if !room {
		most = leastNew
	}
	if l.Next != nil {
		most = min(most, mostNew-l.lesson(*l.Next))
	}
	l.newThings(most)
}

// askable is how many minutes of questions there are about what is known of the tune at hand,
// beyond those that other steps ask.
func (l *layer) askable() int {
	if len(l.Work) == 0 {
		return 0
	}
	return int(float64(len(l.knownOf(l.Work[0], len(l.Work[0].Items), nil))) * l.secondsEach() / 60)
}

// fill gives what no passage could take to what is known, mixed; no step of it is
// longer than a stretch without a break.
func (l *layer) fill() {
	var asked []memory.Item
	for l.left > 0 {
		s := Step{Kind: Mixed, Minutes: min(l.left, l.BreakAfter), Text: "What you know, mixed", Why: "it fills the time that no passage could take"}
		if len(l.Work) > 0 {
			s.Tune = l.Work[0].Name
			s.Text += ", from " + l.Work[0].Title
		}
		if memory.Placed(l.Known) && len(l.Work) > 0 {
			s.Items = l.apart(l.knownOf(l.Work[0], int(float64(60*s.Minutes)/l.secondsEach()), asked))
			s.Why = l.whyMixed(s.Items)
			asked = append(asked, s.Items...)
		}
		l.add(s)
	}
}

// knownOf are things of a tune that were right before, those that are forgotten soonest first,
// n at most, half of them degrees where there are so many; not those given, nor those that
// another step asks.
func (l *layer) knownOf(w Work, n int, but []memory.Item) []memory.Item {
	taken := slices.Clone(but)
	for _, s := range l.plan.Steps {
		taken = append(taken, s.Items...)
	}
	var known []memory.Item
	for _, it := range w.Items {
		if s := l.Known[it]; s.Missed < s.Asked && !slices.Contains(taken, it) {
			known = append(known, it)
		}
	}
	slices.SortStableFunc(known, func(a, b memory.Item) int {
		return cmp.Compare(l.Known[a].Recall(l.Day), l.Known[b].Recall(l.Day))
	})
	known = slices.Compact(known)
	degrees := ofDegrees(known)
	picked := degrees[:min((n+1)/2, len(degrees))]
	for _, it := range known {
		if len(picked) < n && !slices.Contains(picked, it) {
			picked = append(picked, it)
		}
	}
	return picked
}

func count(n int, words ...string) string {
	if n == 1 {
		return "1 " + words[0]
	}
	if len(words) > 1 {
		return fmt.Sprintf("%d %s", n, words[1])
	}
	return fmt.Sprintf("%d %ss", n, words[0])
}

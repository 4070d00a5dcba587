package today

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"footfall/drills/memory"
	"footfall/drills/ramp"
)

// Bounds of what is new on a day.
const (
	// leastNew and mostNew bound the new things of a day.
	leastNew, mostNew = 3, 8
	// minutesPerNew is how many minutes more make room for one more of them.
	minutesPerNew = 6
	// choosing is among how many of the things needed next the new ones are chosen.
	choosing = 40
	// mostKnown is how many known things stand beside new ones.
	mostKnown = 12
	// enough answers tell how the last days went.
	enough = 20
)

// Learning is quickest where some 85 % of answers are right (Wilson et al. 2019, The
// Eighty Five Percent Rule for optimal learning): over the upper share more new things
// are let in, under the lower ones fewer.
const easyShare, hardShare, hardestShare = 0.9, 0.8, 0.7

// newToday is how many new things a day takes, by its minutes and by how the last days
// went.
func (l *layer) newToday() int {
	n := leastNew + max(0, l.Minutes-minutesPerNew)/minutesPerNew
	right, asked := 0, 0
	for _, a := range l.Recent {
		if a.Day < l.Day {
			asked++
			if a.Right {
				right++
			}
		}
	}
	if asked >= enough {
		switch share := float64(right) / float64(asked); {
		case share >= easyShare:
			n += 2
		case share < hardestShare:
			n -= 2
		case share < hardShare:
			n--
		}
	}
	return min(max(n, leastNew), mostNew)
}

// newThings are the new things of the day: those of the day before that did not come to
// stand, then what the tunes in work need next, n at most.
func (l *layer) newThings(n int) {
	minutes := min(max(1, 2*l.left/3), (n*secondsPerNew+59)/60)
	if l.Minutes < 3 {
		return
	}
	if !memory.Placed(l.Known) && len(l.Work) > 0 {
		// The level decides which: they are picked when the step begins.
		w := l.Work[0]
		l.add(Step{Kind: New, Minutes: minutes, Tune: w.Name, Text: fmt.Sprintf("New: %s for %s", count(n, "thing"), w.Title),
			Why: "your level, once it is found, says which"})
		return
	}
	for _, w := range l.Work {
		items, fresh := l.pickNew(w, n)
		if len(items) == 0 {
			continue
		}
		// The first is unlike what was asked last before it.
		if n := len(l.plan.Steps); n > 0 && len(l.plan.Steps[n-1].Items) > 0 {
			before := l.plan.Steps[n-1].Items
			if i := slices.IndexFunc(items, func(it memory.Item) bool { return !memory.Alike(before[len(before)-1], it) }); i >= 0 {
				items[0], items[i] = items[i], items[0]
			}
		}
		l.add(Step{Kind: New, Minutes: minutes, Items: items, Beside: l.knownOf(w, mostKnown, items), Tune: w.Name,
			Text: l.newText(items), Why: l.whyNew(w, items, fresh)})
		return
	}
}

// pickNew picks the new things for a tune, and counts those that were never asked.
func (l *layer) pickNew(w Work, n int) (items []memory.Item, fresh int) {
	pool := w.Items
	if l.Kinds != nil {
		pool = slices.DeleteFunc(slices.Clone(pool), func(it memory.Item) bool { return l.Known[it].Missed == l.Known[it].Asked && !l.may(it) })
	}
	for _, it := range l.Unfinished {
		if len(items) < n && slices.Contains(pool, it) && !l.taken(it) {
			items = append(items, it)
		}
	}
	needed := func(pool []memory.Item) []memory.Item {
		return memory.NewDeck(pool, l.Known, l.Day, memory.Limits{Parts: l.Parts}).Fresh(choosing, false)
	}
	more := (n+1)/2 - len(ofDegrees(items)) // half of them at least are degrees, found or named
	items = l.spread(items, needed(ofDegrees(pool)), min(n, len(items)+max(0, more)))
	items = l.spread(items, needed(pool), n)
	if len(items) < n && l.picking { // the level has asked what is like all the others
		items = l.spread(items, slices.DeleteFunc(slices.Clone(pool), func(it memory.Item) bool { return !l.Known[it].New() }), n)
	}
	if len(items) < n && l.picking { // it has asked all there is: then what it found missing
		items = l.spread(items, slices.DeleteFunc(slices.Clone(pool), func(it memory.Item) bool {
			return l.Known[it].First != l.Day || l.Known[it].Missed == 0
		}), n)
	}
	for _, it := range items {
		if !l.begun(it) {
			fresh++
		}
	}
	return items, fresh
}

// begun reports whether a thing that is to be learned was asked before, on another day or in
// a step of this one that it did not come to stand in.
func (l *layer) begun(it memory.Item) bool {
	s := l.Known[it]
	return !s.New() && (s.First < l.Day || slices.Contains(l.Unfinished, it))
}

// namesDegree reports whether an item names a degree or finds it, which all others lean on.
func namesDegree(it memory.Item) bool {
	return slices.Contains([]memory.Kind{memory.Find, memory.Name, memory.Spell}, it.Kind)
}

// ofDegrees are those of some items that do.
func ofDegrees(items []memory.Item) []memory.Item {
	return slices.DeleteFunc(slices.Clone(items), func(it memory.Item) bool { return !namesDegree(it) })
}

// spread adds things of a pool, which is in the order of need, to those that are
// picked, up to n: no look-alikes, and those that share least with the others.
func (l *layer) spread(picked, pool []memory.Item, n int) []memory.Item {
	pool = slices.Clone(pool[:min(len(pool), choosing*mostNew)])
	for len(picked) < n {
		pool = slices.DeleteFunc(pool, func(it memory.Item) bool {
			return l.taken(it) || slices.ContainsFunc(picked, func(other memory.Item) bool { return it == other || memory.Alike(it, other) })
		})
		if len(pool) == 0 {
			break
		}
		picked = append(picked, pool[nextUnlike(pool[:min(len(pool), choosing)], picked)])
	}
	return picked
}

// taken reports whether another step of the plan asks a thing, or one that is like it.
func (l *layer) taken(it memory.Item) bool {
	return slices.ContainsFunc(l.plan.Steps, func(s Step) bool {
		return s.Kind != Due && slices.ContainsFunc(s.Items, func(other memory.Item) bool {
			return it == other || l.Known[other].New() && memory.Alike(it, other)
		})
	})
}

// nextUnlike is the place in pool, which is in the order of need, of the thing that
// shares least with those that are picked, so that they spread over degrees,
// qualities and strings; of equals the first.
func nextUnlike(pool, picked []memory.Item) int {
	best, least := 0, 0.0
	for i, it := range pool {
		shared := float64(i) / choosing // what is needed sooner, where all else is equal
		for _, p := range picked {
			for _, fact := range []struct {
				weight float64
				same   bool
			}{
				{3, it.Degree != "" && it.Degree == p.Degree}, {2, it.Quality != "" && it.Quality == p.Quality},
				{1.5, it.Root != "" && it.Root == p.Root}, {1, it.String != 0 && it.String == p.String}, {0.5, it.Kind == p.Kind},
			} {
				if fact.same {
					shared += fact.weight
				}
			}
		}
		if i == 0 || shared < least {
			best, least = i, shared
		}
	}
	return best
}

// Bounds of a lesson in a day: its minutes, and the new things it may bring.
const (
	lessonMinutes, longLesson = 2, 4
	lessonNew, fewLessonNew   = 5, 3
	roomForLesson             = 3
)

// lesson lays the task of the lesson that comes next, and returns how many new things
// it brings.
func (l *layer) lesson(t Taught) int {
	minutes := lessonMinutes
	switch {
	case l.Minutes < roomForLesson || l.left < 2:
		return 0
	case l.Minutes < 8:
		minutes = 1
	case l.Minutes >= 20:
		minutes = longLesson
	}
	s := t.Step(t.Task, minutes, l.Left)
	if s.Kind == Passage {
		s.Minutes = min(passageLength, max(minutes, l.left/3))
	}
	s.Kind, s.Text = Lesson, fmt.Sprintf("Lesson: %s. %s", t.Lesson.Title, t.Lesson.Goal)
	most := lessonNew
	switch {
	case l.Minutes < 10:
		most = fewLessonNew - 1
	case l.Minutes < 20:
		most = fewLessonNew
	}
	var items []memory.Item
	fresh := 0
	alike := func(it memory.Item) bool {
		return slices.ContainsFunc(items, func(other memory.Item) bool { return l.Known[other].New() && memory.Alike(it, other) })
	}
	for _, it := range s.Items {
		if l.Known[it].New() {
			if fresh == most || alike(it) {
				continue
			}
			fresh++
		}
		items = append(items, it)
	}
	l.chance.Shuffle(len(items), func(i, j int) { items[i], items[j] = items[j], items[i] })
	s.Items, s.Why, s.SoFar = items, l.whyLesson(t, fresh), l.Course.SaysSoFar(s.Lesson, s.TaskN)
	l.add(s)
	return fresh
}

// secondsPerNote is how long a slow player takes for a note of a line. Common practice, no
// source.
const secondsPerNote = 8

// leastBoth is the minutes from which a day has room for a drill of a lesson and a passage.
const leastBoth = 15

// lessonPassage lays the next passage of the lesson whose drill the day has, once some of
// what the lesson asks about was met on another day.
func (l *layer) lessonPassage() {
	t := l.Next
	if t == nil || l.Minutes < leastBoth || t.Lesson.Tasks[t.Task].Drill == nil {
		return
	}
	begun := false
	for _, items := range t.Items {
		begun = begun || slices.ContainsFunc(items, func(it memory.Item) bool { return !l.Known[it].New() && l.Known[it].First < l.Day })
	}
	for i := t.Task + 1; begun && i < len(t.Lesson.Tasks); i++ {
		if t.Lesson.Tasks[i].Passage == nil || l.Course.Has(t.Lesson.Name, i+1) {
			continue
		}
		s := t.Step(i, min(passageLength, l.left/2), l.Left)
		s.Text, s.Why = t.Lesson.Title+". "+s.Text, l.whyLesson(Taught{Lesson: t.Lesson, Items: t.Items, Task: i, Teachers: t.Teachers}, 0)
		l.add(s)
		return
	}
}

// Passed returns the plan with another lesson in the place of the one in a step, once the
// level check has found that what came before it is known.
func Passed(p Plan, n int, r Request) Plan {
	i := slices.IndexFunc(p.Steps, func(s Step) bool { return s.N == n })
	if i < 0 || r.Next == nil {
		return p
	}
	was := p.Steps[i]
	rest := p.Without(i)
	l := layer{Request: r, chance: rand.New(rand.NewPCG(r.Seed, uint64(r.Day))), plan: rest, left: was.Minutes, picking: true}
	l.lesson(*r.Next)
	if len(l.plan.Steps) == len(rest.Steps) {
		return p
	}
	s := l.plan.Steps[len(l.plan.Steps)-1]
	s.N, s.Minutes = was.N, was.Minutes
	if known := len(p.Course.Known); known == 1 {
		s.Why += "; the first lesson you know already, and the list of lessons has it"
	} else {
		s.Why += fmt.Sprintf("; lessons 1 to %d you know already, and the list of lessons has them", known)
	}
	p.Steps = slices.Clone(p.Steps)
	p.Steps[i] = s
	return p
}

// tasks lays out the tasks of a lesson that was asked for in its order, the time left
// shared among them, with a last pass of one of its tunes. The first has the lesson's
// page before it.
func (l *layer) tasks() {
	joy := l.joyTime()
	all := l.Lesson.Lesson.Tasks
	for i := range all {
		s := l.Lesson.Step(i, (l.left-joy)/(len(all)-i), l.Left)
		s.Why = "a task of the lesson " + l.Lesson.Lesson.Title
		if i == 0 {
			s.Kind, s.Text = Lesson, fmt.Sprintf("%s: %s. %s", l.Lesson.Lesson.Title, l.Lesson.Lesson.Goal, s.Text)
		}
		l.add(s)
	}
}

// Step is the step of one of the lesson's tasks, counted from 0: a passage goes on where
// its ramp was left.
func (t Taught) Step(i, minutes int, left map[memory.Item]Left) Step {
	task := &t.Lesson.Tasks[i]
	s := Step{Minutes: minutes, Task: task, Lesson: t.Lesson.Name, TaskN: i + 1, Text: task.Says(), Criterion: task.Criterion()}
	if task.Drill != nil {
		s.Kind, s.Tune, s.Items = Mixed, task.Drill.Tune, slices.Clone(t.Items[i])
		if task.Drill.Kind == memory.Line { // which is walked to its end, or was not walked
			s.Minutes = max(s.Minutes, (task.Drill.Of*secondsPerNote+59)/60)
		}
		return s
	}
	p := task.Passage
	at, was := p.Ramp.Start(), left[p.Item()]
	if kept, err := ramp.ParseProgress(was.Ramp); err == nil && kept.Ramp.To(p.Ramp.Target).From(p.Ramp.Floor) == p.Ramp {
		at.Tempo, at.Pass, at.Run = min(max(kept.Tempo, p.Ramp.Floor), p.Ramp.Target), kept.Pass, kept.Run
	}
	at = forADay(at, was)
	s.Kind, s.Tune, s.Section, s.Layer, s.School, s.Ramp, s.Tempo, s.Most = Passage, p.Tune, p.Section, p.Layer, p.School, at.String(), at.Tempo, at.Most
	return s
}

// Pick fills in what a step asks, where that was left open until it begins: what is new
// after the level was found, and what is known by then. The request is that of the
// moment.
func Pick(p Plan, n int, r Request) Step {
	i := slices.IndexFunc(p.Steps, func(s Step) bool { return s.N == n })
	s := p.Steps[i]
	if len(r.Work) == 0 || s.Items != nil || s.Tune != r.Work[0].Name || s.Kind != New && s.Kind != Mixed {
		return s
	}
	r.Known = memory.Lend(r.Known, r.Work[0].Items)
	l := layer{Request: r, plan: p, picking: true}
	if s.Kind == Mixed {
		s.Items = l.knownOf(r.Work[0], int(float64(60*s.Minutes)/l.secondsEach()), nil)
		return s
	}
	fresh := 0
	for _, done := range p.Steps {
		for _, it := range done.Items {
			if known := r.Known[it]; done.Kind == Lesson && (known.New() || known.First == r.Day) {
				fresh++
			}
		}
	}
	s.Items, fresh = l.pickNew(r.Work[0], min(l.newToday(), mostNew-min(fresh, lessonNew)))
	s.Beside = l.knownOf(r.Work[0], mostKnown, s.Items)
	if len(s.Items) > 0 {
		s.Text, s.Why = l.newText(s.Items), l.whyNew(r.Work[0], s.Items, fresh)
	}
	return s
}

package today

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
)

// when names a day of the past to a player.
func (l *layer) when(d memory.Day) string {
	switch ago := l.Day - d; {
	case ago <= 0:
		return "today"
	case ago == 1:
		return "yesterday"
	case ago < 7:
		return "on " + d.Date().Weekday().String()
	}
	return fmt.Sprintf("%d days ago", l.Day-d)
}

// spot is what answers are told by: a degree on a string, or a degree alone.
type spot struct {
	degree string
	str    int
}

func (s spot) String() string {
	if s.str == 0 {
		return "the " + s.degree
	}
	return fmt.Sprintf("the %s on string %d", s.degree, s.str)
}

// weakestSpot is the degree, with its string, that went worst on the latest day on which
// something of it was asked, of those that items hold: at least three answers, and fewer
// of them right than a day aims at. What went better needs no reason.
func (l *layer) weakestSpot(items []memory.Item) (at spot, day memory.Day, right, asked int) {
	type tally struct{ right, asked int }
	days := map[spot]map[memory.Day]tally{}
	for _, a := range l.Recent {
		s := spot{a.Item.Degree, a.Item.String}
		if s.degree == "" || a.Day >= l.Day {
			continue
		}
		if days[s] == nil {
			days[s] = map[memory.Day]tally{}
		}
		t := days[s][a.Day]
		t.asked++
		if a.Right {
			t.right++
		}
		days[s][a.Day] = t
	}
	for _, it := range items {
		s := spot{it.Degree, it.String}
		var latest memory.Day
		for d := range days[s] {
			latest = max(latest, d)
		}
		t := days[s][latest]
		if t.asked < 3 || 20*t.right >= 17*t.asked { // 85 % (Wilson et al. 2019)
			continue
		}
		if asked == 0 || t.right*asked < right*t.asked {
			at, day, right, asked = s, latest, t.right, t.asked
		}
	}
	return at, day, right, asked
}

func (l *layer) whyDue(due []memory.Item, all, back int, weakest memory.Item, recall float64) string {
	if at, day, right, asked := l.weakestSpot(due); asked > 0 {
		return fmt.Sprintf("%s: %d of %d %s", at, right, asked, l.when(day))
	}
	if back > 0 {
		return fmt.Sprintf("%s missed lately, so %s back", count(back, "thing was", "things were"), map[bool]string{true: "it comes", false: "they come"}[back == 1])
	}
	return fmt.Sprintf("%s due; %s has a chance of %.0f %% to come back to you", count(all, "thing is", "things are"), weakest.Text(), 100*recall)
}

// names lists a few things, and counts the rest.
func (l *layer) names(items []memory.Item) string {
	const shown = 2
	var names []string
	for _, it := range items[:min(shown, len(items))] {
		names = append(names, it.Text())
	}
	list := strings.Join(names, ", ")
	if rest := len(items) - shown; rest > 0 {
		list += fmt.Sprintf(" and %d more", rest)
	}
	return list
}

// newText says what a step of new things asks, those apart that were begun on another day.
func (l *layer) newText(items []memory.Item) string {
	var fresh, again []memory.Item
	for _, it := range items {
		if l.begun(it) {
			again = append(again, it)
		} else {
			fresh = append(fresh, it)
		}
	}
	var says []string
	if fresh != nil {
		says = append(says, "New: "+l.names(fresh))
	}
	if again != nil {
		says = append(says, "Not firm yet: "+l.names(again))
	}
	return strings.Join(says, ". ")
}

func (l *layer) whyNew(w Work, items []memory.Item, fresh int) string {
	var says []string
	if again := len(items) - fresh; again > 0 {
		says = append(says, fmt.Sprintf("%s not stick yet", count(again, "thing from last time does", "things from last time do")))
	}
	if fresh > 0 {
		needs := fmt.Sprintf("%s new for %s", count(fresh, "thing is", "things are"), w.Title)
		bar := 0
		for _, it := range items {
			if b := w.Bars[it]; b > 0 && l.Known[it].New() && (bar == 0 || b < bar) {
				bar = b
			}
		}
		if bar > 0 {
			needs += fmt.Sprintf(", from bar %d on", bar)
		}
		says = append(says, needs)
	}
	return strings.Join(says, "; ")
}

func (l *layer) whyLesson(t Taught, fresh int) string {
	items := t.Items[t.Task]
	where := fmt.Sprintf("task %d of %d", t.Task+1, len(t.Lesson.Tasks))
	switch {
	case t.Teachers:
		where = "from your teacher, " + where
	case len(items) == 0:
		where += " of the lesson that comes next"
	}
	if len(items) == 0 {
		return where
	}
	met := 0
	for _, it := range items {
		if !l.Known[it].New() {
			met++
		}
	}
	if met == 0 {
		return fmt.Sprintf("%s; it has %s, of which you meet %d today", where, count(len(items), "thing"), fresh)
	}
	if met == len(items) {
		return fmt.Sprintf("%s; you have met all of its %s", where, count(met, "thing"))
	}
	return fmt.Sprintf("%s; you have met %d of its %s, and meet %d more", where, met, count(len(items), "thing"), fresh)
}

func (l *layer) whyMixed(items []memory.Item) string {
	if at, day, right, asked := l.weakestSpot(items); asked > 0 {
		return fmt.Sprintf("%s: %d of %d %s", at, right, asked, l.when(day))
	}
	if len(items) == 0 {
		return "it fills the time that no passage could take"
	}
	it := slices.MinFunc(items, func(a, b memory.Item) int {
		return int(1000 * (l.Known[a].Recall(l.Day) - l.Known[b].Recall(l.Day)))
	})
	return fmt.Sprintf("%s you know; %s has a chance of %.0f %%", count(len(items), "thing"), it.Text(), 100*l.Known[it].Recall(l.Day))
}

// why says what the passage is played for, with its figures.
func (p passage) why(l *layer) string {
	left, played := l.Left[p.item]
	switch {
	case !played:
		return fmt.Sprintf("not played yet as %s; its tempo is %g", lesson.LayerWords(p.item.Layer), p.ramp.Ramp.Target)
	case left.Clean:
		return fmt.Sprintf("%g clean %s, %s; its tempo is %g", left.Tempo, l.when(left.Day), today(p.ramp), p.ramp.Ramp.Target)
	case left.Judged:
		return fmt.Sprintf("%g %s, not clean yet; %s, its tempo is %g", left.Tempo, l.when(left.Day), today(p.ramp), p.ramp.Ramp.Target)
	}
	return fmt.Sprintf("%g %s, with no word on it; %s, its tempo is %g", left.Tempo, l.when(left.Day), today(p.ramp), p.ramp.Ramp.Target)
}

// today says from where to where a passage climbs on the day.
func today(p ramp.Progress) string {
	if p.Most == 0 {
		return fmt.Sprintf("%g today", p.Tempo)
	}
	return fmt.Sprintf("%g to %g today", p.Tempo, p.Most)
}

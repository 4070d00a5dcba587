package today

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
)

// staysUnfinished is for how many days what did not come to stand is taken up again.
const staysUnfinished = 7

// Unfinished are the new things of the plan that do not stand, for a plan of a later
// day.
func (p Plan) Unfinished(day memory.Day) []memory.Item {
	at, err := memory.ParseDay(p.Day)
	if err != nil || day-at > staysUnfinished {
		return nil
	}
	var left []memory.Item
	for _, s := range p.Steps {
		for _, it := range s.Items {
			if s.Kind == New && !s.Tries[it.Key()].Stands() {
				left = append(left, it)
			}
		}
	}
	return left
}

// Finished are the steps that are done, and the minutes they were given.
func (p Plan) Finished() (steps []Step, minutes int) {
	for _, s := range p.Steps {
		if s.Done {
			steps, minutes = append(steps, s), minutes+s.Minutes
		}
	}
	return steps, minutes
}

// Relaid is the plan of a day that was laid anew for the rest of it: what was done of
// the one before stays at its head.
func (p Plan) Relaid(rest Plan, minutes int) Plan {
	done, _ := p.Finished()
	rest.Steps, rest.Minutes = append(done, rest.Steps...), minutes
	n := 0
	for i := range rest.Steps {
		if rest.Steps[i].Kind != Break {
			n++
			rest.Steps[i].N = n
		}
	}
	return rest
}

// Says tells in a line what changed today, by how things went, and what comes
// tomorrow: what is due then of what is known, and the lesson that is next, "" for none.
func (p Plan) Says(day memory.Day, known map[memory.Item]memory.State, lesson string) string {
	stand, back, asked, right, passes := 0, 0, 0, 0, 0
	for _, s := range p.Steps {
		passes, asked, right = passes+s.Played, asked+s.Asked, right+s.Right
		for key, t := range s.Tries {
			if s.Kind != New || !slices.ContainsFunc(s.Items, func(it memory.Item) bool { return it.Key() == key }) {
				continue
			}
			if t.Stands() {
				stand++
			} else {
				back++
			}
		}
	}
	var did []string
	if stand > 0 {
		did = append(did, count(stand, "new thing learned", "new things learned"))
	}
	if back > 0 {
		did = append(did, count(back, "comes back tomorrow", "come back tomorrow"))
	}
	if asked > 0 {
		did = append(did, fmt.Sprintf("%d right of %d", right, asked))
	}
	if passes > 0 {
		did = append(did, count(passes, "pass", "passes")+" played")
	}
	if did == nil {
		did = []string{"nothing yet"}
	}
	due := 0
	for it, s := range known {
		if it.Kind != memory.Passage && it.Known() && !s.New() && s.Due() <= day+1 {
			due++
		}
	}
	comes := count(due, "thing is due", "things are due")
	if lesson != "" {
		comes += ", and the lesson " + lesson
	}
	return fmt.Sprintf("Today: %s. Tomorrow: %s.", strings.Join(did, ", "), comes)
}

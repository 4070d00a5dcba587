package history

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// doings are what this program kept, for a file that takes the place of the one it
// was written to.
type doings struct {
	sittings []Sitting
	answers  []run
	takes    []Take
	plans    []Plan
	// replies are held once for all the answers that have them.
	replies map[reply]*reply
}

// reply is what many answers of hours share.
type reply struct {
	item  memory.Item
	way   memory.Way
	place fretboard.Place
	given string
	zone  *time.Location
}

// run are answers of a sitting that were given one after the other.
type run struct {
	sitting uuid.UUID
	answers []given
}

// given is an Answer in a tenth of the memory, its times in milliseconds.
type given struct {
	*reply
	id      uuid.UUID
	at      int64
	took    int32
	verdict memory.Verdict
	grade   memory.Grade
}

// answered holds an answer.
func (d *doings) answered(a Answer) {
	r := reply{a.Item, a.Way, a.Place, a.Given, a.At.Location()}
	if d.replies == nil {
		d.replies = map[reply]*reply{}
	}
	if d.replies[r] == nil {
		d.replies[r] = &r
	}
	if n := len(d.answers); n == 0 || d.answers[n-1].sitting != a.Sitting {
		d.answers = append(d.answers, run{sitting: a.Sitting})
	}
	last := &d.answers[len(d.answers)-1]
	last.answers = append(last.answers, given{d.replies[r], a.ID, a.At.UnixMilli(), int32(a.Took.Milliseconds()), a.Verdict, a.Grade})
}

// withdrawn lets an answer go.
func (d *doings) withdrawn(id uuid.UUID) {
	for i := range d.answers {
		d.answers[i].answers = slices.DeleteFunc(d.answers[i].answers, func(g given) bool { return g.id == id })
	}
}

// nothing reports whether neither an answer nor a take is held.
func (d *doings) nothing() bool {
	return len(d.takes) == 0 && !slices.ContainsFunc(d.answers, func(r run) bool { return len(r.answers) > 0 })
}

func (d *doings) feed(m *merger) error {
	for _, s := range d.sittings {
		if err := m.sitting(s); err != nil {
			return err
		}
	}
	for _, r := range d.answers {
		for _, g := range r.answers {
			if err := m.add(Answer{
				ID: g.id, Sitting: r.sitting, At: time.UnixMilli(g.at).In(g.zone), Item: g.item, Way: g.way, Verdict: g.verdict,
				Took: time.Duration(g.took) * time.Millisecond, Grade: g.grade, Place: g.place, Given: g.given,
			}); err != nil {
				return err
			}
		}
	}
	for _, t := range d.takes {
		if err := m.addTake(t); err != nil {
			return err
		}
	}
	for _, p := range d.plans {
		if err := m.plan(p); err != nil {
			return err
		}
	}
	return nil
}

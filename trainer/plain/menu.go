package plain

import (
	"strings"

	"footfall/drills"
	"footfall/trainer/practice"
)

// Menu says what can be practised and holds the sittings that are picked, until
// the word quit or the end of the input.
func (f *Face) Menu(d *practice.Desk) {
	f.say("Footfall: what will you practise?")
	f.list(d)
	for {
		f.say("")
		f.say("Type a drill and what to practise it with, such as: find %s. ? lists them, %s ends.", drills.Sets[0].Name, Quit)
		text, ok := f.line()
		switch {
		case !ok || strings.EqualFold(text, Quit):
			return
		case text == "" || text == "?":
			f.list(d)
			continue
		}
		c := practice.Choice{Chords: drills.Sets[0].Name}
		with := ""
		c.Drill, with, _ = strings.Cut(text, " ")
		if with = strings.TrimSpace(with); with != "" {
			c.Chords = with
			if t, err := d.Tune(with); err == nil {
				c.Tune, c.Chords = t.Name, ""
			}
		}
		s, err := d.Begin(c)
		if err != nil {
			f.say("%s.", strings.TrimSuffix(err.Error(), "."))
			continue
		}
		f.Drill(s)
	}
}

func (f *Face) list(d *practice.Desk) {
	f.say("Drills:")
	for _, dr := range practice.Drills() {
		f.say("  %s: %s", dr.Name, dr.Says)
	}
	f.say("Chords:")
	for _, s := range drills.Sets {
		f.say("  %s: %s", s.Name, s.Says)
	}
	if len(d.Tunes) == 0 {
		return
	}
	f.say("Tunes:")
	for _, t := range d.Tunes {
		f.say("  %s: %s. %s", t.Name, t.Tune.Title, t.Tune.Trains)
	}
}

package plain

import (
	"cmp"
	"strings"

	"footfall/drills"
	"footfall/trainer/practice"
)

// The words of the menu beside the drills.
const (
	playWord   = "play"
	todayWord  = "today"
	reviewWord = "review"
)

// Menu says what can be practised and does what is picked, a drill, a tune played
// along, the day's plan or a look back, until the word quit or the end of the
// input.
func (f *Face) Menu(d *practice.Desk) {
	f.say("Footfall: what will you practise?")
	if d.Fresh() {
		f.say("New here? Press enter: the first questions are worked out for you.")
	}
	for {
		f.say("")
		f.say("Type a drill and what to practise it with, such as: find %s. Or play and a tune, today, or review. ? lists all, %s ends.", drills.Sets[0].Name, Quit)
		text, ok := f.line()
		if !ok || strings.EqualFold(text, Quit) {
			return
		}
		word, with, _ := strings.Cut(text, " ")
		with = strings.TrimSpace(with)
		switch strings.ToLower(word) {
		case "":
			f.begin(d, string(drills.Kinds[0].Name), "")
		case "?":
			f.list(d)
		case todayWord:
			f.today(d)
		case reviewWord:
			f.review(d)
		case playWord:
			f.playAlong(d, with)
		default:
			f.begin(d, word, with)
		}
	}
}

// begin holds a sitting of a drill with a tune, a set of chords or chord symbols,
// the first set for no word.
func (f *Face) begin(d *practice.Desk, drill, with string) {
	c := practice.Choice{Drill: drill, Chords: cmp.Or(with, drills.Sets[0].Name)}
	if t, err := d.Tune(with); err == nil {
		c.Tune, c.Chords = t.Name, ""
	}
	s, err := d.Begin(c)
	if err != nil {
		f.sayError(err)
		return
	}
	f.Drill(s)
}

func (f *Face) today(d *practice.Desk) {
	plan, err := d.Today(practice.Day{})
	if err != nil {
		f.say("The day cannot be laid out: %s", err)
		return
	}
	f.Day(d, plan, nil)
}

func (f *Face) review(d *practice.Desk) {
	v, err := d.Review(0)
	if err == nil {
		err = Review(f.out, v)
	}
	if err != nil {
		f.say("The history cannot be read: %s", err)
	}
}

func (f *Face) playAlong(d *practice.Desk, name string) {
	t, err := d.Tune(name)
	switch {
	case err != nil:
		f.sayError(err)
	case f.along == nil:
		f.say("Play it with: footfall %s %s", playWord, t.Name)
	default:
		f.passage(Passage{Tune: t, Passes: 1}, 0)
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
	f.say("%s and a tune plays it along, one pass. %s goes through the day's plan. %s looks back.", playWord, todayWord, reviewWord)
	f.say("All else is a command of its own: footfall --help lists them.")
}

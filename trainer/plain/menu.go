package plain

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"footfall/drills"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/session"
)

// The words of the menu beside the drills.
const (
	playWord   = "play"
	todayWord  = "today"
	reviewWord = "review"
	neckWord   = "arrange"
	shapesWord = "shapes"
)

// Menu says what can be practised and does what is picked, a drill, a tune played
// along, the day's plan or a look back, until the word quit or the end of the
// input.
func (f *Face) Menu(d *session.Desk) {
	f.say("Footfall: what will you practice?")
	if d.Fresh() {
		f.say("New here? Press enter: the first questions are worked out for you.")
	}
	for again := false; ; again = true {
		f.say("")
		if again { // it was said in full
			f.say("Type a drill, play, today or review; ? lists all.")
		} else {
			f.say("Type a drill and what to practice it with, such as: find %s. Or play and a tune, today, or review. ? lists all there is, %s ends.", drills.Sets[0].Name, Quit)
		}
		text, ok := f.line()
		if !ok || strings.EqualFold(text, Quit) {
			return
		}
		word, with, _ := strings.Cut(text, " ")
		with = strings.TrimSpace(with)
		switch strings.ToLower(word) {
		case "":
			f.begin(d, string(drills.Kinds[0].Name), "")
		case "?", helpWord, "list":
			f.list(d)
		case todayWord:
			f.today(d)
		case reviewWord:
			f.review(d)
		case playWord:
			f.playAlong(d, with)
		case neckWord:
			f.arrange(d, with)
		case shapesWord:
			f.shapes(d, with)
		default:
			if lines, ok := f.told[strings.ToLower(text)]; ok {
				for _, l := range lines {
					f.say("%s", l)
				}
				continue
			}
			f.begin(d, word, with)
		}
	}
}

// begin holds a sitting of a drill with a tune, a set of chords or chord symbols,
// the first set for no word.
func (f *Face) begin(d *session.Desk, drill, with string) {
	c := session.Choice{Drill: drill, Chords: cmp.Or(with, drills.Sets[0].Name)}
	if t, err := d.Tune(with); err == nil {
		c.Tune, c.Chords = t.Name, ""
	}
	s, err := d.Drill(c, false)
	if err != nil {
		f.sentence(err.Error())
		return
	}
	f.Sit(s)
}

func (f *Face) today(d *session.Desk) {
	agenda, err := d.Agenda(session.Day{})
	if err != nil {
		f.say("The day cannot be laid out: %s", err)
		return
	}
	f.Sit(d.DayOf(agenda, false))
}

func (f *Face) review(d *session.Desk) {
	v, err := d.Review(0)
	if err == nil {
		err = Review(f.out, v)
	}
	if err != nil {
		f.say("The history cannot be read: %s", err)
	}
}

// playAlong plays a tune along. Behind its name may stand what the play command has
// flags for: section B, layer bass, tempo 90 or ramp 60:90+5, passes 3.
func (f *Face) playAlong(d *session.Desk, with string) {
	p := session.Passage{}
	words := strings.Fields(with)
	for len(words) > 2 {
		name, value := words[len(words)-2], words[len(words)-1]
		switch strings.ToLower(name) {
		case "section":
			p.Section = value
		case "layer":
			p.Layer = value
		case "tempo", "ramp":
			p.Ramp = value
		case "passes":
			n, err := strconv.Atoi(value)
			if err != nil || n < 1 {
				f.say("%q passes are none: give a number from 1.", value)
				return
			}
			p.Passes = n
		default:
			name = ""
		}
		if name == "" {
			break
		}
		words = words[:len(words)-2]
	}
	t, err := d.Tune(strings.Join(words, " "))
	if err == nil {
		p.Tune = t
		var s *session.PlayAlong
		if s, err = d.PlayAlong(p.ToItsEnd()); err == nil {
			f.Play(s)
		}
	}
	if err != nil {
		f.sentence(err.Error())
	}
}

// arrange tells where to play a tune.
func (f *Face) arrange(d *session.Desk, name string) {
	t, err := d.Tune(name)
	if err == nil {
		var a *fretboard.Arrangement
		if a, err = fretboard.Arrange(t.Tune, d.Neck, d.Hand, fretboard.BassHalves, fretboard.InSchool(d.School)); err == nil {
			err = Arrangement(f.out, a)
		}
	}
	if err != nil {
		f.sentence(err.Error())
	}
}

// shapes tells the shapes of a chord, above a bass degree where one is given.
func (f *Face) shapes(d *session.Desk, with string) {
	symbol, degree, _ := strings.Cut(with, " ")
	q := fretboard.Query{}
	var err error
	if q.Chord, err = harmony.ParseChord(symbol); err == nil && strings.TrimSpace(degree) != "" {
		q.Bass, err = harmony.ParseDegree(strings.TrimSpace(degree))
	}
	if err == nil {
		err = Shapes(f.out, d.Neck, q, d.Neck.Shapes(d.Hand, q))
	}
	if err != nil {
		f.sentence(err.Error())
	}
}

func (f *Face) list(d *session.Desk) {
	f.say("Drills:")
	for _, dr := range session.Drills() {
		f.say("  %s: %s", dr.Name, dr.Says)
	}
	f.say("Chords:")
	for _, s := range drills.Sets {
		f.say("  %s: %s", s.Name, s.Says)
	}
	if len(d.AllTunes()) == 0 {
		return
	}
	f.say("Tunes:")
	for _, t := range d.AllTunes() {
		f.say("  %s: %s. %s", t.Name, t.Tune.Title, t.Tune.Trains)
	}
	f.say("%s and a tune plays it along, one pass, or a ramp to its end. Behind it may stand section B, layer bass, tempo 90, ramp 60:90+5 or passes 3.", playWord)
	f.say("%s and a tune tells where on the neck to play it.", neckWord)
	f.say("%s and a chord tells its shapes; behind it may stand the degree in the bass, such as: %s Dm7 b3.", shapesWord, shapesWord)
	f.say("%s goes through the day's plan. %s looks back.", todayWord, reviewWord)
	for _, word := range slices.Sorted(maps.Keys(f.told)) {
		f.say("%s: %s", word, f.told[word][0])
	}
	f.say("Each is a command of its own too: footfall --help lists them.")
}

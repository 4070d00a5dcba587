package plain

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/drills"
	"footfall/drills/memory"
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
	lessonWord = "lesson"
	tunesWord  = "tunes"
	setsWord   = "sets"
)

var frets = regexp.MustCompile(`^[0-9xX]+([- ,]?[0-9xX]+){3,}( .*)?$`)

// isFrets tells frets, low string first, from the names of chords.
func isFrets(text string) bool { return frets.MatchString(text) }

// Run makes the menu answer some words, and what stands behind them, by run.
func (f *Face) Run(run func(words []string), words ...string) { f.run, f.words = run, words }

// Menu says what can be practised and does what is picked, a drill, a tune played
// along, the day's plan or a look back, until the word quit or the end of the
// input.
func (f *Face) Menu(d *session.Desk) {
	f.say("Footfall: what will you practice?")
	if d.Fresh() {
		f.say("New here? Press enter: the first questions are worked out for you.")
	} else if d.History != nil {
		f.waiting(d)
	}
	for again := false; ; again = true {
		f.say("")
		if again { // it was said in full
			f.say("Type a drill, play, today or review; ? says more.")
		} else {
			f.say("Type a drill and what to practice it with, such as: find %s. Or play and a tune, today, or review. ? says more, %s ends.", drills.Sets[0].Name, Quit)
		}
		text, ok := f.line()
		if !ok || strings.EqualFold(text, Quit) {
			return
		}
		word, with, _ := strings.Cut(text, " ")
		with = strings.TrimSpace(with)
		switch strings.ToLower(word) {
		case "":
			if d.History != nil && !d.Fresh() {
				f.today(d)
			} else {
				f.begin(d, string(drills.Kinds[0].Name), "")
			}
		case "?", helpWord, "list":
			if strings.EqualFold(with, "all") {
				f.list(d)
			} else {
				f.short(d)
			}
		case lessonWord:
			f.lesson(d, with)
		case tunesWord:
			f.tunes(d)
		case setsWord:
			f.sets()
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
			if f.run != nil && slices.Contains(f.words, strings.ToLower(word)) && (!slices.Contains(drillNames(), strings.ToLower(word)) || isFrets(with)) {
				f.run(strings.Fields(strings.ToLower(word) + " " + with))
				continue
			}
			f.begin(d, strings.ToLower(word), with)
		}
	}
}

// waiting says how far the day's plan is.
func (f *Face) waiting(d *session.Desk) {
	plan, err := d.Today(session.Day{})
	if err != nil {
		return
	}
	steps, done, next := plan.Numbered(), 0, ""
	for _, s := range steps {
		if s.Done {
			done++
		} else if next == "" {
			next = s.Text
		}
	}
	says := fmt.Sprintf("%s: %d of %s done.", memory.Dated(plan.Day, longDay), done, harmony.Counted(len(steps), "step"))
	if next != "" {
		says += " Enter goes on with it: " + spoken(strings.TrimSuffix(next, ".")) + "."
	}
	f.say("%s", says)
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
	name, given, err := behind(with, "section", "layer", "tempo", "ramp", "passes")
	p := session.Passage{Section: given["section"], Layer: given["layer"], Ramp: cmp.Or(given["tempo"], given["ramp"])}
	if passes := given["passes"]; passes != "" {
		if p.Passes, err = strconv.Atoi(passes); err != nil || p.Passes < 1 {
			f.say("%q passes are none: give a number from 1.", passes)
			return
		}
	}
	if err == nil {
		p.Tune, err = d.Tune(name)
	}
	var s *session.PlayAlong
	if err == nil {
		s, err = d.PlayAlong(p.ToItsEnd())
	}
	if err != nil {
		f.sentence(err.Error())
		return
	}
	f.Play(s)
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

// short says the words that matter, and where all are.
func (f *Face) short(d *session.Desk) {
	f.say("Enter or %s goes through the day's plan; %s looks back.", todayWord, reviewWord)
	f.say("A drill asks, such as: find %s. The drills are %s.", drills.Sets[0].Name, strings.Join(drillNames(), ", "))
	f.say("%s and a tune plays it along; behind it may stand section B, layer bass, tempo 90, ramp 60:90+5 or passes 3.", playWord)
	f.say("%s and a tune tells where to play it, bar by bar; behind it may stand section B, bar 5 or layer bass.", neckWord)
	f.say("%s and a chord tells its shapes, such as: %s Dm7 b3.", shapesWord, shapesWord)
	f.say("%s and a name takes a lesson; %s alone names them. %s names the tunes, %s the sets of chords.", lessonWord, lessonWord, tunesWord, setsWord)
	if f.run != nil {
		f.say("%s do what footfall does with them.", strings.Join(f.words, ", "))
	}
	f.say("? all says everything there is, %s ends.", Quit)
}

func drillNames() []string {
	var names []string
	for _, dr := range session.Drills() {
		names = append(names, dr.Name)
	}
	return names
}

// lesson takes a lesson by its name, or names those there are.
func (f *Face) lesson(d *session.Desk, name string) {
	if name == "" {
		f.say("The lessons are: %s.", strings.Join(d.LessonNames(), ", "))
		return
	}
	l, err := d.LessonCalled(name)
	if err != nil {
		f.say("No lesson is called %q.", name)
		f.sentence(err.Error())
		return
	}
	agenda, err := d.Agenda(session.Day{Lesson: l})
	if err != nil {
		f.sentence(err.Error())
		return
	}
	f.Sit(d.DayOf(agenda, false))
}

func (f *Face) tunes(d *session.Desk) {
	for _, t := range slices.Concat(d.AllTunes(), d.LessonTunes()) {
		f.say("  %s: %s. %s", t.Name, t.Tune.Title, spoken(t.Says()))
	}
}

func (f *Face) sets() {
	for _, s := range drills.Sets {
		f.say("  %s: %s", s.Name, s.Says)
	}
}

// list says all there is.
func (f *Face) list(d *session.Desk) {
	f.say("Drills:")
	for _, dr := range session.Drills() {
		f.say("  %s: %s", dr.Name, dr.Says)
	}
	f.say("Chords:")
	f.sets()
	if len(d.AllTunes()) > 0 {
		f.say("Tunes:")
		f.tunes(d)
	}
	f.short(d)
	for _, word := range slices.Sorted(maps.Keys(f.told)) {
		f.say("%s: %s", word, f.told[word][0])
	}
	f.say("Each is a command of its own too: footfall --help lists them.")
}

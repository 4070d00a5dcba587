package today

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/harmony/tune"
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
	// Left is where each passage's ramp was left.
	Left map[memory.Item]Left
	// Lesson takes the place of the new thing and the passages; nil for none.
	Lesson *lesson.Lesson
}

// Left is where a passage was left.
type Left struct {
	// Ramp is the progress after the last pass, "" if it had none.
	Ramp string
	// Tempo is that of the last pass, and Clean how it went.
	Tempo float64
	Clean bool
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

	secondsPerDue = 8  // a due item with its verdict
	secondsPerNew = 40 // a new item with the questions about it that follow
	mostWarmUp    = 15 // minutes
	mostNew       = 4  // items of a new thing
	passageLength = 5  // minutes at one passage before the next
	// floorShare is the share of a tune's tempo that a new ramp starts from. Common
	// practice, no source.
	floorShare = 0.6
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
	l.plan = Plan{Day: r.Day.String(), Minutes: r.Minutes, Seed: r.Seed, Steps: []Step{}}
	due := l.warmUp()
	if r.Lesson != nil {
		l.plan.Lesson = r.Lesson.Title
		l.lesson()
	} else {
		l.newThing(due)
		joy := l.joyTime()
		l.left -= joy
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
		for _, it := range l.plan.Steps[i].Items {
			l.plan.Steps[i].Keys = append(l.plan.Steps[i].Keys, it.Key())
		}
	}
	return l.plan
}

// layer is a plan in the making.
type layer struct {
	Request
	chance *rand.Rand
	plan   Plan
	// left are the minutes not yet given away.
	left int
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

// warmUp takes the due items, those that are forgotten soonest first, up to a
// third of the time, and lays them out so that no two look-alikes follow each
// other. It reports whether all that is due found room. On the first day the
// placing round stands in its place.
func (l *layer) warmUp() bool {
	if !memory.Placed(l.Known) && len(l.Work) > 0 && l.Lesson == nil {
		l.add(Step{Kind: Level, Minutes: 2, Tune: l.Work[0].Name, Text: "Find your level: two minutes of questions, easy ones first",
			Why: "nothing is known of you yet, and the plan begins where you stand"})
		return true
	}
	inWork := map[memory.Item]bool{}
	for _, w := range l.Work {
		for _, it := range w.Items {
			inWork[it] = true
		}
	}
	var due []memory.Item
	for it, s := range l.Known {
		if (inWork[it] || symbolFor(it) != "") && !s.New() && s.Due() <= l.Day {
			due = append(due, it)
		}
	}
	if len(due) == 0 {
		return true
	}
	recall := make(map[memory.Item]float64, len(due))
	for _, it := range due {
		recall[it] = l.Known[it].Recall(l.Day)
	}
	slices.SortFunc(due, func(a, b memory.Item) int {
		if c := cmp.Compare(recall[a], recall[b]); c != 0 {
			return c
		}
		return cmp.Compare(a.Key(), b.Key())
	})
	room := min(mostWarmUp, max(1, (l.left+2)/3)) * 60 / secondsPerDue
	all, weakest := len(due), due[0]
	due = l.apart(due[:min(all, room)])
	l.add(Step{Kind: Due, Minutes: max(1, (len(due)*secondsPerDue+59)/60), Items: due,
		Text: fmt.Sprintf("Warm up: %s before you forget", count(len(due), "thing")),
		Why:  fmt.Sprintf("%s due today; the weakest has a chance of %.0f %% to come back to you", count(all, "thing is", "things are"), 100*recall[weakest])})
	if waiting := all - len(due); waiting > 0 {
		l.plan.Notes = append(l.plan.Notes, fmt.Sprintf("%s more due and will be first tomorrow.", count(waiting, "thing is", "things are")))
		return false
	}
	return true
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

// newThing lets one new thing in: items of one degree that the tunes need first,
// no look-alikes among them. It waits for a day on which all that is due has
// room.
func (l *layer) newThing(dueFits bool) {
	minutes := min(l.Minutes*15/100, (mostNew*secondsPerNew+59)/60)
	if !dueFits || minutes < 1 {
		return
	}
	for _, w := range l.Work {
		deck := memory.NewDeck(w.Items, l.Known, l.Day, memory.Limits{})
		items := deck.Fresh(min(mostNew, max(1, minutes*60/secondsPerNew)), true)
		if len(items) == 0 {
			continue
		}
		if warm := l.plan.Steps; len(warm) > 0 && len(warm[0].Items) > 0 && memory.Alike(warm[0].Items[len(warm[0].Items)-1], items[0]) {
			if len(items) > 1 {
				items = append(items[1:], items[0])
			} else if items = deck.Fresh(2, true)[1:]; len(items) == 0 { // the next one instead
				continue
			}
		}
		what := items[0].Text()
		if len(items) > 1 && items[0].Degree != "" {
			what = fmt.Sprintf("%s the %s, %s", items[0].Kind, items[0].Degree, count(len(items), "chord"))
		}
		l.add(Step{Kind: New, Minutes: minutes, Items: items, Tune: w.Name, Text: "New: " + what,
			Why: fmt.Sprintf("%s needs it next", w.Title)})
		return
	}
}

func (l *layer) joyTime() int {
	if len(l.Work) == 0 || l.Minutes < 4 {
		return 0
	}
	return max(1, l.Minutes/10)
}

// passage is a stretch of a tune to play, and where it was left.
type passage struct {
	work Work
	part Part
	item memory.Item
	ramp ramp.Progress
	// rank orders passages: due, then begun, then new.
	rank   int
	recall float64
}

// passages shares the time among the passages in work, at most passageLength
// minutes each: those that are due first, the least remembered first, then those
// whose ramp is under way, then new ones in the order of the tune.
func (l *layer) passages() {
	var all []passage
	for _, w := range l.Work {
		for _, part := range w.Sections {
			all = append(all, l.passage(w, part))
		}
	}
	slices.SortStableFunc(all, func(a, b passage) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.recall, b.recall))
	})
	for i, p := range all {
		still := len(all) - i
		minutes := min(l.left, passageLength)
		if still == 1 || l.left-minutes < 3 {
			minutes = min(l.left, 2*passageLength)
		}
		passes := p.passes(minutes)
		if passes == 0 {
			continue
		}
		l.add(p.step(minutes, passes))
	}
}

func (l *layer) passage(w Work, part Part) passage {
	item := memory.Item{Kind: memory.Passage, Tune: w.Name, Section: part.Section, Layer: l.layerOf(w.Name, part.Section).String()}
	p := passage{work: w, part: part, item: item, ramp: l.rampOf(item, w.Tempo), rank: 2}
	if s := l.Known[item]; !s.New() {
		p.rank, p.recall = 1, s.Recall(l.Day)
		if s.Due() <= l.Day {
			p.rank = 0
		}
	}
	return p
}

// layerOf returns the layer to practise: the first whose ramp has not come to
// its end, or the last.
func (l *layer) layerOf(tune, section string) fretboard.Layer {
	for layer := fretboard.Bass; layer < fretboard.BassHalves; layer++ {
		left, played := l.Left[memory.Item{Kind: memory.Passage, Tune: tune, Section: section, Layer: layer.String()}]
		p, err := ramp.ParseProgress(left.Ramp)
		if !played || err != nil || !left.Clean || left.Tempo < p.Ramp.Target {
			return layer
		}
	}
	return fretboard.BassHalves
}

// rampOf returns a passage's ramp where it was left, or a new one that climbs to
// the tune's tempo.
func (l *layer) rampOf(item memory.Item, tempo float64) ramp.Progress {
	if p, err := ramp.ParseProgress(l.Left[item].Ramp); err == nil {
		return p
	}
	target := min(max(math.Round(tempo), tune.LowestTempo), tune.HighestTempo)
	floor := max(tune.LowestTempo, math.Round(target*floorShare))
	return ramp.Ramp{Floor: floor, Target: target, Step: ramp.DefaultStep, Rungs: ramp.DefaultRungs}.Start()
}

// passes returns how many passes go into minutes, each with a bar of count-in,
// all of them clean.
func (p passage) passes(minutes int) int {
	seconds, n := float64(60*minutes), 0
	for at := p.ramp; ; n++ {
		if seconds -= p.part.seconds(at.Tempo); seconds < 0 || n == 99 {
			return n
		}
		at = at.After(true)
	}
}

func (p Part) seconds(tempo float64) float64 { return (p.Quarters + p.Bar) * 60 / tempo }

func (p passage) step(minutes, passes int) Step {
	where := "where it was left"
	if p.ramp.Pass == 0 {
		where = "for the first time"
	}
	return Step{Kind: Passage, Minutes: minutes, Tune: p.work.Name, Section: p.part.Section, Layer: p.item.Layer,
		Ramp: p.ramp.String(), Tempo: p.ramp.Tempo, Passes: passes,
		Why:  p.why(),
		Text: fmt.Sprintf("%s, section %s, %s: from %g towards %g, %s", p.work.Title, p.part.Section, p.item.Layer, p.ramp.Tempo, p.ramp.Ramp.Target, where)}
}

// why says what the passage is played for.
func (p passage) why() string {
	switch p.rank {
	case 0:
		return fmt.Sprintf("it is due today; its ramp stands at %g of %g", p.ramp.Tempo, p.ramp.Ramp.Target)
	case 1:
		return fmt.Sprintf("its ramp stands at %g of %g", p.ramp.Tempo, p.ramp.Ramp.Target)
	}
	return fmt.Sprintf("it has not been played yet in the layer %s", p.item.Layer)
}

// fill gives what no passage could take to mixed questions.
func (l *layer) fill() {
	if l.left < 1 {
		return
	}
	s := Step{Kind: Mixed, Minutes: l.left, Text: "Questions of every kind, mixed", Why: "it fills the time that no passage could take"}
	if len(l.Work) > 0 {
		s.Tune = l.Work[0].Name
		s.Text += ", from " + l.Work[0].Title
	}
	l.add(s)
}

// lesson lays out the page and the tasks of a lesson in its order, the time left
// shared among them, with a last pass of one of its tunes.
func (l *layer) lesson() {
	l.add(Step{Kind: Lesson, Minutes: 2, Text: l.Lesson.Title + ": " + l.Lesson.Goal, Why: "it says what the tasks after it are for"})
	joy := l.joyTime()
	for i := range l.Lesson.Tasks {
		t := &l.Lesson.Tasks[i]
		minutes := (l.left - joy) / (len(l.Lesson.Tasks) - i)
		s := Step{Minutes: minutes, Task: t, Why: "a task of the lesson " + l.Lesson.Title}
		if d := t.Drill; d != nil {
			s.Kind, s.Tune = Mixed, d.Tune
			from := d.Chords
			if d.Tune != "" {
				from = d.Tune
			}
			s.Text = fmt.Sprintf("Drill %s, %s", d.Kind, from)
			s.Criterion = fmt.Sprintf("%d right of %d", d.Right, d.Of)
			if d.Within > 0 {
				s.Criterion += fmt.Sprintf(", in %g s", d.Within.Seconds())
			}
		} else {
			p := t.Passage
			item := memory.Item{Kind: memory.Passage, Tune: p.Tune, Section: p.Section, Layer: p.Layer}
			at := p.Ramp.Start()
			if left, err := ramp.ParseProgress(l.Left[item].Ramp); err == nil && left.Ramp == p.Ramp {
				at = left
			}
			s.Kind, s.Tune, s.Section, s.Layer, s.Ramp, s.Tempo = Passage, p.Tune, p.Section, p.Layer, at.String(), at.Tempo
			s.Text = fmt.Sprintf("Play %s, %s, from %g towards %g", p.Tune, p.Layer, at.Tempo, p.Ramp.Target)
			if p.Section != "" {
				s.Text = fmt.Sprintf("Play %s, section %s, %s, from %g towards %g", p.Tune, p.Section, p.Layer, at.Tempo, p.Ramp.Target)
			}
			s.Criterion = fmt.Sprintf("%s at %g", count(p.Clean, "clean pass", "clean passes"), p.At)
		}
		l.add(s)
	}
}

// joy ends the day with a pass of a whole tune at a tempo that is easy: of one
// that was played clean, picked by chance, or of the one at hand. Every other day
// one that was clean is walked freely.
func (l *layer) joy() {
	if len(l.Work) == 0 || l.joyTime() == 0 {
		return
	}
	w, tempo := l.Work[0], math.Round(l.Work[0].Tempo*floorShare)
	var clean []Work
	tempos := map[string]float64{}
	for _, c := range l.Work {
		for item, left := range l.Left {
			if item.Tune == c.Name && left.Clean {
				if _, seen := tempos[c.Name]; !seen {
					clean = append(clean, c)
				}
				if old, seen := tempos[c.Name]; !seen || left.Tempo < old {
					tempos[c.Name] = left.Tempo
				}
			}
		}
	}
	if len(clean) > 0 {
		w = clean[l.chance.IntN(len(clean))]
		tempo = tempos[w.Name]
	}
	tempo = min(max(tempo, tune.LowestTempo), tune.HighestTempo)
	for _, part := range append([]Part{w.Whole}, w.Sections...) {
		passes := int(float64(60*l.left) / part.seconds(tempo))
		if passes == 0 {
			continue
		}
		what := w.Title
		if part.Section != "" {
			what += ", section " + part.Section + ","
		}
		s := Step{Kind: Play, Minutes: l.left, Tune: w.Name, Section: part.Section, Layer: fretboard.Bass.String(), Tempo: tempo, Passes: passes,
			Text: fmt.Sprintf("%s once through at %g, for joy", what, tempo), Why: "the day ends with music at a tempo that is easy"}
		if len(clean) > 0 && l.Day%2 == 1 {
			s.Layer, s.Text = memory.FreeLayer, fmt.Sprintf("%s at %g, walked as you like: no line is asked for", what, tempo)
			s.Why = "its line is clean; making one up is what it is for"
		}
		l.add(s)
		return
	}
	l.add(Step{Kind: Play, Minutes: l.left, Text: "Anything you like, for joy", Why: "the day ends with music"})
}

// breaks puts a break before a step that would go past BreakAfter minutes since
// the last one; a step that is longer by itself is cut in two.
func (l *layer) breaks() {
	steps, run := []Step{}, 0
	rest := Step{Kind: Break, Minutes: BreakMinutes, Text: "Break: hands off the guitar for five minutes. Stop for today if anything hurts, tingles or is numb",
		Why: fmt.Sprintf("%d minutes of practice are enough at a time", l.BreakAfter)}
	for _, s := range l.plan.Steps {
		for s.Minutes > 0 {
			if run > 0 && run+min(s.Minutes, l.BreakAfter) > l.BreakAfter {
				steps, run = append(steps, rest), 0
			}
			part := s
			part.Minutes = min(s.Minutes, l.BreakAfter)
			steps = append(steps, part)
			run += part.Minutes
			s.Minutes -= part.Minutes
		}
	}
	if run >= l.BreakAfter && l.Minutes > l.BreakAfter {
		steps = append(steps, rest)
	}
	l.plan.Steps = steps
}

package today

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// joyTime is how long the last pass may take, 0 where none goes into so little.
func (l *layer) joyTime() int {
	if len(l.Work) == 0 || l.Minutes < 4 {
		return 0
	}
	minutes := max(1, l.Minutes/10)
	if _, ok := l.joyStep(minutes); !ok {
		return 0
	}
	return minutes
}

// passage is a stretch of a tune to play, and where it was left.
type passage struct {
	work Work
	part Part
	item memory.Item
	ramp ramp.Progress
	// rank orders passages: due, then begun, then new, then those that have come to their end.
	rank   int
	recall float64
}

// passages shares the time among the passages in work, at most passageLength
// minutes each: those that are due first, the least remembered first, then those
// whose ramp is under way, then new ones in the order of the tune. What a passage has
// no need of goes to questions, as far as there are any.
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
	ask := l.askable()
	for i, p := range all {
		still := len(all) - i
		minutes := min(l.left, passageLength)
		if still == 1 || l.left-minutes < 3 {
			minutes = min(l.left, 2*passageLength)
		}
		spared := min(max(0, minutes-p.enough()), ask)
		minutes, ask, l.left = minutes-spared, ask-spared, l.left-spared
		l.spared += spared
		passes := p.passes(minutes)
		if passes == 0 {
			continue
		}
		l.add(p.step(l, minutes, passes))
	}
	l.left += l.spared
}

// enough is how many minutes a passage has use for on a day: those in which it climbs and is
// clean as often as it has to be, twice over, since passes fail.
func (p passage) enough() int {
	seconds, clean := 0.0, 0
	for at := p.ramp; clean < CleanAtTop; at = at.After(true) {
		if at.Tempo >= at.Top() {
			clean++
		}
		seconds += p.part.seconds(at.Tempo)
	}
	return int(math.Ceil(2 * seconds / 60))
}

func (l *layer) passage(w Work, part Part) passage {
	item := memory.Item{Kind: memory.Passage, Tune: w.Name, Section: part.Section, Layer: l.layerOf(w, part.Section).String()}
	p := passage{work: w, part: part, item: item, ramp: forADay(l.rampOf(item, w.Tempo), l.Left[item]), rank: 2}
	if s := l.Known[item]; !s.New() {
		p.rank, p.recall = 1, s.Recall(l.Day)
		switch left := l.Left[item]; {
		case s.Due() <= l.Day:
			p.rank = 0
		case left.Clean && left.Tempo >= p.ramp.Ramp.Target:
			p.rank = 3
		}
	}
	return p
}

// topLayer is the highest layer that may be asked.
func (r Request) topLayer() fretboard.Layer {
	if r.Layers > 0 {
		return fretboard.Layer(r.Layers - 1)
	}
	return fretboard.BassHalves
}

// AtTempo reports whether every passage of the tunes in work was left at its tempo, in the
// highest layer that may be asked.
func (r Request) AtTempo() bool {
	for _, w := range r.Work {
		for _, part := range w.Sections {
			left := r.Left[memory.Item{Kind: memory.Passage, Tune: w.Name, Section: part.Section, Layer: r.topLayer().String()}]
			if left.Tempo < math.Round(w.Tempo) {
				return false
			}
		}
	}
	return len(r.Work) > 0
}

// layerOf returns the layer to practise: the first whose ramp has not come to
// its end, or the last.
func (l *layer) layerOf(w Work, section string) fretboard.Layer {
	for layer := fretboard.Bass; layer < l.topLayer(); layer++ {
		item := memory.Item{Kind: memory.Passage, Tune: w.Name, Section: section, Layer: layer.String()}
		left := l.Left[item]
		if _, err := ramp.ParseProgress(left.Ramp); err != nil || !left.Clean || left.Tempo < l.rampOf(item, w.Tempo).Ramp.Target {
			return layer
		}
	}
	return l.topLayer()
}

// rampOf returns a passage's ramp where it was left, or a new one. It climbs to the tune's
// tempo at least: a pass at one tempo, or of a lesson that asks for less, is no goal.
func (l *layer) rampOf(item memory.Item, tempo float64) ramp.Progress {
	target := min(max(math.Round(tempo), tune.LowestTempo), tune.HighestTempo)
	floor := max(tune.LowestTempo, math.Round(target*floorShare))
	fresh := ramp.Ramp{Floor: floor, Target: target, Step: ramp.DefaultStep, Rungs: ramp.DefaultRungs}.Start()
	p, err := ramp.ParseProgress(l.Left[item].Ramp)
	switch {
	case err != nil:
		return fresh
	case p.Ramp.Target >= target:
		return p
	case p.Ramp.Mode == ramp.Target:
		fresh.Ramp = fresh.Ramp.From(min(floor, p.Tempo))
		fresh.Tempo, fresh.Pass = p.Tempo, p.Pass
		return fresh
	}
	p.Ramp.Target = target
	return p
}

// forADay has a ramp climb so far as one day lets it, from where its passage was left.
func forADay(p ramp.Progress, left Left) ramp.Progress {
	return p.ForADay(left.Tempo, left.Judged && !left.Clean)
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

func (p passage) step(l *layer, minutes, passes int) Step {
	where := "where it was left"
	if p.ramp.Pass == 0 {
		where = "for the first time"
	}
	climb := fmt.Sprintf("at its tempo, %g BPM", p.ramp.Tempo)
	if p.ramp.Tempo < p.ramp.Ramp.Target {
		climb = fmt.Sprintf("from %g towards %g BPM", p.ramp.Tempo, p.ramp.Ramp.Target)
	}
	school := l.School
	if p.item.Layer == fretboard.Bass.String() {
		school = ""
	}
	return Step{Kind: Passage, Minutes: minutes, Tune: p.work.Name, Section: p.part.Section, Layer: p.item.Layer, School: school,
		Ramp: p.ramp.String(), Tempo: p.ramp.Tempo, Most: p.ramp.Most, Passes: passes,
		Why:  p.why(l),
		Text: fmt.Sprintf("%s, section %s, %s: %s, %s", p.work.Title, p.part.Section, lesson.LayerWords(p.item.Layer), climb, where)}
}

// joy ends the day with music.
func (l *layer) joy() {
	if l.joyTime() > 0 {
		if s, ok := l.joyStep(l.left); ok {
			l.add(s)
		}
	}
}

// joyStep is a pass of a whole tune at a tempo that is easy: of one that was played
// clean, which goes by the day, or of the one at hand. Once a walking line was taught,
// every other day one that was clean is walked freely. False where so many minutes hold none.
func (l *layer) joyStep(minutes int) (Step, bool) {
	w, tempo := l.Work[0], math.Round(l.Work[0].Tempo*floorShare)
	var clean []Work
	slowest := map[string]Left{}
	for _, c := range l.Work {
		for item, left := range l.Left {
			old, seen := slowest[c.Name]
			if item.Tune != c.Name || !left.Clean {
				continue
			}
			if !seen {
				clean = append(clean, c)
			}
			if !seen || left.Tempo < old.Tempo || left.Tempo == old.Tempo && left.Day > old.Day {
				slowest[c.Name] = left
			}
		}
	}
	why := fmt.Sprintf("the day ends with music; %.0f %% of the tune's tempo is easy", 100*floorShare)
	if len(clean) > 0 {
		w = clean[int((l.Seed+uint64(l.Day))%uint64(len(clean)))]
		tempo = slowest[w.Name].Tempo
		why = fmt.Sprintf("the day ends with music; %g was clean %s", tempo, l.when(slowest[w.Name].Day))
	}
	tempo = min(max(tempo, tune.LowestTempo), tune.HighestTempo)
	for _, part := range append([]Part{w.Whole}, w.Sections...) {
		if part.seconds(tempo) > float64(60*minutes) {
			continue
		}
		what := w.Title
		if part.Section != "" {
			what += ", section " + part.Section + ","
		}
		s := Step{Kind: Play, Minutes: minutes, Tune: w.Name, Section: part.Section, Layer: fretboard.Bass.String(), Tempo: tempo, Passes: 1,
			Text: fmt.Sprintf("%s once through at %g, just to play", what, tempo), Why: why}
		if len(clean) > 0 && l.OwnLine && l.Day%2 == 1 {
			s.Layer, s.Text = memory.FreeLayer, fmt.Sprintf("%s at %g, with a line of your own: roots alone will do", what, tempo)
			s.Why = fmt.Sprintf("its line was clean at %g %s; making one up is what it is for", tempo, l.when(slowest[w.Name].Day))
		}
		return s, true
	}
	return Step{}, false
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

// Package lesson reads lessons: a goal, a page of text, and the drills and
// passages to practise with what counts as done.
//
// It is pure. It reads text that it is handed and never knows where lessons are
// kept, how they are shown or what came of them.
package lesson

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/harmony/tune"
)

// Lesson is a lesson as written.
type Lesson struct {
	// Name is what it is called for good.
	Name  string
	Title string
	// Goal says in a line what the player can do at the end.
	Goal string
	// Needs is what must have been taught before, and Teaches what this lesson teaches,
	// each in a word or a few.
	Needs, Teaches []string
	// Text holds the page's paragraphs.
	Text []string
	// Tasks are practised in this order.
	Tasks []Task
	// Own is the lesson's own tune, nil for none. Tasks name it by OwnName.
	Own *tune.Tune
}

// here is what a lesson's lines call its own tune.
const here = "here"

// ownPrefix leads the name of a lesson's own tune.
const ownPrefix = "lesson-"

// OwnName is what a lesson's own tune is called in the history.
func OwnName(lesson string) string { return ownPrefix + lesson }

// OfOwn is the lesson whose own tune has a name; false where it is no such name.
func OfOwn(tune string) (lesson string, ok bool) { return strings.CutPrefix(tune, ownPrefix) }

// Task is a drill or a passage: one of the two is set.
type Task struct {
	// Line and Column, from 1, are where the text says what is asked: the degrees of a drill
	// that has some, else what stands second.
	Line, Column int
	Drill        *Drill
	Passage      *Passage
}

// Drill is a drill of a lesson.
type Drill struct {
	Kind memory.Kind
	// Tune is a tune's name and Title what players call it; where they are empty Chords
	// are the symbols to ask about, split by spaces.
	Tune, Title, Chords string
	// Degrees are those to ask for, nil for all.
	Degrees []string
	// Rhythms are the figures to tap, as harmony.Rhythm writes them, nil for all; Feel is
	// memory.FeelSwung or memory.FeelStraight and Tempo in quarter notes a minute, "" for
	// any.
	Rhythms     []string
	Feel, Tempo string
	// Right of Of answers count as done. Where Within is not 0 their median time
	// must not be more either.
	Right, Of int
	Within    time.Duration
}

// Passage is a passage of a lesson.
type Passage struct {
	// Tune is a tune's name and Title what players call it.
	Tune, Title string
	// Section is empty for the whole tune.
	Section string
	// Layer is memory.FreeLayer where the player makes the line up.
	Layer string
	// School is what the shapes are drawn from, the player's own where it is empty.
	School string
	Ramp   ramp.Ramp
	// Clean passes at a tempo of At or more count as done.
	Clean int
	At    float64
	// Promises are what the passage has for certain.
	Promises []Promise
}

// Item is what the history knows the passage by.
func (p Passage) Item() memory.Item {
	return memory.Item{Kind: memory.Passage, Tune: p.Tune, Section: p.Section, Layer: p.Layer}
}

// Says tells in a line what a task is.
func (t Task) Says() string {
	if d := t.Drill; d != nil {
		what := cmp.Or(d.Title, strings.ReplaceAll(d.Chords, " ", ", "))
		if d.Degrees != nil {
			what = strings.Join(d.Degrees, ", ") + " of " + what
		}
		title := drills.TitleOf(string(d.Kind))
		if d.Rhythms != nil {
			what = strings.Join(d.Rhythms, "; ")
		}
		return strings.ToUpper(title[:1]) + title[1:] + ": " + what
	}
	p := t.Passage
	parts := []string{"Play " + p.Title}
	if p.Section != "" {
		parts = append(parts, "section "+p.Section)
	}
	parts = append(parts, LayerWords(p.Layer))
	if p.School != "" && p.Layer != tune.Bass.String() {
		parts = append(parts, p.School)
	}
	return strings.Join(append(parts, fmt.Sprintf("%g to %g BPM", p.Ramp.Start().Tempo, p.Ramp.Target)), ", ")
}

// LayerWords names a layer to a player, that in which there is no line to play too.
func LayerWords(layer string) string {
	if l, err := tune.ParseLayer(layer); err == nil {
		return l.Title()
	}
	return "with a line of your own"
}

// Criterion tells in a few words what counts as done.
func (t Task) Criterion() string {
	if d := t.Drill; d != nil {
		text := fmt.Sprintf("%d right of %d", d.Right, d.Of)
		if d.Within > 0 {
			text += fmt.Sprintf(", in %g s", d.Within.Seconds())
		}
		return text
	}
	passes := "passes"
	if t.Passage.Clean == 1 {
		passes = "pass"
	}
	return fmt.Sprintf("%d clean %s at %g", t.Passage.Clean, passes, t.Passage.At)
}

// DoneWhen ends the sentence that begins with "done when".
func (t Task) DoneWhen() string {
	d := t.Drill
	if d == nil {
		times := ""
		if t.Passage.Clean > 1 {
			times = fmt.Sprintf(" %d times", t.Passage.Clean)
		}
		return fmt.Sprintf("you have played it clean%s at %g BPM", times, t.Passage.At)
	}
	text := fmt.Sprintf("%d of the last %d are right", d.Right, d.Of)
	if d.Within > 0 {
		text += fmt.Sprintf(", in %g s", d.Within.Seconds())
	}
	return text
}

// Met reports whether answers, of which right were not missed, in a median time,
// count as done.
func (d Drill) Met(asked, right int, median time.Duration) bool {
	return asked >= d.Of && right*d.Of >= d.Right*asked && (d.Within == 0 || median <= d.Within)
}

// Questions draws what the drill asks, in the order of the material.
func (d Drill) Questions(m drills.Material) ([]drills.Question, error) {
	ks, err := drills.KindsNamed(string(d.Kind))
	if err != nil {
		return nil, err
	}
	qs, err := ks[0].Draw(m)
	if err != nil {
		return nil, err
	}
	if d.Degrees != nil {
		qs = slices.DeleteFunc(qs, func(q drills.Question) bool { return !slices.Contains(d.Degrees, q.Ask().Degree) })
	}
	return slices.DeleteFunc(qs, func(q drills.Question) bool {
		it := q.Item()
		_, figure, _ := strings.Cut(it.Rhythm, " ")
		return d.Rhythms != nil && !slices.Contains(d.Rhythms, figure) || d.Feel != "" && it.About != d.Feel || d.Tempo != "" && it.Tempo != d.Tempo
	}), nil
}

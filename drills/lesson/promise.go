package lesson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Promise is something that a passage has for certain: a word and what it is about.
//
//	bars 12            so many bars
//	key F              the tune's key, Cm for a minor one
//	meter 3/4          the meter of every bar
//	straight           eighths are even; swung: they are not
//	chords m7 7        chords of all these qualities
//	bass 1 5           the line has these degrees and no others
//	uses b3 6          the line has these degrees, among others
//	roots 60           so many of 100 changes have the root in the bass
//	steps 60           so many of 100 roots after a change come by a half step
//	holds 4            so many bass notes or more that last for two beats or more
//	notes 3            shapes of at most so many notes, the bass among them
//	strings 4 3        shapes lie on these strings above the bass
//	under 1 5          what lies under the hits is one of these degrees, and each of them
//	hits on and        beats are struck in all these ways and in no others
//	most 1             at most so many hits in a bar
//	middle 5 m7:b3     a hit in the middle of a bar, away from changes, on each of these
//	                   degrees: of any chord, or of one with the quality named
//	inversions 4       so many hits or more that are not on the root
//	slash 2            so many chords or more with another bass than the root
//	tritone 2          so many dominants or more that fall a half step to the next root
//	sections Intro A   the tune has these sections, in this order
//	cues 4             so many bars or more have words
//	breaths 2          so many of them or more end with the breath mark
type Promise struct {
	Word string
	Args []string
}

// Breath ends the words of a bar in which a singer breathes: the breath mark of printed
// music (common practice, no source).
const Breath = "’"

// String writes the promise as lessons do.
func (p Promise) String() string { return strings.TrimSpace(p.Word + " " + strings.Join(p.Args, " ")) }

// promises reads a line of promises about the passage above it.
func (r *reader) promises(n int, all []clause) {
	tasks := r.lesson.Tasks
	if len(tasks) == 0 || tasks[len(tasks)-1].Passage == nil {
		r.fault(n, all[0].column, strconv.Quote("has"), "a play line above it, of which it says what the passage has")
		return
	}
	to := tasks[len(tasks)-1].Passage
	var words []string
	for w := range kept {
		words = append(words, w)
	}
	slices.Sort(words)
	for _, c := range all[1:] {
		f := strings.Fields(c.text)
		if len(f) == 0 || kept[f[0]].args != nil && !kept[f[0]].args(f[1:]) || kept[f[0]].broken == nil {
			r.fault(n, c.column, strconv.Quote(c.text), "a promise like: bars 12, or: middle 5 m7:b3; its first word is one of "+strings.Join(words, ", "))
			continue
		}
		to.Promises = append(to.Promises, Promise{f[0], f[1:]})
	}
}

// Broken tells which of its promises a passage of a tune does not keep, each in a
// sentence. The error says why it cannot be arranged.
func (p Passage) Broken(t *tune.Tune, n fretboard.Neck, h fretboard.Hand) (broken []string, err error) {
	if len(p.Promises) == 0 {
		return nil, nil
	}
	m := music{tune: t}
	layer, school := tune.BassHalves, fretboard.Mixed
	if p.Layer != memory.FreeLayer {
		if layer, err = tune.ParseLayer(p.Layer); err != nil {
			return nil, err
		}
	}
	if p.School != "" {
		if school, err = fretboard.ParseSchool(p.School); err != nil {
			return nil, err
		}
	}
	for _, fb := range t.Unroll() {
		if p.Section == "" || fb.Section == p.Section && (len(m.bars) == 0 || m.bars[len(m.bars)-1].Number+1 == fb.Number && fb.SectionBar > 1) {
			m.bars = append(m.bars, fb)
		}
	}
	a, err := fretboard.Arrange(t, n, h, layer, fretboard.AtTempo(max(t.Tempo, p.Ramp.Target)), fretboard.InSchool(school))
	if err != nil {
		return nil, err
	}
	for _, e := range a.Events {
		switch {
		case len(m.bars) == 0 || e.At.Bar < m.bars[0].Number || e.At.Bar > m.bars[len(m.bars)-1].Number:
		case e.Kind == fretboard.ShapeEvent:
			m.hits = append(m.hits, e)
		default:
			m.line = append(m.line, e)
		}
	}
	for _, promise := range p.Promises {
		if has := kept[promise.Word].broken(m, promise.Args); has != "" {
			broken = append(broken, fmt.Sprintf("it promises %s, and has %s", promise, has))
		}
	}
	return broken, nil
}

// music is a passage as it is arranged.
type music struct {
	tune       *tune.Tune
	bars       []tune.FormBar
	line, hits []fretboard.Event
}

// rule is how a promise is read and held to.
type rule struct {
	args func([]string) bool
	// broken says what a passage has instead, "" where the promise is kept.
	broken func(m music, args []string) string
}

var kept = map[string]rule{
	"bars": {number, func(m music, args []string) string { return unless(len(m.bars) == amount(args), len(m.bars)) }},
	"key": {words(1), func(m music, args []string) string {
		key := m.tune.Key.Tonic.String()
		if m.tune.Key.Minor {
			key += "m"
		}
		return unless(key == args[0], key)
	}},
	"meter": {words(1), func(m music, args []string) string {
		for _, b := range m.bars {
			if b.Meter.String() != args[0] {
				return fmt.Sprintf("%s in bar %d", b.Meter, b.Number)
			}
		}
		return ""
	}},
	"straight": {words(0), func(m music, _ []string) string { return unless(m.tune.Swing.Straight(), m.tune.Swing) }},
	"swung":    {words(0), func(m music, _ []string) string { return unless(!m.tune.Swing.Straight(), m.tune.Swing) }},
	"chords": {words(1, 2, 3, 4, 5), func(m music, args []string) string {
		var all []string
		for _, b := range m.bars {
			for _, c := range b.Bar.Chords {
				all = append(all, c.Chord.Quality().Name())
			}
		}
		return holds(all, qualities(args))
	}},
	"bass": {degrees, func(m music, args []string) string {
		for _, e := range m.line {
			if !slices.Contains(args, e.Degree.String()) {
				return fmt.Sprintf("a %s in bar %d", e.Degree, e.At.Bar)
			}
		}
		return holds(m.degrees(), args)
	}},
	"uses": {degrees, func(m music, args []string) string { return holds(m.degrees(), args) }},
	"roots": {number, func(m music, args []string) string {
		return atLeast(args, share(m.changes(), func(i int) bool { return m.line[i].Degree.Number == 1 }))
	}},
	"steps": {number, func(m music, args []string) string {
		roots := slices.DeleteFunc(m.changes(), func(i int) bool { return m.line[i].Degree.Number != 1 })
		return atLeast(args, share(roots, func(i int) bool {
			step := m.line[i].Note.MIDI() - m.line[i-1].Note.MIDI()
			return step == 1 || step == -1
		}))
	}},
	"holds": {number, func(m music, args []string) string {
		return atLeast(args, count(m.line, func(e fretboard.Event) bool { return e.Halves >= 4 }))
	}},
	"notes": {number, func(m music, args []string) string {
		for _, e := range m.hits {
			if n := count(e.Frets, func(f int) bool { return f >= 0 }); n > amount(args) {
				return fmt.Sprintf("a shape of %d in bar %d", n, e.At.Bar)
			}
		}
		return unless(len(m.hits) > 0, "no hit")
	}},
	"strings": {words(1, 2, 3, 4), func(m music, args []string) string {
		for _, e := range m.hits {
			for i, f := range e.Frets {
				if str := len(e.Frets) - i; f >= 0 && str != e.Place.String && !slices.Contains(args, fmt.Sprint(str)) {
					return fmt.Sprintf("a note on string %d in bar %d", str, e.At.Bar)
				}
			}
		}
		return unless(len(m.hits) > 0, "no hit")
	}},
	"under": {degrees, func(m music, args []string) string {
		var all []string
		for _, e := range m.hits {
			all = append(all, e.Degree.String())
			if !slices.Contains(args, e.Degree.String()) {
				return fmt.Sprintf("a hit on the %s in bar %d", e.Degree, e.At.Bar)
			}
		}
		return holds(all, args)
	}},
	"hits": {words(1, 2, 3, 4), func(m music, args []string) string {
		var all []string
		for _, e := range m.hits {
			all = append(all, e.Hit.String())
			if !slices.Contains(args, e.Hit.String()) {
				return fmt.Sprintf("%s in bar %d", e.Hit, e.At.Bar)
			}
		}
		return holds(all, args)
	}},
	"most": {number, func(m music, args []string) string {
		for _, b := range m.bars {
			if n := count(m.hits, func(e fretboard.Event) bool { return e.At.Bar == b.Number }); n > amount(args) {
				return fmt.Sprintf("%d hits in bar %d", n, b.Number)
			}
		}
		return unless(len(m.hits) > 0, "no hit")
	}},
	"middle": {places, func(m music, args []string) string {
		var all []string
		for _, e := range m.hits {
			i := slices.IndexFunc(m.bars, func(b tune.FormBar) bool { return b.Number == e.At.Bar })
			if b := m.bars[i]; e.At.Beat == b.Meter.Middle() && e.Hit != tune.HitPush && e.Hit != tune.HitAnd && len(b.Bar.Chords) == 1 {
				all = append(all, e.Degree.String(), e.Chord.Quality().Name()+":"+e.Degree.String())
			}
		}
		want := slices.Clone(args)
		for i, w := range want {
			if q, d, ok := strings.Cut(w, ":"); ok {
				want[i] = qualities([]string{q})[0] + ":" + d
			}
		}
		return holds(all, want)
	}},
	"inversions": {number, func(m music, args []string) string {
		return atLeast(args, count(m.hits, func(e fretboard.Event) bool { return e.Degree.Number != 1 }))
	}},
	"slash": {number, func(m music, args []string) string {
		return atLeast(args, m.chords(func(c, _ harmony.Chord) bool { return c.Bass != c.Root }))
	}},
	"tritone": {number, func(m music, args []string) string {
		return atLeast(args, m.chords(func(c, next harmony.Chord) bool {
			return strings.HasPrefix(c.Quality().Name(), "7") && (c.Root.Semitone()+11)%12 == next.Root.Semitone()
		}))
	}},
	"sections": {words(1, 2, 3, 4, 5, 6), func(m music, args []string) string {
		got := strings.Join(m.tune.FormOrder(), " ")
		return unless(got == strings.Join(args, " "), got)
	}},
	"cues": {number, func(m music, args []string) string {
		return atLeast(args, count(m.bars, func(b tune.FormBar) bool { return b.Bar.Words != "" }))
	}},
	"breaths": {number, func(m music, args []string) string {
		return atLeast(args, count(m.bars, func(b tune.FormBar) bool { return strings.HasSuffix(b.Bar.Words, Breath) }))
	}},
}

// degrees are those of the line.
func (m music) degrees() (all []string) {
	for _, e := range m.line {
		all = append(all, e.Degree.String())
	}
	return all
}

// changes are the places in the line where another chord begins than the one before.
func (m music) changes() (at []int) {
	for i := 1; i < len(m.line); i++ {
		if m.line[i].Chord.Identity() != m.line[i-1].Chord.Identity() {
			at = append(at, i)
		}
	}
	return at
}

// chords counts the chords of which something is true, with the one that follows; the
// first follows the last.
func (m music) chords(is func(c, next harmony.Chord) bool) int {
	var all []harmony.Chord
	for _, b := range m.bars {
		for _, c := range b.Bar.Chords {
			if !c.Chord.None {
				all = append(all, c.Chord)
			}
		}
	}
	n := 0
	for i, c := range all {
		if is(c, all[(i+1)%len(all)]) {
			n++
		}
	}
	return n
}

// unless is what a passage has, "" where that is what was promised.
func unless(kept bool, has any) string {
	if kept {
		return ""
	}
	return fmt.Sprint(has)
}

func atLeast(args []string, n int) string {
	return unless(n >= amount(args), n)
}

// holds says what of the wanted is not among all.
func holds(all, wanted []string) string {
	for _, w := range wanted {
		if !slices.Contains(all, w) {
			return "no " + w
		}
	}
	return ""
}

func count[T any](all []T, is func(T) bool) (n int) {
	for _, v := range all {
		if is(v) {
			n++
		}
	}
	return n
}

// share is in how many of 100 cases something is true, 0 of none.
func share(all []int, is func(int) bool) int {
	if len(all) == 0 {
		return 0
	}
	return 100 * count(all, is) / len(all)
}

// qualities are the names of chord qualities as the program has them; maj stands for a
// plain major chord.
func qualities(args []string) (names []string) {
	for _, a := range args {
		if a == "maj" {
			a = ""
		}
		if q, err := harmony.ParseQuality(a); err == nil {
			a = q.Name()
		}
		names = append(names, a)
	}
	return names
}

// amount is the number that a promise names, 0 for none.
func amount(args []string) int {
	n, err := strconv.Atoi(strings.Join(args, " "))
	if err != nil {
		return 0
	}
	return n
}

func number(args []string) bool { return amount(args) > 0 }

func words(n ...int) func([]string) bool {
	return func(args []string) bool { return slices.Contains(n, len(args)) }
}

func degrees(args []string) bool {
	return len(args) > 0 && !slices.ContainsFunc(args, func(a string) bool {
		d, err := harmony.ParseDegree(a)
		return err != nil || d.String() != a
	})
}

// places are degrees, each with a quality before it or without.
func places(args []string) bool {
	var all []string
	for _, a := range args {
		_, d, ok := strings.Cut(a, ":")
		if !ok {
			d = a
		}
		all = append(all, d)
	}
	return degrees(all)
}

package drills

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var sameKind = Kind{
	Name:  memory.Same,
	Title: "rename it",
	Says:  "tell which other chord has the notes of a shape",
	Draw: func(m Material) ([]Question, error) {
		var own, others []Question
		asked := map[memory.Item]bool{}
		for _, h := range hungShapes(m, 2) {
			if whole, rootless := otherNames(m.Neck, h.shape.Frets, h.chord); len(whole)+len(rootless) == 0 {
				continue
			}
			for i, c := range inKeys(h.chord) {
				up := c.Root.Semitone() - h.chord.Root.Semitone()
				frets, fits := moved(h.shape.Frets, mod12(up), m.Neck)
				q := Same{Chord: c, Frets: frets, Neck: m.Neck}
				if !fits || asked[q.Item()] {
					continue
				}
				asked[q.Item()] = true
				if i == 0 {
					own = append(own, q)
				} else {
					others = append(others, q)
				}
			}
		}
		return append(own, others...), nil
	},
}

// Same asks which other chord has the notes of a shape that hangs on a chord's bass
// degree: over G7, B F A D is Bm7b5, and Dm6 as well. Of some shapes it asks for
// the chord that they are without its root: E B D G, which is Em7, is Cmaj9. Typed
// symbols count by their notes; the wrong choices have the right root and a
// neighbouring quality, or the right quality on the chord's own root.
type Same struct {
	Chord harmony.Chord
	Frets []int
	Neck  fretboard.Neck

	number int
}

// At is the question with its right answer at a number.
func (q Same) At(number int) Question {
	q.number = number
	return q
}

// otherNames lists the chords on other roots that frets sound whole, and those that
// they sound all but the root of, the nearest name first.
func otherNames(n fretboard.Neck, frets []int, c harmony.Chord) (whole, rootless []harmony.Chord) {
	for _, r := range n.Read(frets) {
		if r.Chord.Root.Semitone() == c.Root.Semitone() || len(r.Adds) > 0 || len(r.Chord.Degrees) < 3 ||
			slices.ContainsFunc(r.Degrees, func(d harmony.Degree) bool { return !slices.Contains(r.Chord.Degrees, d) }) {
			continue
		}
		name := r.Chord.Quality().On(r.Chord.Root)
		switch {
		case len(r.Omits) == 0:
			whole = append(whole, name)
		case len(r.Omits) == 1 && r.Omits[0] == harmony.Degree{Number: 1}:
			rootless = append(rootless, name)
		}
	}
	return whole, rootless
}

// asked returns the chords that are right, the one to show first, and those that
// are true but not asked for. Which of two sorts a shape is asked for depends on
// the shape alone, so that it is the same in every key.
func (q Same) asked() (right, other []harmony.Chord, rootless bool) {
	right, other = otherNames(q.Neck, q.Frets, q.Chord)
	sort := hashed(memory.RelativeFrets(q.Frets)+q.Chord.Quality().Name()) / 7 % 2
	if len(right) == 0 || len(other) > 0 && sort == 1 {
		return other, right, true
	}
	return right, other, false
}

// Item is the shape over the chord.
func (q Same) Item() memory.Item {
	return memory.Item{
		Kind: memory.Same, Quality: q.Chord.Quality().Name(), Bass: lowestDegree(q.Neck, q.Frets, q.Chord).String(),
		Root: q.Chord.Root.String(), Frets: memory.RelativeFrets(q.Frets),
	}
}

// lowestDegree names the lowest string that sounds against a chord.
func lowestDegree(n fretboard.Neck, frets []int, c harmony.Chord) harmony.Degree {
	i := slices.IndexFunc(frets, func(f int) bool { return f >= 0 })
	return n.DegreeAt(fretboard.Place{String: len(frets) - i, Fret: frets[i]}, c)
}

// Ask shows the shape with its degrees and asks.
func (q Same) Ask() Ask {
	over := q.Neck.ReadOver(q.Frets, q.Chord)
	right, other, rootless := q.asked()
	what := "Which other chord has these notes?"
	if rootless {
		what = "Which other chord is it without the root?"
	}
	a := Ask{
		Prompt: fmt.Sprintf("Over %s %s sounds %s. %s", q.Chord.Symbol, fretboard.FormatFrets(q.Frets), strings.Join(harmony.Spelled(over.Degrees), " "), what),
		Chord:  q.Chord.Symbol, Degree: over.Degrees[0].String(), Takes: FormText,
		Frets: q.Frets, Marks: marksOf(q.Frets, harmony.Spelled(over.Degrees), fretboard.Plain),
	}
	var misses []string
	for _, miss := range q.misses(right[0]) {
		if !isOneOf(miss, slices.Concat(right, other)) && !sameNotes(miss, q.Chord) {
			misses = append(misses, miss.Symbol)
		}
	}
	a.Choices = choices(right[0].Symbol, misses, fretboard.FormatFrets(q.Frets)+q.Chord.Symbol, q.number)
	a.Hint = fmt.Sprintf("a chord symbol, or 1 to %d", len(a.Choices))
	return a
}

// misses are chords that the right one might be taken for.
func (q Same) misses(right harmony.Chord) []harmony.Chord {
	var all []harmony.Chord
	add := func(root harmony.Note, quality string) {
		if c, err := harmony.ParseQuality(quality); err == nil {
			all = append(all, c.On(root))
		}
	}
	near := right.Quality().Near()
	add(right.Root, near[0])
	fifth := harmony.Degree{Number: 5}
	add(fifth.Of(right.Root), right.Quality().Name())
	for _, quality := range near[1:] {
		add(right.Root, quality)
	}
	add(fifth.Of(right.Root), near[0])
	return all
}

// isOneOf reports whether a chord has the root and the tones of one of some others,
// its slash bass aside.
func isOneOf(c harmony.Chord, all []harmony.Chord) bool {
	return slices.ContainsFunc(all, func(o harmony.Chord) bool { return rooted(c).SoundsAs(o) })
}

// Right are the chords asked for, that of the choices first.
func (q Same) Right() []string {
	right, _, _ := q.asked()
	return symbols(right)
}

func symbols(chords []harmony.Chord) []string {
	var texts []string
	for _, c := range chords {
		texts = append(texts, c.Symbol)
	}
	return texts
}

// Judge takes a choice, or a chord symbol of any spelling.
func (q Same) Judge(r Reply) Judgement {
	from := q.Ask().Choices
	if r.Form != FormText {
		return unchosen(from)
	}
	text, ok := chosen(r.Text, from)
	if !ok {
		text = strings.TrimSpace(r.Text)
	}
	c, err := harmony.ParseChord(text)
	if err != nil {
		return unread(fmt.Sprintf("%s. Type a chord symbol, or the number of an answer.", strings.ToUpper(err.Error()[:1])+err.Error()[1:]))
	}
	right, other, rootless := q.asked()
	whole := right
	if rootless {
		whole = other
	}
	shown := slices.Concat(whole, right)[0]
	v := Judgement{Result: Miss, Given: c.Symbol, Marks: marksOf(q.Frets, noteTexts(right[0], q.Neck, q.Frets), fretboard.Right)}
	var notes []string
	for _, n := range q.Neck.Spell(q.Frets, &shown) {
		if !slices.Contains(notes, n.String()) {
			notes = append(notes, n.String())
		}
	}
	v.Reason = strings.Join(notes, " ") + ":"
	if len(whole) > 0 {
		v.Reason += " the notes of " + strings.Join(symbols(whole), " and ")
	}
	if sounded := map[bool][]harmony.Chord{true: right, false: other}[rootless]; len(sounded) > 0 {
		if len(whole) > 0 {
			v.Reason += ", and"
		}
		v.Reason += " " + strings.Join(symbols(sounded), " and ") + " without the root"
	}
	v.Reason += "."
	lowest := lowestDegree(q.Neck, q.Frets, c).Of(c.Root)
	switch slash := c.Bass != c.Root && c.Bass.Semitone() != lowest.Semitone(); {
	case slash && isOneOf(c, slices.Concat(right, other)):
		v.Reason += fmt.Sprintf(" %s is lowest, not %s.", lowest, c.Bass)
	case isOneOf(c, right):
		v.Result = Hit
	case isOneOf(c, other):
		v.Result = Near
		v.Reason += " So that is one too, but not the one asked for."
	case c.Root.Semitone() == q.Chord.Root.Semitone() && sameNotes(c, q.Chord):
		v.Reason += fmt.Sprintf(" %s is the chord you have.", c.Symbol)
	}
	return v
}

// sameNotes tells whether two chords hold the same notes, spelled as they may.
func sameNotes(a, b harmony.Chord) bool {
	sounding := func(c harmony.Chord) (set [12]bool) {
		for _, n := range c.Notes() {
			set[n.Semitone()] = true
		}
		return set
	}
	return sounding(a) == sounding(b)
}

// noteTexts names a shape's degrees against a chord.
func noteTexts(c harmony.Chord, n fretboard.Neck, frets []int) []string {
	return harmony.Spelled(n.ReadOver(frets, c).Degrees)
}

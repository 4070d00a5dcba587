package drills

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var nearKind = Kind{
	Name:  memory.Near,
	Title: "nearest voicing",
	Says:  "go from a shape to the nearest one of the next chord, and tell which voice moves where",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for most := 1; most <= 3 && len(qs) < enough; most++ {
			qs = drawNear(m, most)
		}
		return qs, nil
	},
}

// drawNear asks of each change of the material about so many shapes a bass degree
// and string.
func drawNear(m Material, most int) []Question {
	var qs []Question
	hung := hungShapes(m, most)
	answers := map[memory.Item]string{}
	for _, p := range changes(m) {
		for _, h := range hung {
			if h.chord.Identity() != rooted(p.from).Identity() {
				continue
			}
			for _, about := range []string{memory.AboutNearest, memory.AboutVoices} {
				q := Nearest{Chord: h.chord, Frets: h.shape.Frets, Next: rooted(p.to), Neck: m.Neck, Hand: m.hand(), About: about}
				// Near the ends of the neck another shape may be nearest than the one that is
				// elsewhere, and an item has one answer.
				if answer, ok := q.relative(); ok && (answers[q.Item()] == "" || answers[q.Item()] == answer) {
					answers[q.Item()] = answer
					qs = append(qs, q)
				}
			}
		}
	}
	return qs
}

// changes are the pairs of the material without their slash basses, each once. Of
// one chord alone it is the chord itself, to another shape of which one goes.
func changes(m Material) []pair {
	all := pairs(m)
	if chords := m.rooted(); len(chords) == 1 {
		return []pair{{from: chords[0], to: chords[0]}}
	}
	seen := map[[2]harmony.Identity]bool{}
	return slices.DeleteFunc(all, func(p pair) bool {
		from, to := rooted(p.from), rooted(p.to)
		key := [2]harmony.Identity{from.Identity(), to.Identity()}
		again := seen[key]
		seen[key] = true
		return again || from.SoundsAs(to)
	})
}

// Nearest asks, of a hand that holds a shape, for the nearest shape of the next
// chord on the same strings, or for what its voices do on the way there. The nearest
// is the one whose voices move the fewest half steps in all. The wrong choices are
// shapes of the chord that are farther, and one that is near and no shape of it; or
// the same voices going elsewhere.
type Nearest struct {
	Chord harmony.Chord
	Frets []int
	Next  harmony.Chord
	Neck  fretboard.Neck
	Hand  fretboard.Hand
	// About is what memory calls the thing asked.
	About string

	number int
}

// At is the question with its right answer at a number.
func (q Nearest) At(number int) Question {
	q.number = number
	return q
}

// shapes are those of the next chord, the nearest first. Of the chord itself they
// are the other ones.
func (q Nearest) shapes() []fretboard.Moved {
	all := q.Neck.Nearest(q.Hand, q.Frets, q.Next)
	if q.Chord.SoundsAs(q.Next) {
		all = slices.DeleteFunc(all, func(m fretboard.Moved) bool { return m.Steps == 0 })
	}
	return all
}

// relative writes the answer from the bass of the shape that is held; false where
// two shapes are as near, of which neither is the answer, or where there is none
// but the nearest.
func (q Nearest) relative() (string, bool) {
	shapes := q.shapes()
	if len(shapes) < 2 || shapes[0].Steps == shapes[1].Steps {
		return "", false
	}
	low := slices.IndexFunc(q.Frets, func(f int) bool { return f >= 0 })
	at := slices.Clone(shapes[0].Frets)
	for i := range at {
		at[i] -= q.Frets[low]
	}
	return fmt.Sprint(at), true
}

// Item is the way from the shape of one quality to another, in any key.
func (q Nearest) Item() memory.Item {
	return memory.Item{
		Kind: memory.Near, About: q.About, Quality: q.Chord.Quality().Name(), Bass: lowestDegree(q.Neck, q.Frets, q.Chord).String(),
		Frets: memory.RelativeFrets(q.Frets), Next: pair{from: q.Chord, to: q.Next}.next().String(), To: q.Next.Quality().Name(),
	}
}

// Ask shows the shape and asks.
func (q Nearest) Ask() Ask {
	over := q.Neck.ReadOver(q.Frets, q.Chord)
	shapes := q.shapes()
	a := Ask{
		Chord: q.Chord.Symbol, Degree: over.Degrees[0].String(), Takes: FormText,
		Frets: q.Frets, Marks: marksOf(q.Frets, harmony.Spelled(over.Degrees), fretboard.Plain),
	}
	held, to := fretboard.FormatFrets(q.Frets), shapes[0].String()
	if q.About == memory.AboutNearest {
		other := ""
		if q.Chord.SoundsAs(q.Next) {
			other = "other "
		}
		a.Prompt = fmt.Sprintf("You hold %s for %s. Which %sshape of %s on the same strings is nearest, in half steps of all voices?",
			held, q.Chord.Symbol, other, q.Next.Symbol)
		a.Choices = choices(to, q.farther(shapes), held+q.Chord.Symbol+q.Next.Symbol, q.number)
		a.Hint = fmt.Sprintf("frets, or 1 to %d", len(a.Choices))
		return a
	}
	a.Prompt = fmt.Sprintf("From %s, %s, to %s, %s: which voices move, and where?", held, q.Chord.Symbol, to, q.Next.Symbol)
	right := q.moves(shapes[0].Frets)
	a.Choices = choices(movesText(right), q.otherMoves(right), held+to+q.Next.Symbol, q.number)
	a.Hint = fmt.Sprintf("the number of an answer, 1 to %d", len(a.Choices))
	return a
}

// farther are wrong shapes: by turns the next nearest of the chord, and the nearest
// with one voice a fret off, which is no shape of it.
func (q Nearest) farther(shapes []fretboard.Moved) []string {
	var misses []string
	for _, m := range shapes[1:] {
		if m.Steps > shapes[0].Steps && len(misses) < mostChoices-2 {
			misses = append(misses, m.String())
		}
	}
	for i := len(q.Frets) - 1; i >= 0; i-- {
		at := slices.Clone(shapes[0].Frets)
		for _, by := range []int{-1, 1} {
			if at[i] += by; at[i] >= by+1 && at[i] > 0 && !q.sounds(at) && len(misses) < mostChoices {
				misses = append(misses, fretboard.FormatFrets(at))
			}
			at[i] -= by
		}
	}
	return misses
}

// sounds reports whether frets sound nothing outside the next chord.
func (q Nearest) sounds(frets []int) bool {
	for i, f := range frets {
		if f >= 0 && !slices.Contains(q.Next.Degrees, q.Next.DegreeOf(q.Neck.Tuning[i]+f)) {
			return false
		}
	}
	return true
}

// A move is what one voice does: its degree before, of the chord that is held, how
// many half steps it goes up, and its degree of the next chord.
type move struct {
	from, to harmony.Degree
	up       int
}

// moves lists the voices that move to a shape on the same strings, low to high.
func (q Nearest) moves(frets []int) []move {
	var all []move
	for i, f := range q.Frets {
		if f >= 0 && frets[i] != f {
			all = append(all, move{q.Chord.DegreeOf(q.Neck.Tuning[i] + f), q.Next.DegreeOf(q.Neck.Tuning[i] + frets[i]), frets[i] - f})
		}
	}
	return all
}

func movesText(moves []move) string {
	var texts []string
	for _, m := range moves {
		way := "up"
		if m.up < 0 {
			way = "down"
		}
		texts = append(texts, fmt.Sprintf("%s %s to %s", m.from, way, m.to))
	}
	if len(texts) == 0 {
		return "no voice moves"
	}
	return strings.Join(texts, ", ")
}

// otherMoves are moves that are not those to the nearest shape: a voice that stays
// moves in the place of one that does, one goes the other way, one goes to another
// degree.
func (q Nearest) otherMoves(right []move) []string {
	var misses []string
	with := func(i int, m move) {
		changed := slices.Clone(right)
		if i < len(changed) {
			changed[i] = m
		} else {
			changed = append(changed, m)
		}
		misses = append(misses, movesText(changed))
	}
	held := q.Neck.ReadOver(q.Frets, q.Chord).Degrees
	stays := slices.DeleteFunc(slices.Clone(held), func(d harmony.Degree) bool {
		return slices.ContainsFunc(right, func(m move) bool { return m.from == d })
	})
	for i := range right {
		m := right[len(right)-1-i]
		with(len(right)-1-i, move{m.from, m.to, -m.up})
		if len(stays) > 0 {
			with(len(right)-1-i, move{stays[i%len(stays)], m.to, m.up})
		}
		for _, d := range q.Next.Degrees {
			if d != m.to && d != m.from {
				with(len(right)-1-i, move{m.from, d, m.up})
				break
			}
		}
	}
	if len(right) == 0 {
		for _, d := range held[1:] {
			with(0, move{d, q.Next.Degrees[0], -1})
		}
	}
	return misses
}

// Right is the nearest shape, or what its voices do.
func (q Nearest) Right() []string {
	nearest := q.shapes()[0]
	if q.About == memory.AboutVoices {
		return []string{movesText(q.moves(nearest.Frets))}
	}
	return []string{nearest.String()}
}

// Judge takes the number or the text of a choice, and of a shape any frets.
func (q Nearest) Judge(r Reply) Judgement {
	ask := q.Ask()
	if r.Form != FormText {
		return unchosen(ask.Choices)
	}
	answer, ok := chosen(r.Text, ask.Choices)
	right, nearest := q.Right()[0], q.shapes()[0]
	frets, _ := q.Neck.Tuning.ParseFrets(answer)
	if q.About == memory.AboutNearest && !ok {
		var err error
		if frets, err = q.Neck.Tuning.ParseFrets(r.Text); err != nil {
			if n, fault := strconv.Atoi(strings.TrimSpace(r.Text)); fault == nil && n < 100 {
				return unread(fmt.Sprintf("There is no answer %d: type one of 1 to %d, or frets.", n, len(ask.Choices)))
			}
			return unread(strings.ToUpper(err.Error()[:1]) + err.Error()[1:] + ".")
		}
		answer = fretboard.FormatFrets(frets)
	} else if !ok {
		return unchosen(ask.Choices)
	}
	v := Judgement{Result: Miss, Given: answer, Marks: marksOf(nearest.Frets, harmony.Spelled(nearest.Degrees), fretboard.Right)}
	way := fmt.Sprintf("%s is %s of %s: %s.", nearest, strings.Join(harmony.Spelled(nearest.Degrees), " "), q.Next.Symbol, movesText(q.moves(nearest.Frets)))
	switch {
	case answer == right:
		v.Result, v.Reason = Hit, way
	case q.About == memory.AboutVoices:
		v.Reason = way
	default:
		v.Reason = q.whyNot(frets, answer, nearest) + " " + way
	}
	return v
}

// whyNot says what is wrong with frets that are not the nearest shape.
func (q Nearest) whyNot(frets []int, text string, nearest fretboard.Moved) string {
	for _, m := range q.shapes() {
		if slices.Equal(m.Frets, frets) {
			return fmt.Sprintf("%s moves %s, the nearest %d.", text, halfSteps(m.Steps), nearest.Steps)
		}
	}
	for i, f := range frets {
		if (f < 0) != (q.Frets[i] < 0) {
			return fmt.Sprintf("%s is not on the same strings.", text)
		}
	}
	for i, f := range frets {
		if d := q.Next.DegreeOf(q.Neck.Tuning[i] + f); f >= 0 && !slices.Contains(q.Next.Degrees, d) {
			return fmt.Sprintf("The %s on string %d of %s is not in %s.", d, len(frets)-i, text, q.Next.Symbol)
		}
	}
	return fmt.Sprintf("%s is no shape of %s that is nearer.", text, q.Next.Symbol)
}

func halfSteps(n int) string {
	if n == 1 {
		return "1 half step"
	}
	return fmt.Sprintf("%d half steps", n)
}

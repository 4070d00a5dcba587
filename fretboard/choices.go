package fretboard

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"footfall/harmony"
)

// Choice is a shape that could be struck at a hit, priced as the path prices it
// where all else stays as it is.
type Choice struct {
	// Frets and Fingers are those of the shape, Place that of its bass note.
	Frets, Fingers []int
	Place          Place
	// Hand is what it costs to hold and to reach, Voices what the voices and fingers
	// cost from the hit before and to the hit after, both in the path's units.
	Hand, Voices float64
	// More is what the whole costs more than with the arrangement's own shape.
	More float64
}

// grades are the differences, in millimetres of hand movement, from which a choice is felt
// to be another, to be plainly another, and to be hardly worth it (common practice, no
// source).
var grades = [...]float64{10, 50, 150}

// graded picks the word of a difference: of less, as much, a bit more, more and much more.
func graded(by float64, words [5]string) string {
	if by <= -grades[0] {
		return words[0]
	}
	at := 1
	for _, least := range grades {
		if by >= least {
			at++
		}
	}
	return words[at]
}

// HandBeside says what a choice asks of the hand beside another, to hold and to reach it:
// "a bit harder".
func (c Choice) HandBeside(other Choice) string {
	return graded(c.Hand-other.Hand, [...]string{"easier", "the same", "a bit harder", "harder", "much harder"})
}

// VoicesBeside says how the voices lead from the hit before and to the one after, beside
// another choice: "smoother".
func (c Choice) VoicesBeside(other Choice) string {
	return graded(c.Voices-other.Voices, [...]string{"smoother", "the same", "a bit rougher", "rougher", "much rougher"})
}

// Beside is both in a clause.
func (c Choice) Beside(other Choice) string {
	return fmt.Sprintf("for the hand it is %s, the voice leading is %s", c.HandBeside(other), c.VoicesBeside(other))
}

// plan is how an arrangement came about: what there was to choose from.
type plan struct {
	*search
	finder *gripFinder
	layers [][]grip
	path   []*grip
	least  float64 // what the path costs
	// moment holds, by event, the moment it belongs to.
	moment []int
}

// fewChoices is how many shapes there are at least to choose from, where the search
// has as many.
const fewChoices = 3

// Choices lists the shapes that could be struck at a hit, each set of frets once:
// the arrangement's own first, then the others by what the whole would cost. i is
// the index of a ShapeEvent.
func (a *Arrangement) Choices(i int) []Choice {
	p := a.plan
	m := p.moment[i]
	own := p.price(m, p.path[m])
	all := []Choice{own}
	add := func(g *grip) {
		c := p.price(m, g)
		c.More = c.Hand + c.Voices - own.Hand - own.Voices
		if math.IsInf(c.More, 1) || c.More >= p.w.Crowded {
			return
		}
		k := slices.IndexFunc(all, func(met Choice) bool { return slices.Equal(met.Frets, c.Frets) })
		switch {
		case k < 0:
			all = append(all, c)
		case k > 0 && c.More < all[k].More:
			all[k] = c
		}
	}
	at := &p.ms[m]
	layer := p.layers[m]
	if at.forced != nil { // what there would be without it
		free := *at
		free.forced = nil
		layer, _ = p.finder.grips(&free, nextNote(p.ms, m))
	}
	for j := range layer {
		add(&layer[j])
	}
	if h := p.before[m]; h >= 0 && p.finder.school == Mixed {
		for _, g := range p.finder.heldOver(p.path[h], at.chord, own.Place) {
			add(&g)
		}
	}
	offered := len(all)
	if len(all) < fewChoices && p.finder.school == Mixed {
		for _, s := range p.finder.searched(at.chord, own.Place, nil) {
			for _, g := range p.finder.shapeGrips(&s.Shape, own.Place, s.cost) {
				add(&g)
			}
		}
	}
	slices.SortStableFunc(all[1:], func(a, b Choice) int { return cmp.Compare(a.More, b.More) })
	return all[:min(len(all), max(offered, fewChoices))]
}

// heldOver are the grips that keep the voices of the shape before while the bass alone
// moves to a place; none where they do not make the chord, or the hand cannot hold them.
func (f *gripFinder) heldOver(before *grip, c harmony.Chord, p Place) []grip {
	if c.None || p == before.place {
		return nil
	}
	frets, tones := slices.Clone(before.shape.Frets), uint16(0)
	for i, fret := range frets {
		switch str := len(frets) - i; {
		case str == p.String:
			frets[i] = p.Fret
		case str == before.place.String:
			frets[i] = muted
		case fret >= 0:
			tones |= bit(c.DegreeOf(f.neck.Tuning[i] + fret))
		}
	}
	if lowestPlace(frets) != p {
		return nil
	}
	a := f.w.ask(c, f.above(c, p))
	lack, ok := a.lack(f.w, tones)
	fingering, can := f.neck.Fingering(f.hand, frets)
	if !ok || !can {
		return nil
	}
	s := Shape{Frets: frets, Fingering: fingering, Rank: fingering.Effort}
	return f.shapeGrips(&s, p, lack+f.w.hold(f.neck, &s, c))
}

// price prices a grip at a moment of the path.
func (p *plan) price(m int, g *grip) Choice {
	c := Choice{Frets: g.shape.Frets, Fingers: g.shape.Fingers, Place: g.place, Hand: g.cost}
	if m > 0 {
		c.Hand += p.step(m, p.path[m-1], g)
		if h := p.before[m]; h >= 0 {
			c.Voices += p.hit(h, m, p.path[h], g)
		}
	}
	if m+1 < len(p.path) {
		c.Hand += p.step(m+1, g, p.path[m+1])
		if h := p.after[m+1]; h < len(p.path) {
			c.Voices += p.hit(m, h, g, p.path[h])
		}
	}
	return c
}

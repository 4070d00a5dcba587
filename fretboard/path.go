package fretboard

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Arrange chooses a place for every bass note of the tune and a shape for every
// hit of the layer, so that the whole costs the hand least. It is a best path
// over all events, exact for the stated costs, and takes time linear in the
// length of the tune. Equal paths settle on the same one each time.
//
// The error is a *PathError, or that of the tune's line, where a note leaves the
// strings or a shape cannot be had.
func Arrange(t *tune.Tune, neck Neck, hand Hand, layer Layer, options ...Option) (*Arrangement, error) {
	line, err := t.Line(neck.BassRange())
	if err != nil {
		return nil, err
	}
	return arrangeMoments(t, moments(t, line, layer), neck, hand, layer, options)
}

// ArrangeInKey arranges a tune in another key of its mode. Where the line leaves
// the bass strings there, it is folded: the nearest line that fits is taken, and
// folded counts the notes whose direction changed. A given shape follows its
// bass note along the strings; where it cannot, the program chooses one. Errors
// are those of Arrange and of tune.Transpose.
func ArrangeInKey(t *tune.Tune, key harmony.Key, neck Neck, hand Hand, layer Layer, options ...Option) (a *Arrangement, folded int, err error) {
	moved, _, err := t.Transpose(key, neck.HighestFret)
	if err != nil {
		return nil, 0, err
	}
	line, err := moved.Line(neck.BassRange())
	var outside *tune.LineError
	if errors.As(err, &outside) && outside.Fits != nil {
		line, err = outside.Fits, nil
		for i, n := range line {
			if n.Direction != outside.Written[i] {
				folded++
			}
		}
	}
	if err != nil {
		return nil, 0, err
	}
	ms := moments(moved, line, layer)
	for i := range ms {
		ms[i].follow(neck, hand)
	}
	a, err = arrangeMoments(moved, ms, neck, hand, layer, options)
	return a, folded, err
}

func arrangeMoments(t *tune.Tune, ms []moment, neck Neck, hand Hand, layer Layer, options []Option) (*Arrangement, error) {
	o := optionsOf(t, options)
	f := gripFinder{neck: neck, hand: hand, w: o.weights, school: o.School, found: map[gripKey][]grip{}}
	p, err := given(settle(ms), func(ms []moment) (*plan, error) { return f.plan(t, ms, o.Tempo) })
	if err != nil {
		return nil, err
	}
	a := &Arrangement{Tune: t, Neck: neck, Hand: hand, Layer: layer, School: o.School, Cost: p.least, Rushed: p.rushed(p.path, neck, hand), plan: p}
	a.Events, p.moment = eventsOf(neck, p.ms, p.path)
	return a, nil
}

// plan finds the path of least cost over some moments, and over fewer where hits that
// the layer adds come too close to others. times are those of the moments.
func (f *gripFinder) plan(t *tune.Tune, ms []moment, tempo float64) (*plan, error) {
	for {
		layers := make([][]grip, len(ms))
		var err error
		for i := range ms {
			if layers[i], err = f.grips(&ms[i], nextNote(ms, i)); err != nil {
				return nil, err
			}
		}
		s := newSearch(newPricing(f.neck, f.w), ms, timesOf(t, ms, tempo))
		path, cost, stuck := s.best(layers)
		if stuck >= 0 {
			return nil, ms[stuck].fail("the bass note is held, and no shape fits above the place where it is held",
				"strike the bass note again here, or leave the shape out")
		}
		// A push at the end of the form has the hand where the form begins.
		if w := len(ms) - 1; w > 0 && ms[w].strike != nil && ms[w].strike.Hit == tune.HitPush && ms[w].bass != nil && ms[w].bass == ms[0].bass {
			there := slices.DeleteFunc(slices.Clone(layers[w]), func(g grip) bool { return g.place != path[0].place })
			if len(there) > 0 {
				layers[w] = there
				path, cost, _ = s.best(layers)
			}
		}
		path, cost = s.tie(layers, path, cost)
		i := s.crowded(path)
		if i < 0 {
			return &plan{search: s, finder: f, layers: layers, path: path, least: cost}, nil
		}
		ms = unstruck(ms, i)
	}
}

// settle leaves out the shapes that the layer adds in the middle of a bar over a
// passing bass note.
func settle(ms []moment) []moment {
	for i := len(ms) - 1; i >= 0; i-- {
		m := &ms[i]
		if m.own() && m.strike.Layer == tune.BassHalves && m.forced == nil && m.bass != nil &&
			passing(m.chord, ((m.bass.Pitch.MIDI()-m.chord.Root.Semitone())%12+12)%12) {
			ms = unstruck(ms, i)
		}
	}
	return ms
}

// unstruck leaves the shape of a moment out, and the moment where nothing else
// begins there.
func unstruck(ms []moment, i int) []moment {
	if !ms[i].placed && !ms[i].sounds {
		return slices.Delete(slices.Clone(ms), i, i+1)
	}
	ms[i].strike, ms[i].forced = nil, nil
	return ms
}

// gripFinder lists grips and remembers the shapes it has looked up.
type gripFinder struct {
	neck Neck
	hand Hand
	w    *weights
	// school is that of the shapes.
	school School
	found  map[gripKey][]grip
}

type gripKey struct {
	chord harmony.Identity
	place Place
}

// nextNote returns the moment at which the next bass note comes, the last of a
// pass leading to the first; nil where there is none.
func nextNote(ms []moment, i int) *moment {
	for k := 1; k < len(ms); k++ {
		if m := &ms[(i+k)%len(ms)]; m.placed {
			return m
		}
	}
	return nil
}

// grips lists every way for the hand to serve a moment, next being that of the
// next bass note.
func (f *gripFinder) grips(m, next *moment) ([]grip, error) {
	places, err := f.places(m)
	if err != nil {
		return nil, err
	}
	var all []grip
	for _, p := range places {
		switch {
		case m.strike == nil:
			all = append(all, f.fingerGrips(p)...)
		case m.forced != nil:
			all = append(all, f.forcedGrips(m, next, p)...)
		default:
			all = append(all, f.ownGrips(m, next, p)...)
		}
	}
	if len(all) == 0 {
		return nil, f.noGrip(m, places)
	}
	return all, nil
}

// ownGrips lists the grips of a hit above a bass place that the program would choose from.
func (f *gripFinder) ownGrips(m, next *moment, p Place) []grip {
	if m.bass != nil && passing(m.chord, f.above(m.chord, p)) {
		return f.passingGrips(m, next, p)
	}
	return f.chosenGrips(m.chord, p)
}

// places lists where a moment's lowest note can lie: the places of the bass
// note, or of the chord's own bass where the bass row rests under a hit.
func (f *gripFinder) places(m *moment) ([]Place, error) {
	if m.bass != nil {
		strings := f.neck.BassStrings
		if m.bass.Pin != 0 {
			strings = []int{m.bass.Pin}
		}
		if places := f.neck.PlacesOf(m.bass.Pitch.MIDI(), strings); len(places) > 0 {
			return places, nil
		}
		return nil, m.fail(fmt.Sprintf("%s is on none of the bass strings", m.bass.Pitch), "raise the highest fret, or write the degree in the other direction")
	}
	if lowest := lowestPlace(m.forced); lowest != (Place{}) {
		return []Place{lowest}, nil
	}
	var places []Place
	bass := f.neck.BassRange()
	for midi := bass.Low; midi <= bass.High; midi++ {
		if (midi-m.chord.Bass.Semitone())%12 == 0 {
			places = append(places, f.neck.PlacesOf(midi, f.neck.BassStrings)...)
		}
	}
	return places, nil
}

// mostGrips is how many shapes the path is offered at a place, the best by
// themselves.
const mostGrips = 24

// chosenGrips lists the grips of a chord above a bass place: those of the
// vocabulary, and where it has none that sounds all that is written, the best of
// the search.
func (f *gripFinder) chosenGrips(c harmony.Chord, p Place) []grip {
	key := gripKey{chord: c.Identity(), place: p}
	if all, ok := f.found[key]; ok {
		return all
	}
	shapes := f.ofSchool(c, p)
	if f.school == Mixed && !slices.ContainsFunc(shapes, func(s pricedShape) bool { return !s.lacks }) {
		shapes = append(shapes, f.searched(c, p, shapes)...)
	}
	if len(shapes) == 0 {
		shapes = f.searched(c, p, nil)
	}
	all := f.cheapest(shapes, p)
	f.found[key] = all
	return all
}

// cheapest turns the shapes that cost least by themselves into grips.
func (f *gripFinder) cheapest(shapes []pricedShape, p Place) []grip {
	slices.SortStableFunc(shapes, func(a, b pricedShape) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), slices.Compare(a.Frets, b.Frets))
	})
	// Five frets are for where nothing else sounds the chord.
	if close := slices.DeleteFunc(slices.Clone(shapes), func(s pricedShape) bool { return wide(s.Frets) }); len(close) > 0 {
		shapes = close
	}
	all := []grip{}
	for i := range shapes[:min(mostGrips, len(shapes))] {
		all = append(all, f.shapeGrips(&shapes[i].Shape, p, shapes[i].cost)...)
	}
	return all
}

// wide reports whether the fretted notes of a shape lie over five frets or more.
func wide(frets []int) bool { return spanned(frets) > 4 }

// spanned counts the frets over which the fretted notes of a shape lie.
func spanned(frets []int) int {
	low, high := mostFrets, 0
	for _, f := range frets {
		if f > 0 {
			low, high = min(low, f), max(high, f)
		}
	}
	return high - low + 1
}

// mostSearched is how many shapes of the search are offered where the vocabulary
// has none.
const mostSearched = 12

// searched lists the best shapes that the search finds above a place, but those
// met already.
func (f *gripFinder) searched(c harmony.Chord, p Place, met []pricedShape) []pricedShape {
	shapes := f.neck.Shapes(f.hand, Query{Chord: c, Bass: f.neck.DegreeAt(p, c), At: &p})
	// Above the bass a shape of an arrangement keeps to the strings that the line
	// leaves free, where it can.
	if free := slices.DeleteFunc(slices.Clone(shapes), f.crowdsLine); len(free) > 0 {
		shapes = free
	}
	var out []pricedShape
	for i := range shapes {
		s := &shapes[i]
		if slices.ContainsFunc(met, func(m pricedShape) bool { return slices.Equal(m.Frets, s.Frets) }) {
			continue
		}
		cost := f.w.Unknown + f.w.UnknownBad*s.Rank + f.w.hold(f.neck, s, c)
		out = append(out, pricedShape{Shape: *s, cost: cost})
		if len(out) == mostSearched {
			break
		}
	}
	return out
}

// crowdsLine reports whether a shape sounds more than one of the bass strings.
func (f *gripFinder) crowdsLine(s Shape) bool {
	used := 0
	for i, fret := range s.Frets {
		if fret >= 0 && slices.Contains(f.neck.BassStrings, len(s.Frets)-i) {
			used++
		}
	}
	return used > 1
}

// fingerGrips lists the fingers that can take a single bass note.
func (f *gripFinder) fingerGrips(p Place) []grip {
	var all []grip
	if p.Fret == 0 {
		for position := 1; position <= f.neck.HighestFret; position++ {
			all = append(all, grip{place: p, position: position, cost: f.w.OpenString + f.w.UpNeck*f.neck.FretMM(position)})
		}
		return all
	}
	for finger := 1; finger <= 4; finger++ {
		position := p.Fret - finger + 1
		if position < 1 {
			break
		}
		g := grip{place: p, finger: finger, position: position, cost: f.w.UpNeck * f.neck.FretMM(position)}
		if finger == 1 || finger == 4 {
			g.cost += f.w.Outer
		}
		all = append(all, g)
	}
	return all
}

// shapeGrips turns a shape into grips: one, or one a position where no string
// is fretted. The position is where the first finger lies, or would with the
// others one a fret.
func (f *gripFinder) shapeGrips(s *Shape, p Place, cost float64) []grip {
	g := grip{place: p, shape: s, cost: cost}
	g.voiced(f.neck)
	openBass := s.Frets[len(s.Frets)-p.String] == 0
	if openBass {
		g.cost += f.w.OpenString
	} else {
		g.finger = s.Fingers[len(s.Frets)-p.String]
	}
	for finger := 1; finger <= 4 && g.position == 0; finger++ {
		if at := g.spots[finger]; at != (Place{}) {
			g.position = max(1, at.Fret-finger+1)
		}
	}
	if g.position > 0 {
		g.cost += f.w.UpNeck * f.neck.FretMM(g.position)
		if openBass {
			g.cost += f.w.OpenFar * float64(max(0, g.position-2))
		}
		return []grip{g}
	}
	var all []grip
	for position := 1; position <= f.neck.HighestFret; position++ {
		free := g
		free.position = position
		free.cost += f.w.UpNeck * f.neck.FretMM(position)
		all = append(all, free)
	}
	return all
}

// noGrip explains a moment that the hand cannot serve, with the nearest change
// that would do.
func (f *gripFinder) noGrip(m *moment, places []Place) error {
	if m.forced != nil {
		return f.noForced(m)
	}
	what := fmt.Sprintf("no shape of %s fits above the bass note", m.chord.Symbol)
	if m.bass == nil {
		return m.fail(what, "write a bass note here, or leave the hit out")
	}
	what = fmt.Sprintf("no shape of %s fits above its %s (%s)", m.chord.Symbol, m.bass.Degree, m.bass.Pitch)
	bass := f.neck.BassRange()
	midi := m.bass.Pitch.MIDI()
	for away := 1; away <= bass.High-bass.Low; away++ {
		for _, near := range []int{midi - away, midi + away} {
			for _, p := range f.neck.PlacesOf(near, f.neck.BassStrings) {
				if d := m.chord.DegreeOf(near); slices.Contains(m.chord.Degrees, d) && len(f.chosenGrips(m.chord, p)) > 0 {
					return m.fail(what, fmt.Sprintf("give the bass the %s here (string %d fret %d), or leave the hit out", d, p.String, p.Fret))
				}
			}
		}
	}
	return m.fail(what, "leave the hit out")
}

// eventsOf turns the chosen grips into what is to be played. moment holds, by
// event, the moment that it belongs to.
func eventsOf(neck Neck, ms []moment, path []*grip) (events []Event, moment []int) {
	for i := range ms {
		m, g := &ms[i], path[i]
		e := Event{Section: m.bar.Section, SectionBar: m.bar.SectionBar, At: m.at, Chord: m.chord, Place: g.place, Finger: g.finger}
		if m.bass != nil {
			e.Degree, e.Note = m.bass.Degree, m.bass.Pitch
			if m.bass.Chord.Identity() != m.chord.Identity() {
				e.Degree = m.chord.DegreeOf(m.bass.Pitch.MIDI())
			}
		} else {
			e.Free = true
			e.Degree = m.chord.DegreeOf(neck.MIDI(g.place))
			e.Note = m.chord.PitchAt(neck.MIDI(g.place))
		}
		if m.sounds {
			bass := e
			bass.Kind, bass.Halves, bass.Degree = BassEvent, m.bass.Halves, m.bass.Degree
			events, moment = append(events, bass), append(moment, i)
		}
		if s := m.strike; s != nil {
			e.Kind, e.Halves, e.Hit, e.Times, e.Held = ShapeEvent, s.Halves, s.Hit, s.Times, s.Held
			e.Section, e.SectionBar, e.At, e.Layer, e.By = s.Bar.Section, s.Bar.SectionBar, s.At, s.Layer, s.By
			e.Frets, e.Fingers = g.shape.Frets, g.shape.Fingers
			events, moment = append(events, e), append(moment, i)
		}
	}
	return events, moment
}

package fretboard

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// The path's costs, in millimetres of hand movement or what is felt as much.
// The split into along-neck and across-neck moves follows Radicioni and Lombardo
// (2005); the weights are common practice, no source.
const (
	shiftStart    = 8.0   // any change of position, on top of its millimetres
	crossString   = 6.0   // each string that the bass crosses
	sameFinger    = 20.0  // one finger hops to another place for the next note
	openString    = 4.0   // an open string has to be damped by the free hand
	outerFinger   = 1.0   // fingers 1 and 4 against the middle of the hand (Heijink and Meulenbroek 2002)
	highPosition  = 0.04  // each millimetre from the nut, so that equals settle low
	rankWeight    = 25.0  // a unit of a shape's rank: its effort, and what it lacks in sound
	swapFinger    = 30.0  // a held bass note changes its finger
	longShift     = 500.0 // each fret beyond maxShiftFrets inside a bar
	maxShiftFrets = 5
)

// A grip is one way for the hand to serve a moment: a finger on a bass note, or
// a whole shape. position is the fret at which the first finger lies; behind
// open strings the hand is free to lie anywhere, so each fret is a grip of its
// own.
type grip struct {
	place    Place
	finger   int
	position int
	shape    *Shape
	cost     float64
}

// Arrange chooses a place for every bass note of the tune and a shape for every
// hit of the layer, so that the whole costs the hand least. It is a best path
// over all events, exact for the stated costs, and takes time linear in the
// length of the tune. Equal paths settle on the same one each time.
//
// The error is a *PathError, or that of the tune's line, where a note leaves the
// strings or a shape cannot be had.
func Arrange(t *tune.Tune, neck Neck, hand Hand, layer Layer) (*Arrangement, error) {
	low, high := neck.BassRange()
	line, err := t.Line(low, high)
	if err != nil {
		return nil, err
	}
	return arrangeMoments(t, moments(t, line, layer), neck, hand, layer)
}

// ArrangeInKey arranges a tune in another key of its mode. Where the line leaves
// the bass strings there, it is folded: the nearest line that fits is taken, and
// folded counts the notes whose direction changed. A given shape follows its
// bass note along the strings; where it cannot, the program chooses one. Errors
// are those of Arrange and of tune.Transpose.
func ArrangeInKey(t *tune.Tune, key harmony.Key, neck Neck, hand Hand, layer Layer) (a *Arrangement, folded int, err error) {
	moved, _, err := t.Transpose(key, neck.HighestFret)
	if err != nil {
		return nil, 0, err
	}
	low, high := neck.BassRange()
	line, err := moved.Line(low, high)
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
		ms[i].follow(neck)
	}
	a, err = arrangeMoments(moved, ms, neck, hand, layer)
	return a, folded, err
}

// follow slides a given shape to the bass note it hangs on, or gives it up for
// the program's own.
func (m *moment) follow(neck Neck) {
	if m.forced == nil || m.bass == nil || lowestPlace(m.forced) == (Place{}) {
		return
	}
	by := m.bass.Pitch.MIDI() - neck.MIDI(lowestPlace(m.forced))
	moved := slices.Clone(m.forced)
	for i, fret := range moved {
		if fret < 0 {
			continue
		}
		if moved[i] += by; moved[i] < 0 || moved[i] > neck.HighestFret {
			m.forced = nil
			return
		}
	}
	m.forced = moved
}

func arrangeMoments(t *tune.Tune, ms []moment, neck Neck, hand Hand, layer Layer) (*Arrangement, error) {
	f := gripFinder{neck: neck, hand: hand, found: map[gripKey][]grip{}}
	layers := make([][]grip, len(ms))
	var err error
	for i := range ms {
		if layers[i], err = f.grips(&ms[i]); err != nil {
			return nil, err
		}
	}
	path, cost, stuck := bestPath(neck, ms, layers)
	if stuck >= 0 {
		return nil, ms[stuck].fail("the bass note is held, and no shape fits above the place where it is held",
			"strike the bass note again here, or leave the shape out")
	}
	return &Arrangement{Tune: t, Neck: neck, Layer: layer, Events: eventsOf(neck, ms, layers, path), Cost: cost}, nil
}

// bestPath runs the layered graph forward, keeping for each grip its cheapest
// way there. It returns the grip chosen at each moment; stuck is the first
// moment that no grip of the one before can reach, else −1.
func bestPath(neck Neck, ms []moment, layers [][]grip) (path []int, cost float64, stuck int) {
	if len(ms) == 0 {
		return nil, 0, -1
	}
	from := make([][]int32, len(ms))
	best := make([]float64, len(layers[0]))
	for j := range layers[0] {
		best[j] = layers[0][j].cost
	}
	mm := make([]float64, neck.HighestFret+2)
	for i := range mm {
		mm[i] = neck.FretMM(i)
	}
	for i := 1; i < len(ms); i++ {
		next := make([]float64, len(layers[i]))
		from[i] = make([]int32, len(layers[i]))
		reached := false
		for j := range layers[i] {
			g := &layers[i][j]
			next[j] = math.Inf(1)
			for k := range layers[i-1] {
				c := best[k] + move(mm, &ms[i-1], &ms[i], &layers[i-1][k], g)
				if c < next[j] {
					next[j], from[i][j], reached = c, int32(k), true
				}
			}
			next[j] += g.cost
		}
		if !reached {
			return nil, 0, i
		}
		best = next
	}
	end := 0
	for j := range best {
		if best[j] < best[end] {
			end = j
		}
	}
	path = make([]int, len(ms))
	path[len(ms)-1] = end
	for i := len(ms) - 1; i > 0; i-- {
		path[i-1] = int(from[i][path[i]])
	}
	return path, best[end], -1
}

// move is the cost of going from one grip to the next, infinite where a held
// bass note would have to change its place. mm holds the frets' distances from
// the nut.
func move(mm []float64, ma, mb *moment, a, b *grip) float64 {
	held := mb.bass != nil && !mb.starts
	if held && a.place != b.place {
		return math.Inf(1)
	}
	cost := 0.0
	if a.position != b.position {
		cost += shiftStart + math.Abs(mm[b.position]-mm[a.position])
	}
	if held {
		if a.finger != b.finger {
			cost += swapFinger
		}
	} else {
		cost += crossString * math.Abs(float64(a.place.String-b.place.String))
		if a.finger == b.finger && a.finger > 0 && a.place != b.place && !barred(a, b) {
			cost += sameFinger
		}
	}
	if ma.at.Bar == mb.at.Bar {
		if over := abs(a.position-b.position) - maxShiftFrets; over > 0 {
			cost += longShift * float64(over)
		}
		if a.place.Fret > 0 && b.place.Fret > 0 {
			if over := abs(a.place.Fret-b.place.Fret) - maxShiftFrets; over > 0 {
				cost += longShift * float64(over)
			}
		}
	}
	return cost
}

// barred reports whether one finger may lie flat over both bass places.
func barred(a, b *grip) bool { return a.finger == 1 && a.place.Fret == b.place.Fret }

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// gripFinder lists grips and remembers the shapes it has looked up.
type gripFinder struct {
	neck  Neck
	hand  Hand
	found map[gripKey][]grip
}

type gripKey struct {
	chord string
	place Place
}

// grips lists every way for the hand to serve a moment.
func (f *gripFinder) grips(m *moment) ([]grip, error) {
	places, err := f.places(m)
	if err != nil {
		return nil, err
	}
	var all []grip
	for _, p := range places {
		switch {
		case m.strike && m.forced != nil:
			all = append(all, f.forcedGrips(m.forced, p)...)
		case m.strike:
			all = append(all, f.chosenGrips(m.chord, p)...)
		default:
			all = append(all, f.fingerGrips(p)...)
		}
	}
	if len(all) == 0 {
		return nil, f.noGrip(m, places)
	}
	return all, nil
}

// places lists where a moment's lowest note can lie: the places of the bass
// note, or of the chord's own bass where the bass row rests under a hit.
func (f *gripFinder) places(m *moment) ([]Place, error) {
	if m.bass != nil {
		if places := f.neck.PlacesOf(m.bass.Pitch.MIDI(), f.neck.BassStrings); len(places) > 0 {
			return places, nil
		}
		return nil, m.fail(fmt.Sprintf("%s is on none of the bass strings", m.bass.Pitch), "raise the highest fret, or write the degree in the other direction")
	}
	if lowest := lowestPlace(m.forced); lowest != (Place{}) {
		return []Place{lowest}, nil
	}
	var places []Place
	low, high := f.neck.BassRange()
	for midi := low; midi <= high; midi++ {
		if (midi-m.chord.Bass.Semitone())%12 == 0 {
			places = append(places, f.neck.PlacesOf(midi, f.neck.BassStrings)...)
		}
	}
	return places, nil
}

// chosenGrips lists the grips of a chord's shapes above a bass place. Of shapes
// that leave the hand at the same position with the same finger on the bass, the
// path can only want the cheapest, so the others are dropped.
func (f *gripFinder) chosenGrips(c harmony.Chord, p Place) []grip {
	key := gripKey{chord: c.Symbol, place: p}
	if all, ok := f.found[key]; ok {
		return all
	}
	type stance struct{ finger, position int }
	at := map[stance]int{}
	all := []grip{}
	shapes := f.neck.Shapes(f.hand, Query{Chord: c, Bass: f.neck.DegreeAt(p, c), At: &p})
	// Above the bass a shape of an arrangement keeps to the strings that the line
	// leaves free, where it can.
	if free := slices.DeleteFunc(slices.Clone(shapes), f.crowdsLine); len(free) > 0 {
		shapes = free
	}
	for i := range shapes {
		for _, g := range f.shapeGrips(&shapes[i], p) {
			s := stance{g.finger, g.position}
			if k, met := at[s]; !met {
				at[s] = len(all)
				all = append(all, g)
			} else if g.cost < all[k].cost {
				all[k] = g
			}
		}
	}
	f.found[key] = all
	return all
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
			all = append(all, grip{place: p, position: position, cost: openString + highPosition*f.neck.FretMM(position)})
		}
		return all
	}
	for finger := 1; finger <= 4; finger++ {
		position := p.Fret - finger + 1
		if position < 1 {
			break
		}
		g := grip{place: p, finger: finger, position: position, cost: highPosition * f.neck.FretMM(position)}
		if finger == 1 || finger == 4 {
			g.cost += outerFinger
		}
		all = append(all, g)
	}
	return all
}

// shapeGrips turns a shape into grips: one, or one a position where no string
// is fretted.
func (f *gripFinder) shapeGrips(s *Shape, p Place) []grip {
	g := grip{place: p, shape: s, cost: rankWeight * s.Rank}
	position := 0
	for i, finger := range s.Fingers {
		if s.Frets[i] == 0 && len(s.Frets)-i == p.String {
			g.cost += openString
		}
		if len(s.Frets)-i == p.String && s.Frets[i] > 0 {
			g.finger = finger
		}
		if s.Frets[i] > 0 && finger > 0 {
			if at := max(1, s.Frets[i]-finger+1); position == 0 || at < position {
				position = at
			}
		}
	}
	if position > 0 {
		g.position = position
		g.cost += highPosition * f.neck.FretMM(position)
		return []grip{g}
	}
	var all []grip
	for position := 1; position <= f.neck.HighestFret; position++ {
		free := g
		free.position = position
		free.cost += highPosition * f.neck.FretMM(position)
		all = append(all, free)
	}
	return all
}

// forcedGrips fingers a shape that the shapes row gives. There are none where
// the shape's lowest note is not at the place or the hand cannot hold it.
func (f *gripFinder) forcedGrips(frets []int, p Place) []grip {
	if lowestPlace(frets) != p || len(frets) != len(f.neck.Tuning) {
		return nil
	}
	key := gripKey{chord: FormatFrets(frets), place: p}
	all, ok := f.found[key]
	if !ok {
		if fingering, can := f.neck.Fingering(f.hand, frets); can {
			all = f.shapeGrips(&Shape{Frets: frets, Fingering: fingering, Rank: fingering.Effort}, p)
		}
		f.found[key] = all
	}
	return all
}

// lowestPlace is the place of the first string that a shape plays; the zero
// Place where it plays none.
func lowestPlace(frets []int) Place {
	for i, fret := range frets {
		if fret >= 0 {
			return Place{String: len(frets) - i, Fret: fret}
		}
	}
	return Place{}
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
	low, high := f.neck.BassRange()
	midi := m.bass.Pitch.MIDI()
	for away := 1; away <= high-low; away++ {
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

func (f *gripFinder) noForced(m *moment) error {
	text := FormatFrets(m.forced)
	if len(m.forced) != len(f.neck.Tuning) {
		return m.fail(fmt.Sprintf("the shape %s has %d strings, the neck %d", text, len(m.forced), len(f.neck.Tuning)), "write a fret or x for each string")
	}
	lowest := lowestPlace(m.forced)
	if lowest == (Place{}) {
		return m.fail(fmt.Sprintf("the shape %s plays no string", text), "write the frets it plays, or * for a shape of the program's")
	}
	if m.bass != nil && f.neck.MIDI(lowest) != m.bass.Pitch.MIDI() {
		return m.fail(fmt.Sprintf("the shape %s has %s lowest, but the bass line has %s here", text,
			m.chord.PitchAt(f.neck.MIDI(lowest)), m.bass.Pitch), "build the shape on the line's note, or write *")
	}
	return m.fail(fmt.Sprintf("the shape %s cannot be held with four fingers inside %.0f mm", text, f.hand.ReachMM), "leave a note out, or write *")
}

// eventsOf turns the chosen grips into what is to be played.
func eventsOf(neck Neck, ms []moment, layers [][]grip, path []int) []Event {
	var events []Event
	for i := range ms {
		m, g := &ms[i], &layers[i][path[i]]
		e := Event{Section: m.bar.Section, SectionBar: m.bar.SectionBar, At: m.at, Chord: m.chord, Place: g.place, Finger: g.finger}
		if m.bass != nil {
			e.Degree, e.Note = m.bass.Degree, m.bass.Pitch
			if m.bass.Chord.Symbol != m.chord.Symbol {
				e.Degree = m.chord.DegreeOf(m.bass.Pitch.MIDI())
			}
		} else {
			e.Free = true
			e.Degree = m.chord.DegreeOf(neck.MIDI(g.place))
			e.Note = m.chord.PitchAt(neck.MIDI(g.place))
		}
		if m.starts {
			bass := e
			bass.Kind, bass.Halves, bass.Degree = BassEvent, m.bass.Halves, m.bass.Degree
			events = append(events, bass)
		}
		if m.strike {
			e.Kind, e.Halves, e.Hit, e.Layer = ShapeEvent, m.halves, m.hit, m.layer
			e.Frets, e.Fingers = g.shape.Frets, g.shape.Fingers
			events = append(events, e)
		}
	}
	return events
}

package fretboard

import (
	_ "embed"
	"fmt"
	"math/bits"
	"slices"
	"strconv"
	"strings"
	"sync"

	"footfall/harmony"
)

//go:embed grips.txt
var gripText string

// gripStrings is how many strings the rows of the vocabulary have.
const gripStrings = 6

// knownGrip is a row of the vocabulary.
type knownGrip struct {
	// bassString is the index of the string of the bass, rel the frets above it from
	// the bass's, silent where a string is not played.
	bassString int
	rel        [gripStrings]int
	fingers    [gripStrings]int
	// degrees has a degree a sounding string, tone its semitones above the root by
	// string.
	degrees []harmony.Degree
	tone    [gripStrings]int
	second  bool // a second choice, but with open strings
	open    bool // with open strings alone
}

const silent = -100

// vocabulary is grips.txt, by the string of the bass and its semitones above the
// root.
var vocabulary = sync.OnceValue(func() map[[2]int][]knownGrip {
	rows := map[[2]int][]knownGrip{}
	for line := range strings.Lines(gripText) {
		if line = strings.TrimSpace(line); line == "" || line[0] == '#' {
			continue
		}
		g, err := readGrip(line)
		if err != nil {
			panic("fretboard: grips.txt: " + err.Error())
		}
		key := [2]int{g.bassString, g.tone[g.bassString]}
		rows[key] = append(rows[key], g)
	}
	return rows
})

// gripForms holds the fingers of every row of the vocabulary by its frets, counted from
// the bass's, silent where a string is not played.
var gripForms = sync.OnceValue(func() map[[gripStrings]int8][gripStrings]int8 {
	forms := map[[gripStrings]int8][gripStrings]int8{}
	for _, rows := range vocabulary() {
		for _, g := range rows {
			var form, fingers [gripStrings]int8
			for i, rel := range g.rel {
				form[i], fingers[i] = int8(rel), int8(g.fingers[i])
			}
			forms[form] = fingers
		}
	}
	return forms
})

// fingersOf returns the fingers of a row of the vocabulary whose frets, whole, these
// are, with none for a string that is open here; it reports false where they are none.
func fingersOf(n Neck, frets [mostStrings]int8) ([gripStrings]int8, bool) {
	bass := int8(muted)
	var form [gripStrings]int8
	for i := range form {
		form[i] = silent
		if f := frets[i]; f != muted {
			if bass == muted {
				if bass = f; !n.fitsVocabulary(i) {
					return form, false
				}
			}
			form[i] = f - bass
		}
	}
	fingers, ok := gripForms()[form]
	return fingers, ok
}

// readGrip reads a row of the vocabulary: frets, fingers and degrees between
// bars.
func readGrip(line string) (knownGrip, error) {
	g := knownGrip{bassString: -1}
	columns := strings.Split(line, "|")
	if g.second = len(columns) == 4 && strings.TrimSpace(columns[3]) == "second"; len(columns) != 3 && !g.second {
		return g, fmt.Errorf("%q: want frets | fingers | degrees, and | second where it is one", line)
	}
	frets, fingers := strings.Fields(columns[0]), strings.TrimSpace(columns[1])
	for _, text := range strings.Fields(columns[2]) {
		d, err := harmony.ParseDegree(text)
		if err != nil {
			return g, fmt.Errorf("%q: %w", line, err)
		}
		g.degrees = append(g.degrees, d)
	}
	if len(frets) != gripStrings || len(fingers) != gripStrings {
		return g, fmt.Errorf("%q: want %d strings", line, gripStrings)
	}
	sounding := 0
	for i, f := range frets {
		g.rel[i] = silent
		if f == "x" {
			continue
		}
		rel, err := strconv.Atoi(f)
		low := byte('1')
		if rel == 0 {
			low = '0'
			g.open = g.open || fingers[i] == '0'
		}
		if err != nil || fingers[i] < low || fingers[i] > '4' || sounding == len(g.degrees) {
			return g, fmt.Errorf("%q: string %d", line, gripStrings-i)
		}
		if g.bassString < 0 {
			g.bassString = i
		}
		g.rel[i], g.fingers[i] = rel, int(fingers[i]-'0')
		g.tone[i] = at(g.degrees[sounding])
		sounding++
	}
	if sounding != len(g.degrees) || sounding < 3 {
		return g, fmt.Errorf("%q: %d strings sound, %d degrees", line, sounding, len(g.degrees))
	}
	return g, nil
}

// fitsVocabulary reports whether a neck's strings, from that of a bass on, lie apart
// as those of the vocabulary's rows do: with the sixth string a whole step down the
// rows on the fifth still hold. bass counts from 0, the lowest string.
func (n Neck) fitsVocabulary(bass int) bool {
	if len(n.Tuning) != gripStrings {
		return false
	}
	for i := bass; i < gripStrings; i++ {
		if n.Tuning[i]-n.Tuning[bass] != Standard[i]-Standard[bass] {
			return false
		}
	}
	return true
}

// asked is what a grip has to sound over a chord and a bass note. Masks have a
// bit for each number of semitones above the chord's root.
type asked struct {
	bass    int    // semitones of the bass
	allowed uint16 // what may sound above it
	guides  []uint16
	fifth   uint16 // an altered fifth with no altered tension beside it
	ninth   bool   // the ninth may stand for the root, on the third of a plain chord
	want    [12]float64
}

// ask works out what a grip of a chord above a bass note has to sound: the third
// or what is suspended in its place, and the seventh or sixth; of a triad the
// fifth. Two bass notes leave the seventh out: the flat third of a minor chord, on which its
// first-inversion triad stands for it, and a sixth from outside the chord, whose
// shape is the triad above it (see the rules at BassDegrees). Common practice, no
// source.
func (w *weights) ask(c harmony.Chord, bass int) asked {
	a := asked{bass: bass}
	var third, fifth, seventh, sixth uint16
	for _, d := range c.Degrees {
		a.allowed |= bit(d)
		switch {
		case d.Number == 3, (d.Number == 2 || d.Number == 4) && !hasThird(c), d.Number == 11 && !hasThird(c):
			third |= bit(d)
		case d.Number == 5:
			fifth |= bit(d)
		case d.Number == 7:
			seventh |= bit(d)
		case d.Number == 6:
			sixth |= bit(d)
		}
	}
	for _, d := range c.Degrees {
		cost := w.Missing
		switch {
		case d.Number == 1:
			cost = w.NoRoot
		case d.Number == 5 && d.Alter == 0:
			cost = w.NoFifth
		case d.Number == 5, named(c, d):
			cost = w.NoTension
			if bass != 0 {
				cost = w.NoTensionOn
			}
		}
		a.want[at(d)] = cost
	}
	if tensions := alteredTensions(c); tensions > 0 && fifth != 0 && a.want[at(harmony.Degree{Number: 5})] == 0 {
		for _, d := range c.Degrees {
			if d.Number == 5 {
				a.want[at(d)] = w.Missing // the altered tension says it already
			}
		}
	}
	seventh, bassBit := seventh|sixth, uint16(1)<<bass
	outside := a.allowed&bassBit == 0
	switch {
	case bass == 3 && third == 1<<3 && seventh != 0,
		bass == 9 && outside:
		if bass == 9 {
			a.allowed &^= 1 << 10 // a half step above the bass
			a.want[10] = 0
		}
		seventh = 0
	}
	a.guides = append(a.guides, third)
	if seventh != 0 {
		a.guides = append(a.guides, seventh)
	} else if third == 0 || len(c.Degrees) <= 4 && fifth != 0 && bass != 9 {
		a.guides = append(a.guides, fifth)
	}
	a.guides = slices.DeleteFunc(a.guides, func(m uint16) bool { return m == 0 })
	if fifth&^(1<<7) != 0 && alteredTensions(c) == 0 {
		a.fifth = fifth
	}
	a.ninth = bass == 4 && plainNinth(c)
	return a
}

// alteredTensions counts the altered tensions of a chord.
func alteredTensions(c harmony.Chord) (n int) {
	for _, d := range c.Degrees {
		if d.Number > 7 && d.Alter != 0 {
			n++
		}
	}
	return n
}

// holds reports whether a row is a grip of the chord: all that it sounds above its
// bass is of it, and so is an altered fifth by which it has its name.
func (a *asked) holds(g *knownGrip) bool {
	allowed, sounding := a.allowed, uint16(0)
	if a.ninth {
		allowed |= 1 << 2
	}
	for i := g.bassString + 1; i < gripStrings; i++ {
		if g.rel[i] != silent && allowed>>g.tone[i]&1 == 0 {
			return false
		}
		if g.rel[i] != silent {
			sounding |= 1 << g.tone[i]
		}
	}
	return a.fifth&^(sounding|1<<a.bass) == 0
}

// lack prices what sounding tones lack, and reports false where they are no grip
// of the chord.
func (a *asked) lack(w *weights, upper uint16) (float64, bool) {
	sounding := upper | 1<<a.bass
	allowed, cost := a.allowed, 0.0
	rootless := false
	if a.ninth && upper&(1<<2) != 0 && sounding&1 == 0 {
		allowed, rootless = allowed|1<<2, true
		cost += w.Rootless
	}
	if upper&^allowed != 0 {
		return 0, false
	}
	for _, g := range a.guides {
		if sounding&g == 0 {
			return 0, false
		}
	}
	if ones(sounding) < 3 && ones(a.allowed) > 2 {
		return 0, false
	}
	for k := range 12 {
		if sounding>>k&1 == 0 && !(rootless && k == 0) {
			cost += a.want[k]
		}
	}
	return cost, true
}

// known lists the shapes of the vocabulary, whole and in part, above a bass
// place, each once, priced.
func (f *gripFinder) known(c harmony.Chord, p Place) []pricedShape {
	if c.None || len(c.Degrees) == 0 {
		return nil
	}
	bass := ((f.neck.MIDI(p)-c.Root.Semitone())%12 + 12) % 12
	a := f.w.ask(c, bass)
	k := knownSearch{f: f, c: c, a: &a, place: p, seen: map[[gripStrings]int]bool{}}
	// First the rows that sound nothing but the chord, then parts of others.
	for pass := range 2 {
		k.foreign = pass > 0
		f.rows(p, bass, func(g *knownGrip, fret int) {
			if a.holds(g) != k.foreign {
				k.row(g, fret)
			}
		})
	}
	return k.found
}

// rows visits the rows of the vocabulary on a tone, in semitones above the root, that lie
// over a bass place, with the fret of their bass: the place's own, or under an open
// string that of the same tone further up.
func (f *gripFinder) rows(p Place, tone int, visit func(g *knownGrip, fret int)) {
	for s := range 2 {
		if s != gripStrings-p.String && p.Fret > 0 || !f.neck.fitsVocabulary(s) {
			continue
		}
		rows := vocabulary()[[2]int{s, tone}]
		for i := range rows {
			for at := (f.neck.MIDI(p) - f.neck.Tuning[s] + 12) % 12; at <= f.neck.HighestFret; at += 12 {
				if at == p.Fret && s == gripStrings-p.String && !(rows[i].open && at > 0) {
					visit(&rows[i], p.Fret)
				} else if p.Fret == 0 && at > 0 && !rows[i].open {
					visit(&rows[i], at)
				}
			}
		}
	}
}

// pricedShape is a shape and what it costs to hold and lacks in sound.
type pricedShape struct {
	Shape
	cost  float64
	known bool
	// foreign is set for a part of a grip that is none of the chord.
	foreign bool
	lacks   bool // something that is written in the symbol
}

// knownSearch gathers the shapes of a place.
type knownSearch struct {
	f     *gripFinder
	c     harmony.Chord
	a     *asked
	place Place
	seen  map[[gripStrings]int]bool
	// foreign is set while parts are taken of rows that sound more than the chord.
	foreign bool
	found   []pricedShape
}

// row adds a row of the vocabulary with the bass at a fret, and its parts.
func (k *knownSearch) row(g *knownGrip, fret int) {
	var upper [gripStrings]int
	n, gone := 0, 0 // of the strings above, and those that cannot sound here, a bit each
	for i := g.bassString + 1; i < gripStrings; i++ {
		at := fret + g.rel[i]
		if g.rel[i] == silent {
			continue
		}
		if at < 0 || at > k.f.neck.HighestFret || gripStrings-i == k.place.String {
			gone |= 1 << n
		}
		upper[n] = i
		n++
	}
	for part := 1<<n - 1; part > 0; part-- {
		if part&gone != 0 || ones(uint16(part)) < 2 && len(k.c.Degrees) > 2 || !unbroken(part) {
			continue
		}
		var frets [gripStrings]int
		for i := range frets {
			frets[i] = muted
		}
		frets[gripStrings-k.place.String] = k.place.Fret
		tones := uint16(0)
		for j := range n {
			if part>>j&1 != 0 {
				i := upper[j]
				frets[i] = fret + g.rel[i]
				tones |= 1 << g.tone[i]
			}
		}
		if k.seen[frets] {
			continue
		}
		k.seen[frets] = true
		lack, ok := k.a.lack(k.f.w, tones)
		if !ok {
			continue
		}
		whole := part == 1<<n-1 && n == len(g.degrees)-1 && fret == k.place.Fret && !slices.Contains(frets[:], 0)
		k.add(g, frets[:], lack, whole)
	}
}

// unbroken reports whether a part, a bit a voice, leaves out none between others.
func unbroken(part int) bool {
	part >>= bits.TrailingZeros(uint(part))
	return part&(part+1) == 0
}

func (k *knownSearch) add(g *knownGrip, frets []int, lack float64, whole bool) {
	fingering, ok := k.f.neck.Fingering(k.f.hand, frets)
	if !ok {
		return
	}
	lacks := lack >= k.f.w.NoTension/2
	if whole {
		if slices.Max(fingering.Fingers) == 1 && slices.Max(g.fingers[:]) > 1 {
			fingering.Effort += otherFingers
		}
		fingering.Fingers = g.fingers[:]
	}
	if k.foreign {
		lack += k.f.w.Foreign
	}
	if g.second && !slices.Contains(frets, 0) {
		lack += k.f.w.Second
	}
	s := Shape{Frets: slices.Clone(frets), Fingering: fingering, Rank: fingering.Effort}
	k.found = append(k.found, pricedShape{Shape: s, cost: lack + k.f.w.hold(k.f.neck, &s, k.c), known: true, foreign: k.foreign, lacks: lacks})
}

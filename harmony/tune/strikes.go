package tune

import "footfall/harmony"

// Source says who asks for a strike.
type Source uint8

// The sources of a strike: the hits row, a rhythm, or the layer.
const (
	Written Source = iota
	ByComping
	ByLayer
)

// String returns "written", "comping" or "layer".
func (s Source) String() string { return [...]string{"written", "comping", "layer"}[s] }

// Strike is a token of the hits as it comes in a pass: a shape, and when it is
// struck.
type Strike struct {
	// Bar and At say where the token stands. At is off the beat where the offbeat
	// has a bass note or a chord of its own, so that the hit there is one of its own.
	Bar FormBar
	At  Position
	// Hit is HitOn, HitAnd, HitBoth or HitPush.
	Hit Hit
	// Times are the instants at which the strings above the bass are struck, one or
	// for HitBoth two.
	Times []Position
	// Chord is what it sounds, Bass where the bass note stands or goes on that the
	// shape hangs on: for a push those of the next beat, which after the last bar is
	// the first of the form.
	Chord harmony.Chord
	Bass  Position
	// Held says that the last of Times rings on beyond its beat; Halves is how long
	// it rings, in half beats: to the end of its beat, or, held, to the next strike
	// or the next chord.
	Held   bool
	Halves int
	// Layer is the lowest that asks for it.
	Layer Layer
	By    Source
	// Shape is what the shapes row has at the token.
	Shape ShapeToken
}

// Strikes returns what is struck when, over one pass of the form, in order of
// time, as a layer asks for it. Where nothing is written that is a shape on each
// change, and in BassHalves one on the middle beat of every bar without a change
// there. BassChanges takes of what is written the push into a chord, or the
// first hit while it sounds; BassHalves takes every hit. Nothing is struck over
// N.C.
func (t *Tune) Strikes(layer Layer) []Strike {
	if layer == Bass {
		return nil
	}
	p := newPass(t)
	for i := range p.bars {
		p.bar(i)
	}
	return p.choose(layer)
}

// pass is one pass of the form in half beats, from 0.
type pass struct {
	bars []FormBar
	harmony.Grid
	// chords are what sounds on each half beat, nil for nothing; change is set where
	// that is another chord than before, and region counts the changes up to there.
	chords []*harmony.Chord
	change []bool
	region []int
	bass   []bool // whether the bass row has a note or a rest of its own there
	all    []found
}

// found is a strike and its half beats.
type found struct {
	Strike
	times []int
	bass  int
}

func newPass(t *Tune) *pass {
	p := &pass{bars: t.Unroll(), Grid: t.Grid()}
	for _, fb := range p.bars {
		halves := fb.Meter.Halves()
		for half := range halves {
			var c *harmony.Chord
			if now := fb.Bar.changeAt(half, halves); now != nil && !now.Chord.None {
				c = &now.Chord
			}
			p.chords = append(p.chords, c)
			tok := at(fb.Bar.Bass, half/2)
			p.bass = append(p.bass, half%2 == 0 && tok.First.Kind != BassHold || half%2 == 1 && tok.Split && tok.Second.Kind != BassHold)
		}
	}
	region := -1
	for half := range p.chords {
		changes := half == 0 || !same(p.chords[half], p.chords[half-1])
		if changes {
			region++
		}
		p.change = append(p.change, changes)
		p.region = append(p.region, region)
	}
	return p
}

// same reports whether two chords sound alike, nil being none.
func same(a, b *harmony.Chord) bool {
	return a == b || a != nil && b != nil && a.SoundsAs(*b)
}

// bar finds the strikes of a bar, as if the layer asked for all.
func (p *pass) bar(i int) {
	fb := p.bars[i]
	hits, by := fb.Bar.Hits, Written
	if hits == nil {
		hits, by = fb.Comping.Hits(fb.Meter.Beats()), ByComping
	}
	for beat := range fb.Meter.Beats() {
		on := p.Start(i+1) + 2*beat
		off, next := on+1, (on+2)%p.Total()
		tok := HitToken{Hit: HitLayer}
		switch {
		case hits != nil:
			tok = at(hits, beat)
		case fb.Comping == Ballad:
			tok = HitToken{Hit: ballad[p.change[on]][p.change[off]], Held: true}
		}
		if tok.Hit == HitLayer {
			if p.change[on] || beat+1 == fb.Meter.Middle() {
				p.add(i, beat, HitToken{Hit: HitOn}, ByLayer, on)
			}
			if p.change[off] {
				p.add(i, beat, HitToken{Hit: HitOn}, ByLayer, off)
			}
			continue
		}
		if pushes := p.chords[next] != nil && !same(p.chords[off], p.chords[next]); tok.Hit == HitPush && !pushes {
			tok.Hit = HitAnd
		} else if tok.Hit == HitAnd && pushes && by == ByComping && fb.Comping != Ballad {
			tok.Hit = HitPush
		}
		apart := p.bass[off] || p.change[off] // the offbeat is one of its own
		switch {
		case tok.Hit == NoHit:
		case tok.Hit == HitAnd && apart:
			p.add(i, beat, HitToken{Hit: HitOn, Held: tok.Held}, by, off)
		case tok.Hit == HitBoth && apart:
			p.add(i, beat, HitToken{Hit: HitOn}, by, on)
			p.add(i, beat, HitToken{Hit: HitOn, Held: tok.Held}, by, off)
		case tok.Hit == HitBoth:
			p.add(i, beat, tok, by, on, off)
		case tok.Hit == HitOn:
			p.add(i, beat, tok, by, on)
		default:
			p.add(i, beat, tok, by, off)
		}
	}
}

// ballad is what the ballad rhythm strikes where the chord changes on a beat, and
// where it does on the offbeat.
var ballad = map[bool]map[bool]Hit{
	false: {false: NoHit, true: HitAnd},
	true:  {false: HitOn, true: HitBoth},
}

// add adds the strike of a beat's token, counted from 0, at some half beats.
func (p *pass) add(bar, beat int, tok HitToken, by Source, times ...int) {
	fb := p.bars[bar]
	f := found{times: times, bass: p.Start(bar+1) + 2*beat}
	switch {
	case tok.Hit == HitPush:
		f.bass = (times[0] + 1) % p.Total()
	case tok.Hit == HitOn:
		f.bass = times[0]
	}
	chord := p.chords[times[0]]
	if tok.Hit == HitPush {
		chord = p.chords[f.bass]
	}
	if chord == nil {
		return
	}
	f.Strike = Strike{
		Bar: fb, At: Position{Bar: fb.Number, Beat: beat + 1, Off: tok.Hit == HitOn && times[0]%2 == 1},
		Hit: tok.Hit, Chord: *chord, Bass: p.At(f.bass), Held: tok.Held, By: by, Shape: at(fb.Bar.Shapes, beat),
	}
	for _, half := range times {
		f.Times = append(f.Times, p.At(half))
	}
	p.all = append(p.all, f)
}

// choose takes the strikes that a layer asks for and gives them their lengths.
func (p *pass) choose(layer Layer) []Strike {
	served := make([]bool, p.Total()+1) // by region
	kept := p.all[:0]
	var first Position // the token that served the region last
	for _, f := range p.all {
		region := p.region[f.times[0]]
		into := f.Hit == HitPush
		if into {
			region = p.region[f.bass]
		}
		change := f.By == ByLayer && p.change[f.times[0]]
		f.Layer = BassChanges
		switch {
		case into && f.bass == 0: // what begins the next pass, not this one
		case served[region] && first == (Position{Bar: f.At.Bar, Beat: f.At.Beat}): // its second strike
		case change && served[region]: // the push into the chord sounds on
			continue
		case f.By == ByLayer && !change, served[region]:
			f.Layer = BassHalves
		default:
			served[region] = true
			first = Position{Bar: f.At.Bar, Beat: f.At.Beat}
		}
		if f.Layer <= layer {
			kept = append(kept, f)
		}
	}
	out := make([]Strike, len(kept))
	for i := range kept {
		next := p.Total()
		switch {
		case i+1 < len(kept):
			next = kept[i+1].times[0]
		case kept[i].Hit == HitPush && kept[i].bass == 0:
			next += kept[0].times[0] // it rings into the next pass
		}
		kept[i].Halves, kept[i].Held = p.length(&kept[i], next)
		out[i] = kept[i].Strike
	}
	return out
}

// length returns how long a strike rings, given the half beat of the next one, and
// whether that is beyond its beat. What the layer asks for rings with its bass note.
func (p *pass) length(f *found, next int) (halves int, held bool) {
	start := f.times[len(f.times)-1]
	short := start + 2 - start%2
	end := short
	if f.By == ByLayer || f.Held {
		end = start + 1
		for end < next {
			at := end % p.Total()
			if p.change[at] && !(f.Hit == HitPush && at == f.bass) || f.By == ByLayer && p.bass[at] {
				break
			}
			end++
		}
	}
	if f.By == ByLayer {
		end = max(end, min(short, next))
	}
	return min(end, next) - start, f.Held || end > short
}

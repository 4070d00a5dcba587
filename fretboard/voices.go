package fretboard

import "math"

// A grip is one way for the hand to serve a moment: a finger on a bass note, or
// a whole shape. position is the fret at which the first finger lies; behind
// open strings the hand is free to lie anywhere, so each fret is a grip of its
// own.
type grip struct {
	place    Place
	finger   int
	position int
	cost     float64
	// shape is nil for a bass note alone. Of a shape, top is the MIDI number of its
	// highest voice, tones has a bit a pitch class above the bass, and spots say where each finger lies, on the
	// lowest of its strings.
	shape *Shape
	top   int
	tones uint16
	spots [5]Place
}

// voiced fills in what the path compares of a shape.
func (g *grip) voiced(n Neck) {
	s := g.shape
	for i, fret := range s.Frets {
		if fret < 0 {
			continue
		}
		midi := n.Tuning[i] + fret
		g.top = max(g.top, midi)
		if len(s.Frets)-i != g.place.String {
			g.tones |= 1 << (midi % 12)
		}
		if f := s.Fingers[i]; f > 0 && g.spots[f] == (Place{}) {
			g.spots[f] = Place{String: len(s.Frets) - i, Fret: fret}
		}
	}
}

// pricing prices moves on one neck.
type pricing struct {
	w  *weights
	mm []float64 // distance of each fret from the nut
}

func newPricing(n Neck, w *weights) *pricing {
	p := &pricing{w: w, mm: make([]float64, n.HighestFret+2)}
	for i := range p.mm {
		p.mm[i] = n.FretMM(i)
	}
	return p
}

// move is the cost of the hand's way from one grip to the next, which comes so
// many seconds later; infinite where a held bass note would have to change its place. inside is set
// where both stand in one bar.
func (p *pricing) move(a, b *grip, held, inside bool, seconds float64) float64 {
	if held && a.place != b.place {
		return math.Inf(1)
	}
	cost := 0.0
	if a.position != b.position {
		mm := math.Abs(p.mm[b.position] - p.mm[a.position])
		cost += p.w.Shift + p.w.ShiftMM*mm + p.w.LateMM*max(0, mm-freeReachMM-handSpeedMM*seconds)
	}
	if inside {
		far := max(0, abs(a.position-b.position)-farFrets)
		if a.place.Fret > 0 && b.place.Fret > 0 {
			far += max(0, abs(a.place.Fret-b.place.Fret)-farFrets)
		}
		cost += p.w.FarFret * float64(far)
	}
	if held {
		if a.finger != b.finger {
			cost += p.w.Refinger
		}
		return cost
	}
	cost += p.w.Cross * math.Abs(float64(a.place.String-b.place.String))
	if a.finger == b.finger && a.finger > 0 && a.place != b.place {
		switch {
		case a.finger == 1 && a.place.Fret == b.place.Fret: // it may lie flat
		case a.place.String == b.place.String:
			cost += p.w.SameSlide
		default:
			cost += p.w.SameHop
		}
	}
	return cost
}

// voice is the cost of what the voices and fingers do from one hit to the next,
// which comes so many seconds later.
func (p *pricing) voice(a, b *grip, seconds float64) float64 {
	w := p.w
	cost, fingers := 0.0, 0.0
	switch by := abs(a.top - b.top); {
	case by == 0:
	case by <= 2:
		cost += w.Step
	case by <= 4:
		cost += w.Step + w.Third*float64(by-2)
	default:
		cost += w.Step + w.Third*float64(by-2) + w.Leap + w.LeapSoon*calmSeconds/max(seconds, calmSeconds)
	}
	for f := 1; f <= 4; f++ {
		at, was := b.spots[f], a.spots[f]
		switch {
		case at == (Place{}) || at == was:
		case at.String == was.String:
			fingers += w.Slide
		default:
			fingers += w.Place
		}
	}
	return cost + fingers*max(1, calmSeconds/max(seconds, 0.05)) + w.VoiceMove*float64(ones(b.tones&^a.tones))
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

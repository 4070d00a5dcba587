package fretboard

import (
	"math"

	"footfall/harmony"
)

// weights are the costs that the arranger weighs against each other, in
// millimetres of hand movement or what is felt as much. The split into
// along-neck and across-neck moves follows Radicioni and Lombardo (2005), the
// outer fingers Heijink and Meulenbroek (2002); the rest are common practice, no
// source, fitted to testdata/passages (see TestFitWeights).
type weights struct {
	// Of a shape by itself.
	Effort       float64 // a unit of the hand's effort: a hard shape comes late and sounds so
	Unknown      float64 // a shape that is no grip of the vocabulary: the hand has not learned it
	UnknownBad   float64 // and so for each unit of the search's rank
	Foreign      float64 // a part of a grip that as a whole sounds more than the chord
	Spread       float64 // a shell over four frets and off strings 4 and 3: a shell lies under the hand
	NoPart       float64 // a shell on the root that is no part of a grip that players know
	Unsaid       float64 // a shell above another bass than the root leaves out its third or seventh, which the change has sounded
	Skip         float64 // a shell with a string between its voices
	High         float64 // a shell on strings 3 and 2 over a bass on string 5
	Second       float64 // a second choice of the vocabulary
	NoTension    float64 // a tension written in the symbol does not sound: the symbol asks for it
	NoTensionOn  float64 // and so over a bass that is not the root, where the chord has been heard already
	Missing      float64 // another tone of the chord does not
	NoRoot       float64 // the root does not sound; the line has it on another beat
	NoFifth      float64 // the natural fifth does not: it colors least
	Rootless     float64 // the ninth stands for the root: a little more than was asked
	Doubled      float64 // a tone sounds twice, which thickens and says nothing
	DoubledGuide float64 // and it is the third or seventh, which stands out
	Gap          float64 // a string is left out between two above the bass: the pick or thumb has to miss it
	BelowLimit   float64 // each semitone that the second voice with the bass lies below the low interval limit
	InnerOpen    float64 // an open string above the bass with the hand past the fourth fret rings on
	NearOpen     float64 // an open string above the bass near the nut
	OpenFar      float64 // an open bass, each fret of the hand past the second: it is not where the open string is
	FarVoice     float64 // each string left out between the bass and the voice above it, but string 5
	Diminished   float64 // a diminished seventh under a chord that comes a half step above
	OverPassing  float64 // the chord's own tones over a passing bass note
	Wide         float64 // each fret beyond four that a shape spans
	Thin         float64 // each voice under four, where there is time for four
	Thick        float64 // each voice past four: the thumb and three fingers pluck four
	BassString   float64 // a string of the line sounds above the bass
	HighFret     float64 // each fret past the twelfth of the lowest fretted note: the body is in the way
	UpNeck       float64 // each millimetre from the nut, so that equals settle low
	LittleBass   float64 // the little finger on the bass cannot lead on

	// Of a bass note by itself.
	OpenString float64 // an open string has to be damped by the free hand
	Outer      float64 // fingers 1 and 4 against the middle of the hand

	// From one moment to the next.
	Shift     float64 // a change of position, on top of its millimetres
	ShiftMM   float64 // each millimetre of it
	LateMM    float64 // each millimetre more than there is time for
	FarFret   float64 // each fret past five inside a bar, of the hand or from bass note to bass note
	Cross     float64 // each string that the bass crosses
	SameHop   float64 // one finger hops to another string for the next bass note
	SameSlide float64 // or slides along its own string
	Refinger  float64 // a held bass note changes its finger

	// Over the whole.
	Tying float64 // the share of the free path's cost that the whole may cost more with equal bars tied: one that is learned serves in all

	// From one hit to the next.
	Step      float64 // the top voice moves a half or whole step
	Third     float64 // each semitone from the third on
	Leap      float64 // a fourth or more, on top
	LeapSoon  float64 // and so with little time: tones that come fast are heard as one voice only where they are near (van Noorden 1975, from memory)
	Place     float64 // a finger is put down anew
	Slide     float64 // or slides along the string it is on: a guide
	VoiceMove float64 // a tone of the shape before is not kept
	Crowded   float64 // the hand has to move between hits closer than a quarter second, one of them the layer's
}

// arranging are the weights in use.
var arranging = weights{
	Effort: 5, Unknown: 60, UnknownBad: 8, Spread: 200, NoPart: 200, Unsaid: 300, High: 5, Skip: 30, Foreign: 8, Second: 20,
	NoTension: 300, NoTensionOn: 30, Missing: 3, NoRoot: 1, NoFifth: 2, Rootless: 4, Doubled: 6,
	DoubledGuide: 6, Gap: 8, BelowLimit: 1.5, InnerOpen: 80, NearOpen: 4, OpenFar: 8, FarVoice: 12,
	Diminished: 8, OverPassing: 15, Wide: 80, Thin: 10, Thick: 40, BassString: 40, HighFret: 12, UpNeck: 0.03,
	LittleBass: 3,
	OpenString: 4, Outer: 1,
	Shift: 6, ShiftMM: 0.4, LateMM: 6, FarFret: 120, Cross: 3, SameHop: 16, SameSlide: 6, Refinger: 30,
	Step: 3, Third: 18, Leap: 20, Place: 1.5, Slide: 1, VoiceMove: 1, Crowded: 1000,
	Tying: 0.05,
}

// arrangingShells are the weights in use for shells. Two voices are led more closely than
// three or four, since nothing covers a leap, nor a string that rings on, and the hand is
// free to take the second choice.
var arrangingShells = func() weights {
	w := arranging
	w.Third, w.Leap, w.LeapSoon, w.InnerOpen, w.OpenFar, w.Second, w.Gap, w.DoubledGuide = 30, 0, 850, 500, 10, 15, 5, 0
	w.NoPart, w.Tying = 800, 0.25 // a leap or an unknown shell costs as much as many bars
	return w
}()

// arrangingOthers are those for the other schools, where a shell only stands in for what
// is not there: it is rather led well than known.
var arrangingOthers = func() weights {
	w := arrangingShells
	w.NoPart = arranging.NoPart
	return w
}()

// What the hand may do between two moments: it reaches 20 mm without moving and
// then travels 200 mm a second (common practice, no source).
const (
	freeReachMM = 20.0
	handSpeedMM = 200.0
)

// farFrets is how far the hand goes inside a bar: five frets, from one position to
// the next (common practice, no source).
const farFrets = 5

// calmSeconds is the time between hits in which fingers are put down at leisure; in
// less each costs more, so that fast tempos take fewer (common practice, no source).
const calmSeconds = 0.8

// closestSeconds is how near to another hit the layer adds a shape for which the
// hand has to move (common practice, no source).
const closestSeconds = 0.25

// lowLimits holds, by interval in semitones, the lowest good lower note (MIDI) of
// an interval: inSync glossary, "Low Interval Limit", the tritone from memory.
var lowLimits = [12]int{0: 0, 1: 52, 2: 51, 3: 48, 4: 47, 5: 45, 6: 45, 7: 37, 8: 41, 9: 41, 10: 41, 11: 41}

// hold prices a shape of a chord by itself, what it lacks of its tones aside. Four
// voices may double as many tones as the chord has fewer than four.
func (w *weights) hold(n Neck, s *Shape, c harmony.Chord) float64 {
	cost := w.Effort * s.Effort
	var met uint16
	lowest, highest := math.MaxInt, 0
	bass, second, first := -1, -1, 0
	gap, voices, open, doubled := 0, 0, 0, 0
	for i, fret := range s.Frets {
		if fret < 0 {
			gap++
			continue
		}
		midi := n.Tuning[i] + fret
		if met>>(midi%12)&1 != 0 {
			doubled++
			if d := c.DegreeOf(midi); d.Number == 3 || d.Number == 7 {
				cost += w.DoubledGuide
			}
		}
		met |= 1 << (midi % 12)
		switch {
		case bass < 0:
			bass, first = midi, i
			if s.Fingers[i] == 4 {
				cost += w.LittleBass
			}
		case second < 0:
			second = midi
			if i-gap == 1 { // string 5 over a bass on 6
				gap--
			}
			cost += w.FarVoice * float64(max(0, gap))
			if len(s.Frets)-i > 4 && s.Frets[first] > 0 {
				cost += w.BassString
			}
		default:
			cost += w.Gap * float64(gap)
		}
		if bass != midi && fret == 0 {
			open++
		}
		if fret > 0 {
			lowest, highest = min(lowest, fret), max(highest, fret)
		}
		gap = 0
		voices++
	}
	cost += w.Doubled * float64(max(0, doubled-max(0, min(voices, 4)-len(c.Degrees))))
	if by := second - bass; second > 0 && by >= 0 && by < 12 {
		cost += w.BelowLimit * float64(max(0, lowLimits[by]-bass))
	}
	if highest > 0 {
		cost += w.Wide*float64(max(0, highest-lowest-3)) + w.HighFret*float64(max(0, lowest-12))
		if highest >= 5 {
			cost += w.InnerOpen * float64(open)
		}
	}
	if highest < 5 {
		cost += w.NearOpen * float64(open)
	}
	return cost + w.Thin*float64(max(0, 4-voices)) + w.Thick*float64(max(0, voices-4))
}

package fretboard

import (
	"math"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Tuning is the open pitch of each string as MIDI note numbers, lowest-numbered
// string last: index 0 is the string of the highest number (string 6 of six).
// Four to eight strings.
type Tuning []int

// Standard is E2 A2 D3 G3 B3 E4.
var Standard = Tuning{40, 45, 50, 55, 59, 64}

// Open returns the MIDI note number of open string n, 1 being the highest
// sounding in standard tuning. n must lie between 1 and the number of strings.
func (t Tuning) Open(n int) int { return t[len(t)-n] }

// OpenNames names the open strings, string 1 first: "E", "Bb".
func (t Tuning) OpenNames() []string {
	names := make([]string, len(t))
	for i := range names {
		names[i] = rootNames[t.Open(i+1)%12][0].String()
	}
	return names
}

// Place is a string and a fret on it. String 1 is the first string, 6 the low
// E of standard tuning; fret 0 is the open string.
type Place struct{ String, Fret int }

// Neck is an instrument as the program sees it.
type Neck struct {
	Tuning Tuning
	// ScaleMM is the scale length in millimetres.
	ScaleMM float64
	// HighestFret is the last fret used, 15 unless set.
	HighestFret int
	// BassStrings are the strings that the bass line may take.
	BassStrings []int
	LeftHanded  bool
}

// StandardNeck is a six-string in standard tuning, 648 mm, to fret 15, with the
// bass on strings 6 and 5 (design values of the program).
func StandardNeck() Neck {
	return Neck{Tuning: Standard, ScaleMM: 648, HighestFret: 15, BassStrings: []int{6, 5}}
}

// MIDI returns the note number that a place sounds.
func (n Neck) MIDI(p Place) int { return n.Tuning.Open(p.String) + p.Fret }

// FretMM returns the distance of a fret from the nut in millimetres,
// L·(1 − 2^(−n/12)), by equal temperament.
func (n Neck) FretMM(fret int) float64 {
	return n.ScaleMM * (1 - math.Pow(2, -float64(fret)/12))
}

// BassRange returns what the bass line may take: the MIDI note numbers of its
// strings.
func (n Neck) BassRange() tune.Range {
	r := tune.Range{Span: tune.Span{Low: 127}, Strings: map[int]tune.Span{}}
	for _, s := range n.BassStrings {
		span := tune.Span{Low: n.Tuning.Open(s), High: n.Tuning.Open(s) + n.HighestFret}
		r.Strings[s] = span
		r.Low, r.High = min(r.Low, span.Low), max(r.High, span.High)
	}
	return r
}

// PlacesOf returns the places on the given strings that sound a MIDI note
// number, in the order of the strings.
func (n Neck) PlacesOf(midi int, strings []int) []Place {
	var places []Place
	for _, s := range strings {
		if f := midi - n.Tuning.Open(s); f >= 0 && f <= n.HighestFret {
			places = append(places, Place{String: s, Fret: f})
		}
	}
	return places
}

// DegreeAt names the note of a place against a chord.
func (n Neck) DegreeAt(p Place, c harmony.Chord) harmony.Degree {
	return c.DegreeOf(n.MIDI(p))
}

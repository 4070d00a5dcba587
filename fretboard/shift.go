package fretboard

import "math"

// ShiftMM returns the least distance in millimetres that the hand travels along
// the neck from one bass note to the next, both MIDI note numbers: that of the
// two frets less what the hand reaches without moving, 0 where either note is an
// open string, +Inf where one is not on the bass strings.
func (n Neck) ShiftMM(from, to int, hand Hand) float64 {
	least := math.Inf(1)
	for _, a := range n.PlacesOf(from, n.BassStrings) {
		for _, b := range n.PlacesOf(to, n.BassStrings) {
			mm := 0.0
			if a.Fret > 0 && b.Fret > 0 {
				mm = max(0, math.Abs(n.FretMM(a.Fret)-n.FretMM(b.Fret))-hand.ReachMM)
			}
			least = min(least, mm)
		}
	}
	return least
}

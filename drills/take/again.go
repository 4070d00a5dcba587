package take

import (
	"slices"
	"time"

	"footfall/fretboard"
)

const (
	// restruck is the least chance that a note was struck again where nothing but that was
	// due, and restruckWithStrike the same where a shape was due with it, whose strings may
	// have been struck alone.
	restruck           = 0.05
	restruckWithStrike = 0.5
	// never is more than any chance.
	never = 2
)

// leastAgain is the chance from which each event counts as the note before struck again,
// never where it is another note or a strike. before is the note before the first, a MIDI
// number, 0 for none.
func leastAgain(expected []Expected, before int) (least []float64, last int) {
	least = make([]float64, len(expected))
	for i := range expected {
		e := &expected[i]
		if least[i] = never; e.Kind != fretboard.BassEvent {
			continue
		}
		midi := e.Notes[0].MIDI
		if midi == before {
			least[i] = restruck
		}
		before = midi
	}
	for i := range expected {
		if expected[i].Kind == fretboard.BassEvent {
			continue
		}
		for _, step := range []int{-1, 1} {
			for j := i + step; j >= 0 && j < len(expected) && (expected[j].Time-expected[i].Time).Abs() < withStrike; j += step {
				least[j] = max(least[j], restruckWithStrike)
			}
		}
	}
	return least, before
}

// withStrike is how near a strike must be to be due with a note.
const withStrike = 60 * time.Millisecond

// pairAgain pairs the notes that the line has twice with what may have been the one before
// struck again.
func (sc *Score) pairAgain(al *aligner, notes []slot, found []bool, mark func(slot, played int)) {
	least, _ := leastAgain(sc.Events, 0)
	for _, enough := range []float64{restruck, restruckWithStrike} {
		other := slices.Clone(found)
		for i, sl := range notes {
			other[i] = other[i] || least[sl.event] != enough
		}
		was := slices.Clone(al.taken)
		for j, p := range sc.Played {
			al.taken[j] = al.taken[j] && !(p.Unsure() && p.Again >= enough && p.Again > 0)
		}
		al.align(notes, other, byPitch, apart, func(i, p int) {
			found[i], was[p] = true, true
			mark(i, p)
		})
		copy(al.taken, was)
	}
}

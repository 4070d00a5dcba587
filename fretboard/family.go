package fretboard

import (
	"slices"

	"footfall/harmony"
)

// Family is a voicing family in the trade's words.
type Family string

// The voicing families.
const (
	TriadInversion Family = "triad inversion"
	Shell          Family = "shell"
	Drop2          Family = "drop 2"
	Drop3          Family = "drop 3"
	Rootless       Family = "rootless"
	SixthInBass    Family = "sixth in the bass"
)

// families lists the families of a shape read as a chord.
//
//   - triad inversion: a whole triad and nothing else, each tone once or more;
//   - shell: root, third and seventh (or sixth) alone, the root lowest;
//   - drop 2, drop 3: a chord of four tones, each sounding once, spaced as the
//     close position whose second or third voice from the top went down an octave;
//   - rootless: the root does not sound;
//   - sixth in the bass: a chord whose sixth is lowest, its own or added.
func families(r Reading, notes []int, foreign bool) []Family {
	var all []Family
	tones := r.Chord.Degrees
	numbers := map[int8]bool{}
	for _, d := range r.Degrees {
		numbers[d.Number] = true
	}
	whole := len(r.Omits) == 0 && len(r.Adds) == 0 && !foreign
	if whole && len(tones) == 3 && numbers[3] && numbers[5] {
		all = append(all, TriadInversion)
	}
	if len(notes) == 3 && r.Degrees[0].Number == 1 && numbers[3] && (numbers[7] || numbers[6]) && !foreign {
		all = append(all, Shell)
	}
	if whole && len(tones) == 4 && len(notes) == 4 {
		switch dropped(notes) {
		case 2:
			all = append(all, Drop2)
		case 3:
			all = append(all, Drop3)
		}
	}
	if slices.Contains(r.Omits, harmony.Degree{Number: 1}) {
		all = append(all, Rootless)
	}
	if lowest := r.lowest(); lowest == (harmony.Degree{Number: 6}) || lowest == (harmony.Degree{Number: 13}) {
		all = append(all, SixthInBass)
	}
	return all
}

// dropped tells which voice from the top of a close position, 2 or 3, went
// down an octave to make four different notes; 0 where none did.
func dropped(notes []int) int {
	sorted := slices.Sorted(slices.Values(notes))
	raised := sorted[0] + 12
	upper := append([]int{raised}, sorted[1:]...)
	slices.Sort(upper)
	if upper[3]-upper[0] >= 12 {
		return 0
	}
	switch slices.Index(upper, raised) {
	case 2:
		return 2
	case 1:
		return 3
	}
	return 0
}

// lowest returns the degree of the chord's bass.
func (r Reading) lowest() harmony.Degree {
	for i, n := range r.Notes {
		if n.Semitone() == r.Chord.Bass.Semitone() {
			return r.Degrees[i]
		}
	}
	return harmony.Degree{}
}

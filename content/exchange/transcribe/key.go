package transcribe

import (
	"slices"

	"footfall/harmony"
)

// GuessKey names the key that most of the chords' notes belong to, where the
// last chord, and less so the first, counts as a sign of the tonic. In minor the
// seventh may be raised. Without chords it is C. Common practice, no source.
func GuessKey(chords []harmony.Chord) harmony.Key {
	chords = slices.DeleteFunc(slices.Clone(chords), func(c harmony.Chord) bool { return c.None })
	best, most := harmony.Key{}, -1.0
	if len(chords) == 0 {
		return best
	}
	for fifths := -5; fifths <= 6; fifths++ {
		for _, minor := range []bool{false, true} {
			k := harmony.KeyOf(fifths, minor)
			if score := keyFit(k, chords); score > most {
				best, most = k, score
			}
		}
	}
	return best
}

// keyFit is the share of chord notes in the key, 0 to 1, with what the outer chords
// add.
func keyFit(k harmony.Key, chords []harmony.Chord) float64 {
	scale := []int{0, 2, 4, 5, 7, 9, 11}
	if k.Minor {
		scale = []int{0, 2, 3, 5, 7, 8, 10, 11}
	}
	in, all := 0, 0
	for _, c := range chords {
		for _, n := range c.Notes() {
			all++
			if slices.Contains(scale, (n.Semitone()-k.Tonic.Semitone()+12)%12) {
				in++
			}
		}
	}
	score := float64(in) / float64(all)
	tonic := func(c harmony.Chord) bool {
		third := harmony.Degree{Number: 3}
		if k.Minor {
			third.Alter = -1
		}
		return c.Root.Semitone() == k.Tonic.Semitone() && slices.Contains(c.Degrees, third)
	}
	if tonic(chords[len(chords)-1]) {
		score += 0.2
	}
	if tonic(chords[0]) {
		score += 0.15
	}
	return score
}

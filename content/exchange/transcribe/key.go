package transcribe

import (
	"math"
	"slices"

	"footfall/harmony"
)

// GuessKey names the key that the chords' cadences lead to and most of their notes
// belong to. In minor the seventh may be raised. A last chord on the dominant leads
// back to the first; any other counts as a sign of the tonic, and less so the first.
// Without chords it is C. next is the key that fits almost as well, the same where none
// does. Common practice, no source.
func GuessKey(chords []harmony.Chord) (key, next harmony.Key) {
	keys := []harmony.Key{{}}
	flats := 0
	for _, c := range chords {
		flats -= int(c.Root.Alter)
	}
	for fifths := -6; fifths <= 6; fifths++ {
		if fifths == -6 && flats <= 0 || fifths == 6 && flats > 0 {
			continue // the same keys: as most roots are spelled
		}
		keys = append(keys, harmony.KeyOf(fifths, false), harmony.KeyOf(fifths, true))
	}
	return among(keys, chords)
}

// KeyAmong is GuessKey of some keys; without chords it is the first.
func KeyAmong(keys []harmony.Key, chords []harmony.Chord) harmony.Key {
	best, _ := among(keys, chords)
	return best
}

// closeFit is how little apart the fits of two keys are where either could be meant.
const closeFit = 0.08

func among(keys []harmony.Key, chords []harmony.Chord) (best, next harmony.Key) {
	chords = slices.DeleteFunc(slices.Clone(chords), func(c harmony.Chord) bool { return c.None })
	if len(chords) == 0 {
		return keys[0], keys[0]
	}
	most, second := -1.0, -1.0
	for _, k := range keys {
		// Of two that fit alike the one with fewer sharps or flats, and in major.
		score := keyFit(k, chords) - 0.001*math.Abs(float64(k.Signature()))
		if !k.Minor {
			score += 0.002
		}
		switch {
		case score > most:
			best, next, most, second = k, best, score, most
		case score > second:
			next, second = k, score
		}
	}
	if most-second > closeFit {
		next = best
	}
	return best, next
}

// keyFit is the share of chord notes in the key, 0 to 1, with what its cadences and
// the outer chords add.
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
	cadences := 0.0
	for i, c := range chords {
		next, weight := chords[(i+1)%len(chords)], 1.0
		if i+1 == len(chords) {
			weight = 0.5 // back to the first
		}
		switch {
		case over(k, c) == 7 && major(c) && tonic(k, next) > 0:
			cadences += weight * tonic(k, next)
		case over(k, c) == 2 && !major(c) && (has(c, 5, -1) || !k.Minor) && over(k, next) == 7 && dominant(next):
			cadences += weight / 2
		}
	}
	first, last := chords[0], chords[len(chords)-1]
	score := float64(in)/float64(all) + 0.6*cadences/float64(len(chords))
	score += 0.2 * tonic(k, last)
	// A minor seventh chord that a dominant a fourth up follows is a second degree.
	if next := chords[1%len(chords)]; !(has(first, 7, -1) && !major(first) && dominant(next) && over(k, next) == (over(k, first)+5)%12) {
		score += 0.15 * tonic(k, first)
	}
	if over(k, last) == 7 && dominant(last) && tonic(k, first) > 0 {
		score += 0.1
	}
	return score
}

// tonic is how much a chord sounds as the tonic of a key, 0 to 1: less where a
// seventh lets it be another degree's.
func tonic(k harmony.Key, c harmony.Chord) float64 {
	switch {
	case over(k, c) != 0 || major(c) == k.Minor || has(c, 5, -1):
		return 0
	case has(c, 7, -1):
		return 0.6 // the 7 of a blues, or a minor 7 that may be a second degree
	}
	return 1
}

// over is how many half steps a chord's root stands over the tonic.
func over(k harmony.Key, c harmony.Chord) int {
	return (c.Root.Semitone() - k.Tonic.Semitone() + 12) % 12
}

func has(c harmony.Chord, number, alter int8) bool {
	return slices.Contains(c.Degrees, harmony.Degree{Number: number, Alter: alter})
}

func major(c harmony.Chord) bool { return !has(c, 3, -1) }

func dominant(c harmony.Chord) bool { return major(c) && has(c, 7, -1) }

package fretboard

import (
	"math"
	"slices"

	"footfall/harmony"
)

// The slow, obviously right implementations that the fast ones are held
// against. They share no code with them beyond degrees and the fret formula.

// plainFingering tries every finger on every fretted string and returns the
// least effort by the words of Fingering's comment.
func plainFingering(n Neck, h Hand, frets []int) (effort float64, ok bool) {
	var fretted []int
	first, last := -1, -1
	for i, f := range frets {
		if f >= 0 {
			if first < 0 {
				first = i
			}
			last = i
		}
		if f > 0 {
			fretted = append(fretted, i)
		}
	}
	if first < 0 {
		return 0, false
	}
	mutes := 0
	for i := first; i <= last; i++ {
		if frets[i] < 0 {
			mutes++
			if frets[i-1] <= 0 && frets[i+1] <= 0 {
				return 0, false
			}
		}
	}
	if len(fretted) == 0 {
		return 0.25 * float64(mutes), true
	}
	low, high := math.Inf(1), 0.0
	for _, i := range fretted {
		low, high = min(low, n.FretMM(frets[i])), max(high, n.FretMM(frets[i]))
	}
	if high-low > h.ReachMM {
		return 0, false
	}
	best := math.Inf(1)
	finger := make([]int, len(frets))
	var try func(k int)
	try = func(k int) {
		if k < len(fretted) {
			for f := 1; f <= h.Fingers; f++ {
				finger[fretted[k]] = f
				try(k + 1)
			}
			return
		}
		if e, ok := plainEffort(n, frets, fretted, finger); ok {
			best = min(best, e)
		}
	}
	try(0)
	if math.IsInf(best, 1) {
		return 0, false
	}
	share := (high - low) / h.ReachMM
	return best + share*share + 0.25*float64(mutes), true
}

// plainEffort judges one assignment of fingers, without the span and mutes.
func plainEffort(n Neck, frets, fretted, finger []int) (float64, bool) {
	for _, a := range fretted {
		for _, b := range fretted {
			before := frets[a] < frets[b] || frets[a] == frets[b] && a < b
			if before && finger[a] > finger[b] {
				return 0, false
			}
			if finger[a] == finger[b] && frets[a] != frets[b] {
				return 0, false
			}
		}
	}
	effort := 0.0
	if len(fretted) == 4 && frets[fretted[0]] == frets[fretted[1]] && frets[fretted[1]] == frets[fretted[2]] &&
		frets[fretted[2]] == frets[fretted[3]] && finger[fretted[0]] == 1 && finger[fretted[3]] == 4 && finger[fretted[1]] == 2 && finger[fretted[2]] == 3 {
		effort = 2
	}
	previous := -1
	for f := 1; f <= 4; f++ {
		var on []int
		for _, i := range fretted {
			if finger[i] == f {
				on = append(on, i)
			}
		}
		if len(on) == 0 {
			continue
		}
		from, to := on[0], on[len(on)-1]
		effort += 0.5
		if from != to {
			for i := from; i <= to; i++ {
				if frets[i] >= 0 && frets[i] < frets[from] {
					return 0, false
				}
				if f > 1 && frets[i] < 0 && frets[i-1] <= frets[from] && frets[i+1] <= frets[from] {
					return 0, false
				}
			}
			effort += 0.5 + 0.2*float64(to-from-1)
			if f > 1 {
				effort += 0.6
			}
			if to+1 < len(frets) && frets[to+1] >= 0 && frets[to+1] < frets[from] {
				effort++
			}
		}
		if previous >= 0 {
			apart := (n.FretMM(frets[from])-n.FretMM(frets[previous]))/29 - float64(f-finger[previous])
			weight := 0.1
			if apart > 0 {
				weight = 1
			}
			effort += weight * apart * apart
		}
		previous = from
	}
	return effort, true
}

// plainSounds judges a set of frets by the words of Shapes's comment, the hand
// aside. heard and plain are given by the test: the degrees that must sound and
// whether the ninth may take the root's place on the third.
func plainSounds(n Neck, c harmony.Chord, bass harmony.Degree, heard []harmony.Degree, ninth bool, frets []int) bool {
	pc := func(d harmony.Degree) int { return (d.Semitones() + c.Root.Semitone()) % 12 }
	first := slices.IndexFunc(frets, func(f int) bool { return f >= 0 })
	if first < 0 || !slices.Contains(n.BassStrings, len(frets)-first) {
		return false
	}
	sounding := map[int]bool{}
	low := n.Tuning[first] + frets[first]
	if low%12 != pc(bass) {
		return false
	}
	allowed, tones := map[int]bool{}, map[int]bool{}
	for _, d := range c.Degrees {
		allowed[pc(d)], tones[pc(d)] = true, true
	}
	rooted, nine := false, false
	for i := first; i < len(frets); i++ {
		if frets[i] < 0 {
			continue
		}
		midi := n.Tuning[i] + frets[i]
		if midi < low {
			return false
		}
		sounding[midi%12] = true
		rooted = rooted || midi%12 == c.Root.Semitone()
		nine = nine || midi%12 == pc(harmony.Degree{Number: 9})
	}
	if ninth && nine && !rooted && bass == (harmony.Degree{Number: 3}) {
		allowed[pc(harmony.Degree{Number: 9})], tones[pc(harmony.Degree{Number: 9})] = true, true
	}
	for i := first + 1; i < len(frets); i++ {
		if frets[i] >= 0 && !allowed[(n.Tuning[i]+frets[i])%12] {
			return false
		}
	}
	for _, d := range heard {
		if !sounding[pc(d)] {
			return false
		}
	}
	different := 0
	for p := range tones {
		if sounding[p] {
			different++
		}
	}
	return different >= min(3, len(c.Degrees))
}

// everyFrets calls f with each set of strings and frets of a neck. The slice
// is used again.
func everyFrets(n Neck, f func(frets []int)) {
	frets := make([]int, len(n.Tuning))
	var string func(i int)
	string = func(i int) {
		if i == len(frets) {
			f(frets)
			return
		}
		for frets[i] = -1; frets[i] <= n.HighestFret; frets[i]++ {
			string(i + 1)
		}
	}
	string(0)
}

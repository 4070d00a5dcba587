package walk

import "footfall/harmony"

// roots says of the chords of a pass, in a row, on which the ear waits for the root in
// the bass: a chord that a dominant, its tritone substitute or a diminished chord
// resolves to, save another dominant that no two-five leads to, and a diminished chord
// that passes between two neighbors by half steps, with those two. A chord over a bass
// note of its own waits for that note alone. Common practice, no source.
func roots(chords []harmony.Chord) []bool {
	due := make([]bool, len(chords))
	for k := 1; k < len(chords); k++ {
		from, to := chords[k-1], chords[k]
		by := mod12(to.Root.Semitone() - from.Root.Semitone())
		switch {
		case from.None || to.None:
		case dominant(from) && (by == 5 || by == 11):
			due[k] = due[k] || !dominant(to) || k > 1 && two(chords[k-2], from)
		case diminished(from) && (by == 1 || by == 11):
			due[k] = true
		}
		if k+1 < len(chords) && diminished(to) && !chords[k+1].None && (by == 1 || by == 11) &&
			mod12(chords[k+1].Root.Semitone()-to.Root.Semitone()) == by {
			due[k-1], due[k], due[k+1] = true, true, true
		}
	}
	for k, c := range chords {
		due[k] = due[k] && !c.None && c.Bass == c.Root
	}
	return due
}

// above reports whether a chord has a tone some semitones above its root.
func above(c harmony.Chord, semitones int) bool {
	return tonesOf(c)[mod12(c.Root.Semitone()+semitones)]
}

func dominant(c harmony.Chord) bool {
	return !c.None && above(c, 10) && (above(c, 4) || above(c, 5) && !above(c, 3))
}

func diminished(c harmony.Chord) bool {
	return !c.None && above(c, 3) && above(c, 6) && !above(c, 10) && !above(c, 7)
}

// two reports whether a chord is the minor one a fifth above a dominant.
func two(c, dominant harmony.Chord) bool {
	return !c.None && above(c, 3) && !above(c, 4) && mod12(dominant.Root.Semitone()-c.Root.Semitone()) == 5
}

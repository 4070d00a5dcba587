package fretboard

import (
	"errors"
	"fmt"
	"slices"

	"footfall/harmony"
)

// Along lists a shape's family up the neck: the shape itself, its octave and its
// inversions on the same strings, in order up the neck. frets are low string to
// high, −1 not played, and need not lie on the bass strings. A member's SpanMM may be
// past the hand's reach, by half of it at most: near the nut inversions of drop 2
// and drop 3 are that wide.
//
// From one inversion to the next each voice goes up to the next of the tones that
// the shape sounds, so that a drop 2 shape stays one: 5 1 3 7, 7 3 5 1, 1 5 7 3,
// 3 7 1 5. A shape in fourths that sounds only a part of its chord stays in
// fourths and stands wherever all of it belongs to the chord: those of a 6/9 chord,
// five frets apart.
//
// The error says what keeps frets from being a shape of the chord: too few of its
// tones, or a note outside it. The ninth may stand for the root of a plain dominant
// 7 or major 7.
func (n Neck) Along(h Hand, c harmony.Chord, frets []int) ([]Shape, error) {
	sounding, err := n.partOf(c, frets)
	if err != nil {
		return nil, err
	}
	places := n.inversions(c, frets, sounding)
	if n.inFourths(frets) && ones(sounding) < len(c.Degrees) {
		places = n.fourths(c, frets)
	}
	var family []Shape
	for _, at := range places {
		fingering, ok := n.stretched(h, at)
		if !ok {
			continue
		}
		s := Shape{Frets: at, Fingering: fingering, Rank: fingering.Effort}
		for i, f := range at {
			if f >= 0 {
				s.Degrees = append(s.Degrees, c.DegreeOf(n.Tuning[i]+f))
			}
		}
		family = append(family, s)
	}
	if len(family) == 0 {
		return nil, ErrUnheld
	}
	return family, nil
}

// farPast is how many times its reach a hand is thought to stretch for a member of a
// family: common practice, no source.
const farPast = 1.5

// stretched is the fingering of a hand that stretches past its reach and skips the
// strings that no finger can mute.
func (n Neck) stretched(h Hand, frets []int) (Fingering, bool) {
	if f, ok := n.Fingering(h, frets); ok {
		return f, true
	}
	var sounding Neck
	var at, fingers []int
	for i, f := range frets {
		if f >= 0 {
			sounding.Tuning, at = append(sounding.Tuning, n.Tuning[i]), append(at, f)
		}
	}
	sounding.ScaleMM = n.ScaleMM
	f, ok := sounding.Fingering(Hand{ReachMM: farPast * h.ReachMM, Fingers: h.Fingers}, at)
	if !ok {
		return Fingering{}, false
	}
	for i := range frets {
		if frets[i] < 0 {
			fingers = append(fingers, 0)
			continue
		}
		fingers, f.Fingers = append(fingers, f.Fingers[0]), f.Fingers[1:]
	}
	f.Fingers, f.Barres = fingers, nil
	return f, true
}

// partOf returns what frets sound of a chord, a bit for each number of semitones
// above its root. The error says what else they sound, or what they lack.
func (n Neck) partOf(c harmony.Chord, frets []int) (uint16, error) {
	switch {
	case c.None || len(c.Degrees) == 0:
		return 0, errors.New("there is no chord to sound")
	case len(frets) != len(n.Tuning):
		return 0, fmt.Errorf("it has %d frets for %d strings", len(frets), len(n.Tuning))
	}
	var own, sounding uint16
	for _, d := range c.Degrees {
		own |= bit(d)
	}
	for i, f := range frets {
		if f >= 0 {
			sounding |= bit(c.DegreeOf(n.Tuning[i] + f))
		}
	}
	if plainNinth(c) && sounding&1 == 0 {
		own |= bit(harmony.Degree{Number: 9})
	}
	for i, f := range frets {
		if f > n.HighestFret {
			return 0, fmt.Errorf("fret %d is past the neck's last, %d", f, n.HighestFret)
		}
		if d := c.DegreeOf(n.Tuning[i] + f); f >= 0 && own&bit(d) == 0 {
			return 0, fmt.Errorf("the %s on string %d is not in %s", d, len(frets)-i, c.Symbol)
		}
	}
	if ones(sounding) < min(3, len(c.Degrees)) {
		return 0, fmt.Errorf("it has too few notes of %s", c.Symbol)
	}
	return sounding, nil
}

// inversions lists where frets lie when each voice goes to the next of the tones
// that sound, from the lowest place on the neck to the highest.
func (n Neck) inversions(c harmony.Chord, frets []int, sounding uint16) [][]int {
	var tones []int
	for k := range 12 {
		if sounding>>k&1 != 0 {
			tones = append(tones, k)
		}
	}
	// A voice's tone is counted through the octaves.
	pitch := func(tone int) int {
		octave := (tone + 12*len(tones)) / len(tones)
		return 12*(octave-12) + tones[(tone+12*len(tones))%len(tones)]
	}
	var places [][]int
	for up := -2 * len(tones); up <= 3*len(tones); up++ {
		at, fits := slices.Clone(frets), true
		for i, f := range frets {
			if f < 0 {
				continue
			}
			tone := slices.Index(tones, ((n.Tuning[i]+f-c.Root.Semitone())%12+12)%12)
			at[i] += pitch(tone+up) - pitch(tone)
			fits = fits && at[i] >= 0 && at[i] <= n.HighestFret
		}
		if fits {
			places = append(places, at)
		}
	}
	return places
}

// inFourths reports whether each voice lies a fourth above the one before.
func (n Neck) inFourths(frets []int) bool {
	notes, _ := n.sounds(frets)
	for i := range notes {
		if i > 0 && notes[i]-notes[i-1] != 5 {
			return false
		}
	}
	return len(notes) > 2
}

// fourths lists where frets, moved as they are, sound nothing outside a chord.
func (n Neck) fourths(c harmony.Chord, frets []int) [][]int {
	var places [][]int
	for up := -n.HighestFret; up <= n.HighestFret; up++ {
		at, fits := slices.Clone(frets), true
		for i, f := range frets {
			if f < 0 {
				continue
			}
			at[i] += up
			fits = fits && at[i] >= 0 && at[i] <= n.HighestFret && slices.Contains(c.Degrees, c.DegreeOf(n.Tuning[i]+at[i]))
		}
		if fits {
			places = append(places, at)
		}
	}
	return places
}

// ReadAs returns the reading of frets as a chord in any inversion, its slash bass
// aside; false where they cannot be read as it.
func (n Neck) ReadAs(frets []int, c harmony.Chord) (Reading, bool) {
	for _, r := range n.Read(frets) {
		if r.Chord.Root.Semitone() == c.Root.Semitone() && r.Chord.Quality() == c.Quality() {
			return r, true
		}
	}
	return Reading{}, false
}

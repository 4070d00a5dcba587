package fretboard

import (
	"errors"
	"fmt"
	"math/bits"
	"slices"

	"footfall/harmony"
)

// ErrUnheld is wrapped by what Fits returns where the notes are right and no
// hand can hold them.
var ErrUnheld = errors.New("no hand holds it")

// Fits tells whether frets, low string to high, −1 not played, are one of the
// shapes that Shapes finds for the query. The error says in a sentence without
// its stop the first rule that they break: "its lowest note is the 5, not the
// 3". They must have an entry for each string.
func (n Neck) Fits(h Hand, q Query, frets []int) error {
	sets := compile(q)
	if len(sets) == 0 {
		return errors.New("there is no chord to sound")
	}
	if len(frets) != len(n.Tuning) {
		return fmt.Errorf("it has %d frets for %d strings", len(frets), len(n.Tuning))
	}
	first := slices.IndexFunc(frets, func(f int) bool { return f >= 0 })
	if first < 0 {
		return errors.New("no string sounds")
	}
	for _, f := range frets {
		if f > n.HighestFret {
			return fmt.Errorf("fret %d is past the neck's last, %d", f, n.HighestFret)
		}
	}
	place := Place{String: len(frets) - first, Fret: frets[first]}
	if q.At != nil && *q.At != place {
		return fmt.Errorf("its bass is on string %d fret %d, not on string %d fret %d", place.String, place.Fret, q.At.String, q.At.Fret)
	}
	if !slices.Contains(n.BassStrings, place.String) {
		return fmt.Errorf("its lowest string is %d, not one of the bass", place.String)
	}
	var fault error
	farthest := -1
	for _, s := range sets {
		met, err := n.meets(s, q, frets, first)
		if err == nil {
			fault = nil
			break
		}
		if met > farthest {
			farthest, fault = met, err
		}
	}
	if fault != nil {
		return fault
	}
	if _, ok := n.Fingering(h, frets); !ok {
		return ErrUnheld
	}
	return nil
}

// meets holds frets against one set of needs, the hand aside. With an error it
// tells how many rules were met before.
func (n Neck) meets(s needs, q Query, frets []int, first int) (met int, err error) {
	root := q.Chord.Root.Semitone()
	degree := func(midi int) harmony.Degree { return s.degree[((midi-root)%12+12)%12] }
	bass := n.Tuning[first] + frets[first]
	if s.bass&bit(degree(bass)) == 0 {
		if ones(s.bass) == 1 {
			return 0, fmt.Errorf("its lowest note is the %s of %s, not the %s", degree(bass), q.Chord.Symbol, s.degree[bits.TrailingZeros16(s.bass)])
		}
		return 0, fmt.Errorf("its lowest note is the %s, which is not in %s", degree(bass), q.Chord.Symbol)
	}
	sounding := bit(degree(bass))
	for i := first + 1; i < len(frets); i++ {
		if frets[i] < 0 {
			continue
		}
		midi := n.Tuning[i] + frets[i]
		d := degree(midi)
		if midi < bass {
			return i, fmt.Errorf("string %d sounds below its bass", len(frets)-i)
		}
		if s.allowed&bit(d) == 0 {
			return i, fmt.Errorf("the %s on string %d is not in %s", d, len(frets)-i, q.Chord.Symbol)
		}
		sounding |= bit(d)
	}
	for k, d := range s.degree {
		if s.heard&^sounding>>k&1 != 0 {
			return len(frets), fmt.Errorf("it has no %s, so it is not heard as %s", d, q.Chord.Symbol)
		}
	}
	if ones(s.whole&sounding) < s.least {
		for _, d := range q.Chord.Degrees {
			if sounding&bit(d) == 0 {
				return len(frets) + 1, fmt.Errorf("it has too few notes of %s: the %s is missing", q.Chord.Symbol, d)
			}
		}
	}
	return 0, nil
}

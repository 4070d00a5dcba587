package tune

import (
	"fmt"
	"slices"

	"footfall/harmony"
)

// LostShape is a shape of a shapes row that a transposition could not move along
// the neck, and the bar as written that has it, bar and beat from 1.
type LostShape struct {
	Section   string
	Bar, Beat int
	Shape     ShapeToken
}

// Error says which shape did not fit.
func (l LostShape) Error() string {
	return fmt.Sprintf("section %s, bar %d, beat %d: the shape %s does not fit the neck in the new key; a * stands in its place",
		l.Section, l.Bar, l.Beat, l.Shape)
}

// Transpose returns the tune in another key of the same mode. Chord symbols keep
// their place in the key and the way they are written; the bass row, being
// degrees, stays as it is, so that its range is to be checked again. Shapes that
// name frets slide along the neck, the shorter way that keeps every fret within
// 0 to highest; one that fits neither way becomes a * and is listed. The error
// is that of a key in the other mode. The tune itself is left as it is.
func (t *Tune) Transpose(to harmony.Key, highest int) (*Tune, []LostShape, error) {
	if to.Minor != t.Key.Minor {
		mode := "major, such as Bb"
		if t.Key.Minor {
			mode = "minor, such as Dm"
		}
		return nil, nil, fmt.Errorf("%s is of the other mode: the tune is in %s; give a key in %s", to, t.Key, mode)
	}
	up := mod12(to.Tonic.Semitone() - t.Key.Tonic.Semitone())
	out := *t
	out.Key = to
	out.Form = slices.Clone(t.Form)
	out.Comments = slices.Clone(t.Comments)
	out.Sections = make([]Section, len(t.Sections))
	var lost []LostShape
	for i, s := range t.Sections {
		out.Sections[i] = s
		out.Sections[i].Bars = make([]Bar, len(s.Bars))
		for j := range s.Bars {
			b := s.Bars[j].clone()
			for k, c := range b.Chords {
				b.Chords[k].Chord = c.Chord.Transpose(t.Key, to)
			}
			for k, shape := range b.Shapes {
				if len(shape.Frets) == 0 {
					continue
				}
				moved, ok := slide(shape.Frets, up, highest)
				if !ok {
					lost = append(lost, LostShape{Section: s.Name, Bar: j + 1, Beat: k + 1, Shape: shape})
					b.Shapes[k] = ShapeToken{Choose: true}
					continue
				}
				b.Shapes[k].Frets = moved
			}
			out.Sections[i].Bars[j] = b
		}
	}
	return &out, lost, nil
}

// slide moves frets by a number of semitones, or by the octave's other way,
// whichever is the shorter that keeps them on the neck.
func slide(frets []int, up, highest int) ([]int, bool) {
	ways := []int{up, up - 12}
	if up > 6 {
		ways = []int{up - 12, up}
	}
	for _, by := range ways {
		moved := slices.Clone(frets)
		fits := true
		for i, f := range frets {
			if f >= 0 {
				moved[i] = f + by
				fits = fits && moved[i] >= 0 && moved[i] <= highest
			}
		}
		if fits {
			return moved, true
		}
	}
	return nil, false
}

// clone copies the bar with everything it holds.
func (b *Bar) clone() Bar {
	out := Bar{Copies: b.Copies}
	for row := ChordsRow; row < Rows; row++ {
		out.copyRow(row, b)
	}
	return out
}

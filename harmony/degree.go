package harmony

import "fmt"

// Degree is a scale number with an alteration, counted from a chord's root
// against the major scale: b3 is {3, −1}, #11 is {11, +1}, bb7 is {7, −2}.
// Number runs from 1 to 13.
type Degree struct {
	Number int8
	Alter  int8
}

// String spells the degree: "b7", "#11", "1".
func (d Degree) String() string {
	return accidentals(int(d.Alter)) + fmt.Sprint(d.Number)
}

// Spelled spells each of the degrees; of none it returns an empty list, not nil.
func Spelled(degrees []Degree) []string {
	words := make([]string, len(degrees))
	for i, d := range degrees {
		words[i] = d.String()
	}
	return words
}

// Semitones returns the distance above the root, 0 to 22 with tensions above
// the octave: b3 is 3, 9 is 14.
func (d Degree) Semitones() int {
	step := int(d.Number) - 1
	return letterSemitones[step%7] + 12*(step/7) + int(d.Alter)
}

// Of spells the degree over a root by the degree's letter: the b7 of D is C,
// the b3 of F is Ab, the b5 of Bb is Fb.
func (d Degree) Of(root Note) Note {
	letter := Letter((int(root.Letter) + int(d.Number) - 1) % 7)
	want := root.Semitone() + d.Semitones()
	alter := mod(want-letterSemitones[letter]+6, 12) - 6
	return Note{Letter: letter, Alter: int8(alter)}
}

// ParseDegree reads one of the degrees of the trade: 1 b2 2 #2 b3 3 4 #4 b5 5
// #5 b6 6 bb7 b7 7 b9 9 #9 11 #11 b13 13, with ♭ and ♯ taken for b and #.
// Anything else is an error that says what was found.
func ParseDegree(s string) (Degree, error) {
	d := Degree{}
	rest := []rune(s)
	for len(rest) > 0 {
		switch rest[0] {
		case 'b', '♭':
			d.Alter--
		case '#', '♯':
			d.Alter++
		default:
			if len(rest) <= 2 {
				n := 0
				for _, r := range rest {
					if r < '0' || r > '9' {
						return Degree{}, degreeError(s)
					}
					n = 10*n + int(r-'0')
				}
				d.Number = int8(n)
				if d.bit() != 0 {
					return d, nil
				}
			}
			return Degree{}, degreeError(s)
		}
		rest = rest[1:]
		if len(rest) > 4 {
			break
		}
	}
	return Degree{}, degreeError(s)
}

func degreeError(s string) error {
	return fmt.Errorf("%q is no degree; write one of 1 b2 2 #2 b3 3 4 #4 b5 5 #5 b6 6 bb7 b7 7 b9 9 #9 11 #11 b13 13", s)
}

// Degrees lists the degrees of the trade, low to high.
var Degrees = []Degree{
	{1, 0}, {2, -1}, {2, 0}, {2, 1}, {3, -1}, {3, 0}, {4, 0}, {4, 1}, {5, -1},
	{5, 0}, {5, 1}, {6, -1}, {6, 0}, {7, -2}, {7, -1}, {7, 0},
	{9, -1}, {9, 0}, {9, 1}, {11, 0}, {11, 1}, {13, -1}, {13, 0},
}

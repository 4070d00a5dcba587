package drills

import (
	"fmt"
	"strconv"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
)

// readNote reads a note name as players type it: a letter in either case, then
// accidentals as b, #, ♭, ♯, or "flat", "sharp". "bb" is B flat, "b" is B.
// Anything else is an error that says what would do.
func readNote(s string) (harmony.Note, error) {
	bad := fmt.Errorf("%q is no note: type a letter A to G, then b or # where it has one, such as Bb", strings.TrimSpace(s))
	rest := accidentalWords.Replace(strings.ToLower(strings.TrimSpace(s)))
	rest = strings.ReplaceAll(rest, " ", "")
	if rest == "" {
		return harmony.Note{}, bad
	}
	letter := strings.IndexByte("cdefgab", rest[0])
	if letter < 0 {
		return harmony.Note{}, bad
	}
	alter := 0
	for _, r := range rest[1:] {
		switch r {
		case 'b':
			alter--
		case '#':
			alter++
		default:
			return harmony.Note{}, bad
		}
	}
	if len(rest) > 3 || (alter == 0 && len(rest) > 1) {
		return harmony.Note{}, bad
	}
	return harmony.Note{Letter: harmony.Letter(letter), Alter: int8(alter)}, nil
}

// readDegree reads a degree as players type it: "b7", "♭7", "B7", "flat 7",
// "bb7". Anything else is an error that says what would do.
func readDegree(s string) (harmony.Degree, error) {
	text := accidentalWords.Replace(strings.ToLower(strings.TrimSpace(s)))
	d, err := harmony.ParseDegree(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		return harmony.Degree{}, fmt.Errorf("%q is no degree: type a number with b or # before it, such as b3, 5 or #11", strings.TrimSpace(s))
	}
	return d, nil
}

var accidentalWords = strings.NewReplacer("♭", "b", "♯", "#", "𝄫", "bb", "𝄪", "##", "natural", "", "double", "", "flat", "b", "sharp", "#")

// readPlace reads a place: a fret alone where str names the string, or string
// and fret, "5 3" or "5:3". The error says what would do.
func readPlace(s string, str int, neck fretboard.Neck) (fretboard.Place, error) {
	fields := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \t:/.,", r) })
	var numbers []int
	for _, f := range fields {
		n, err := strconv.Atoi(f)
		if err != nil || n < 0 {
			numbers = nil
			break
		}
		numbers = append(numbers, n)
	}
	p := fretboard.Place{String: str}
	switch {
	case len(numbers) == 1 && str != 0:
		p.Fret = numbers[0]
	case len(numbers) == 2:
		p.String, p.Fret = numbers[0], numbers[1]
	case str != 0:
		return p, fmt.Errorf("%q is no fret: type a number from 0 to %d", strings.TrimSpace(s), neck.HighestFret)
	default:
		return p, fmt.Errorf("%q is no place: type the string and the fret, such as %d 3", strings.TrimSpace(s), len(neck.Tuning)-1)
	}
	if p.String < 1 || p.String > len(neck.Tuning) {
		return p, fmt.Errorf("there is no string %d: the strings are 1 to %d", p.String, len(neck.Tuning))
	}
	if p.Fret > neck.HighestFret {
		return p, fmt.Errorf("fret %d is beyond your neck: type a number from 0 to %d", p.Fret, neck.HighestFret)
	}
	return p, nil
}

func givenPlace(p fretboard.Place) string { return fmt.Sprintf("string %d fret %d", p.String, p.Fret) }

// placeWords starts a sentence with a place.
func placeWords(p fretboard.Place) string {
	if p.Fret == 0 {
		return fmt.Sprintf("The open string %d", p.String)
	}
	return fmt.Sprintf("String %d, fret %d", p.String, p.Fret)
}

// heardAt returns the place a played note was struck at: ok is false where the
// input cannot tell its string, or where the neck has no such place.
func heardAt(r Reply, neck fretboard.Neck) (p fretboard.Place, ok bool) {
	if r.String < 1 || r.String > len(neck.Tuning) {
		return fretboard.Place{}, false
	}
	p = fretboard.Place{String: r.String, Fret: r.MIDI - neck.Tuning.Open(r.String)}
	return p, p.Fret >= 0 && p.Fret <= neck.HighestFret
}

func noteNumber(midi int) string { return fmt.Sprintf("MIDI note %d", midi) }

func mod12(n int) int { return ((n % 12) + 12) % 12 }

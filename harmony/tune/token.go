package tune

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// String writes the token as the bass row has it: "/b3", "-", ".".
func (t BassToken) String() string {
	switch t.Kind {
	case BassRest:
		return "."
	case BassHold:
		return "-"
	}
	text := [...]string{"", "/", `\`}[t.Direction] + t.Degree.String()
	if t.Pin != 0 {
		text += "@" + strconv.Itoa(t.Pin)
	}
	return text
}

// String writes the beat as the bass row has it: "5", "/5,b7".
func (b BassBeat) String() string {
	if b.Split {
		return b.First.String() + "," + b.Second.String()
	}
	return b.First.String()
}

// BassCell writes a bar of the bass row: "1 /3 5,b7 -".
func BassCell(bar []BassBeat) string {
	tokens := make([]string, len(bar))
	for i, b := range bar {
		tokens[i] = b.String()
	}
	return strings.Join(tokens, " ")
}

var hitNames = [...]string{NoHit: ".", HitOn: "on", HitAnd: "and", HitBoth: "both", HitPush: "push", HitLayer: "*"}

// String writes the hit as the hits row has it: ".", "on", "and", "both", "push"
// or "*".
func (h Hit) String() string { return hitNames[h] }

// String writes the token as the hits row has it: "on", "push-".
func (h HitToken) String() string {
	if h.Held {
		return h.Hit.String() + "-"
	}
	return h.Hit.String()
}

// None reports whether the token asks for no shape.
func (s ShapeToken) None() bool { return !s.Choose && len(s.Frets) == 0 }

// String writes the token as the shapes row has it: ".", "*" or frets low
// string to high, "8-x-8-9-8-x".
func (s ShapeToken) String() string {
	if s.Choose {
		return "*"
	}
	if len(s.Frets) == 0 {
		return "."
	}
	frets := make([]string, len(s.Frets))
	for i, f := range s.Frets {
		if f < 0 {
			frets[i] = "x"
		} else {
			frets[i] = strconv.Itoa(f)
		}
	}
	return strings.Join(frets, "-")
}

// ParseBassBeat reads the token of one beat of a bass row. A split that divides
// nothing is read as the whole it is: "5,-" as "5", ".,." and ".,-" as ".". Its
// error says what would do.
func ParseBassBeat(s string) (BassBeat, error) {
	first, second, split := strings.Cut(s, ",")
	a, err := parseBassToken(first)
	if err != nil {
		return BassBeat{}, err
	}
	if !split {
		return BassBeat{First: a}, nil
	}
	b, err := parseBassToken(second)
	if err != nil {
		return BassBeat{}, err
	}
	return JoinHalves(a, b), nil
}

// JoinHalves makes a beat of its two halves, split only where the second does
// something new.
func JoinHalves(first, second BassToken) BassBeat {
	if second.Kind == BassHold || first.Kind == BassRest && second.Kind == BassRest {
		return BassBeat{First: first}
	}
	return BassBeat{First: first, Second: second, Split: true}
}

func parseBassToken(s string) (BassToken, error) {
	t := BassToken{Kind: BassNote}
	switch {
	case s == ".":
		return BassToken{Kind: BassRest}, nil
	case s == "-":
		return BassToken{Kind: BassHold}, nil
	case strings.HasPrefix(s, "/"):
		t.Direction, s = Rise, s[1:]
	case strings.HasPrefix(s, `\`):
		t.Direction, s = Fall, s[1:]
	}
	s, pin, pinned := strings.Cut(s, "@")
	d, err := harmony.ParseDegree(s)
	if err != nil {
		return BassToken{}, fmt.Errorf("%s, bare or behind / or \\, a - that holds, a . that rests, or two of them with a comma between", wantDegree)
	}
	t.Degree = d
	if pinned {
		if len(pin) != 1 || pin[0] < '1' || pin[0] > '0'+mostStrings {
			return BassToken{}, fmt.Errorf("the number of a string behind the @, 1 to %d, such as %s@6", mostStrings, d)
		}
		t.Pin = int(pin[0] - '0')
	}
	return t, nil
}

var wantDegree = "a degree, one of " + strings.Join(harmony.Spelled(harmony.Degrees), " ")

// mostStrings is the most strings that a shape may have, or a pin name.
const mostStrings = 8

// WantHit says what may stand in a hits row.
const WantHit = "a hit: on, and, both or push, each with a - behind it to hold it, a . that rests, or a * that leaves it to the layer"

// ParseHit reads a token of a hits row. It reports false for anything but ".",
// "*", and "on", "and", "both" and "push" with or without a "-" behind.
func ParseHit(s string) (HitToken, bool) {
	name, held := strings.CutSuffix(s, "-")
	h := slices.Index(hitNames[:], name)
	if h < 0 || held && (Hit(h) == NoHit || Hit(h) == HitLayer) {
		return HitToken{}, false
	}
	return HitToken{Hit: Hit(h), Held: held}, true
}

// HighestWrittenFret is the highest fret that a shapes row may name.
const HighestWrittenFret = 24

// ParseShape reads a token of a shapes row: ".", "*", or four to eight frets, 0
// to 24 or x, with dashes between. Its error says what would do.
func ParseShape(s string) (ShapeToken, error) {
	switch s {
	case ".":
		return ShapeToken{}, nil
	case "*":
		return ShapeToken{Choose: true}, nil
	}
	parts := strings.Split(s, "-")
	if len(parts) < 4 || len(parts) > mostStrings {
		return ShapeToken{}, fmt.Errorf("a . for none, a * for any, or a fret or x for each string, low to high, such as 8-x-8-9-8-x")
	}
	frets := make([]int, len(parts))
	played := 0
	for i, p := range parts {
		if p == "x" || p == "X" {
			frets[i] = -1
			continue
		}
		n, err := strconv.Atoi(p)
		if err != nil || n < 0 || n > HighestWrittenFret || strconv.Itoa(n) != p {
			return ShapeToken{}, fmt.Errorf("frets 0 to %d or x, with dashes between, such as 8-x-8-9-8-x", HighestWrittenFret)
		}
		frets[i] = n
		played++
	}
	if played == 0 {
		return ShapeToken{}, fmt.Errorf("a shape with a string that is played, or a . for none")
	}
	return ShapeToken{Frets: frets}, nil
}

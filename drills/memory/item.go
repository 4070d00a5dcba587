package memory

import (
	"fmt"
	"strconv"
	"strings"
)

// Kind names what a question about an item asks for.
type Kind string

// The kinds of item.
const (
	Find    Kind = "find"    // play the degree of a chord on a string
	Name    Kind = "name"    // say which degree a place is against a chord
	Spell   Kind = "spell"   // say which note a degree of a root is
	Line    Kind = "line"    // walk a tune's bass row
	Shape   Kind = "shape"   // read a shape against a chord
	Build   Kind = "build"   // build a shape on a bass degree
	Same    Kind = "same"    // one shape, two chords
	Passage Kind = "passage" // a section of a tune in a layer, played along
)

// Item is one thing to remember. Which fields an item has goes by its kind:
// find and name have Quality, Degree, Root and String; spell has Degree and
// Root; shape, build and same have Shape and Function; line and passage have
// Tune, Section and Layer. The others are empty.
type Item struct {
	Kind Kind
	// Quality is the chord's quality as the symbol writes it after the root:
	// "m7", "maj7", "7(b9)"; "" is a major triad.
	Quality string
	// Degree and Root are spelled with b and #: "b7", "D", "F#".
	Degree, Root string
	// String is 1 (highest) to 8.
	String int
	// Shape is a shape's name or frets; Function is what it is heard as.
	Shape, Function string
	// Tune is the tune's name on the command line, Section a section's name,
	// Layer a layer's name.
	Tune, Section, Layer string
}

// Key writes the item as one line of text that ParseKey reads back and that
// stays the same for ever: it is what a history is kept by. Fields are split by
// colons; colons, percent signs and line ends in a field are written %xx.
func (it Item) Key() string {
	var parts []string
	switch it.Kind {
	case Find, Name:
		parts = []string{it.Quality, it.Degree, it.Root, strconv.Itoa(it.String)}
	case Spell:
		parts = []string{it.Degree, it.Root}
	case Shape, Build, Same:
		parts = []string{it.Shape, it.Function}
	default:
		parts = []string{it.Tune, it.Section, it.Layer}
	}
	var b strings.Builder
	b.WriteString(string(it.Kind))
	for _, p := range parts {
		b.WriteByte(':')
		escape.WriteString(&b, p)
	}
	return b.String()
}

var (
	escape   = strings.NewReplacer("%", "%25", ":", "%3A", "\n", "%0A", "\r", "%0D")
	unescape = strings.NewReplacer("%25", "%", "%3A", ":", "%0A", "\n", "%0D", "\r")
)

// ParseKey reads a key that Key wrote. Anything else is an error that says
// what was found.
func ParseKey(key string) (Item, error) {
	f := strings.Split(key, ":")
	for i := range f {
		f[i] = unescape.Replace(f[i])
	}
	it := Item{Kind: Kind(f[0])}
	want := 0
	switch it.Kind {
	case Find, Name:
		want = 4
	case Spell, Shape, Build, Same:
		want = 2
	case Line, Passage:
		want = 3
	default:
		return Item{}, fmt.Errorf("item %q: %q is no kind of item; write find, name, spell, line, shape, build, same or passage", key, f[0])
	}
	if len(f) != want+1 {
		return Item{}, fmt.Errorf("item %q: found %d fields after the kind, a %s item has %d", key, len(f)-1, it.Kind, want)
	}
	switch it.Kind {
	case Find, Name:
		n, err := strconv.Atoi(f[4])
		if err != nil || n < 1 || n > 8 {
			return Item{}, fmt.Errorf("item %q: %q is no string; write 1 to 8", key, f[4])
		}
		it.Quality, it.Degree, it.Root, it.String = f[1], f[2], f[3], n
	case Spell:
		it.Degree, it.Root = f[1], f[2]
	case Shape, Build, Same:
		it.Shape, it.Function = f[1], f[2]
	default:
		it.Tune, it.Section, it.Layer = f[1], f[2], f[3]
	}
	if it.Key() != key {
		return Item{}, fmt.Errorf("item %q: not written as the program writes it, which is %q", key, it.Key())
	}
	return it, nil
}

// Group names the group whose answer times the item is timed with: its kind
// and degree, its kind and function, or its tune.
func (it Item) Group() string {
	switch it.Kind {
	case Find, Name, Spell:
		return string(it.Kind) + " " + it.Degree
	case Shape, Build, Same:
		return string(it.Kind) + " " + it.Function
	}
	return string(it.Kind) + " " + it.Tune
}

// Text names the item to a person: "b7 of Dm7 on string 5".
func (it Item) Text() string {
	switch it.Kind {
	case Find, Name:
		return fmt.Sprintf("%s of %s%s on string %d", it.Degree, it.Root, it.Quality, it.String)
	case Spell:
		return fmt.Sprintf("%s of %s", it.Degree, it.Root)
	case Shape, Build, Same:
		return fmt.Sprintf("%s as %s", it.Shape, it.Function)
	}
	text := it.Tune
	if it.Section != "" {
		text += " section " + it.Section
	}
	if it.Layer != "" {
		text += ", " + it.Layer
	}
	return text
}

// Alike reports whether two items are so similar that learning both as new on
// one day would set them against each other (Psychology of Music,
// 0305735612463947: the second of two similar new things undoes the night's
// gain on the first). The rule, ours: two different items are look-alikes when
// one could be taken for the other at a glance. Degrees: the same degree of the
// same root (on another string, in another quality, found or named), the same
// degree of two roots of one letter (D and Db), or two degrees of one root that
// share a number (b3 and 3) or a sound (#4 and b5). Shapes: the same shape or
// the same function. Passages: the same section in two layers.
func Alike(a, b Item) bool {
	if a == b {
		return false
	}
	switch {
	case a.ofDegree() && b.ofDegree():
		if a.Degree == b.Degree {
			return letter(a.Root) == letter(b.Root)
		}
		return a.Root == b.Root && (number(a.Degree) == number(b.Degree) || sounding(a.Degree) == sounding(b.Degree))
	case a.ofShape() && b.ofShape():
		return a.Shape == b.Shape || a.Function == b.Function
	}
	return a.Kind == b.Kind && !a.ofDegree() && !a.ofShape() && a.Tune == b.Tune && a.Section == b.Section
}

func (it Item) ofDegree() bool { return it.Kind == Find || it.Kind == Name || it.Kind == Spell }
func (it Item) ofShape() bool  { return it.Kind == Shape || it.Kind == Build || it.Kind == Same }

func letter(root string) string   { return root[:min(1, len(root))] }
func number(degree string) string { return strings.TrimLeft(degree, "b#") }

// sounding folds the degrees that sound alike within the octave into one.
func sounding(degree string) string {
	switch degree {
	case "#4", "#11":
		return "b5"
	case "#5", "b13":
		return "b6"
	case "bb7", "13":
		return "6"
	case "#2", "#9":
		return "b3"
	case "b9":
		return "b2"
	case "9":
		return "2"
	case "11":
		return "4"
	}
	return degree
}

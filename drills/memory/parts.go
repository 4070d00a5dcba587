package memory

import (
	"strings"

	"footfall/harmony"
)

// PartKind says what a part is.
type PartKind uint8

// The kinds of part.
const (
	PartDegree PartKind = iota // a degree in a quality: the b7 of a m7 chord
	PartNote                   // the note of a degree over a root: the b7 over D
	PartPlace                  // the place of a note on a string: C on string 5
	PartFamily                 // the family of a shape: a m7 chord with its b3 lowest
)

// Part is something that several items share, so that an answer about one tells of
// the others. Which facts it has goes by its kind.
type Part struct {
	Kind                        PartKind
	Degree, Quality, Root, Note string
	String                      int
}

// mostParts is how many parts an item has at most.
const mostParts = 4

// Parts are what an item shares with others, none where it stands alone, such as a
// passage of a tune.
func (it Item) Parts() []Part {
	if !it.Known() {
		return nil
	}
	d := it.Degree
	if d == "" {
		d = it.Bass
	}
	degree, note := Part{Kind: PartDegree, Degree: d, Quality: it.Quality}, Part{Kind: PartNote, Degree: d, Root: it.Root}
	family := Part{Kind: PartFamily, Degree: d, Quality: it.Quality}
	switch it.Kind {
	case Find, Name:
		return append([]Part{degree, note}, it.place(d)...)
	case Build:
		return append([]Part{degree, note, family}, it.place(d)...)
	case Spell:
		return []Part{note}
	case Approach:
		// The note is that of a degree of the coming root.
		return []Part{{Kind: PartNote, Degree: it.Next, Root: it.Root}}
	case Shape, Near:
		return []Part{family}
	case Same:
		return []Part{family, note}
	}
	return nil
}

// place is where the note of a degree lies on the item's string.
func (it Item) place(of string) []Part {
	d, none := harmony.ParseDegree(of)
	root, err := harmony.ParseNote(it.Root)
	if none != nil || err != nil || it.String == 0 {
		return nil
	}
	return []Part{{Kind: PartPlace, Note: d.Of(root).String(), String: it.String}}
}

// class groups parts of which about as much is known before they are first met: a
// kind, and whether the part is of those that are commonly learned first (common
// practice, no source): natural notes before others, triads before what lies above.
type class struct {
	kind   PartKind
	rung   int
	string int
}

func (p Part) class() class {
	c := class{kind: p.Kind, string: p.String}
	if p.Kind != PartPlace {
		c.rung = Level(Item{Kind: Spell, Degree: p.Degree, Root: "C"})
	}
	if strings.ContainsAny(p.Root+p.Note, "b#") {
		c.rung += Levels
	}
	return c
}

package harmony

import (
	"slices"
	"strings"
	"sync"
	"unicode/utf8"
)

// Quality is what a chord is, whatever its root and bass and however its symbol
// was typed: the set of its degrees. Dm7, D-7 and Dmin7 have one. It may be
// compared with == and be the key of a map. The zero value is that of no chord.
type Quality struct {
	set uint32 // a bit for each of Degrees, the lowest for the 1
}

// bits holds the place of each degree of the trade in Degrees and one more, by
// its number and its alteration from −2; 0 where it is none.
var bits = func() (at [14][4]uint8) {
	for i, d := range Degrees {
		at[d.Number][d.Alter+2] = uint8(i + 1)
	}
	return at
}()

// bit returns a degree's bit in a set, 0 for none of the trade's.
func (d Degree) bit() uint32 {
	if d.Number < 1 || d.Number > 13 || d.Alter < -2 || d.Alter > 1 {
		return 0
	}
	return 1 << bits[d.Number][d.Alter+2] >> 1
}

func qualityOf(degrees []Degree) (q Quality) {
	for _, d := range degrees {
		q.set |= d.bit()
	}
	return q
}

// QualityOf returns the quality that has just these degrees, in any order; false
// where no chord symbol says them.
func QualityOf(degrees []Degree) (Quality, bool) {
	q := qualityOf(degrees)
	if len(q.Degrees()) != len(degrees) || q.set == 0 {
		return Quality{}, false
	}
	_, ok := q.named()
	return q, ok
}

// ParseQuality reads what follows the root in a chord symbol, without a slash
// bass: "m7", "-7", "7(b9,#11)", "" for a major triad. An accidental that begins
// it belongs to a tension, since there is no root for it to go with. Every error
// is a Fault.
func ParseQuality(s string) (Quality, error) {
	if row, ok := tables().spelled[s]; ok {
		return qualityOf(row.Degrees), nil
	}
	c, err := ParseChord("C" + apart(s))
	if err == nil && c.Bass != c.Root {
		err = Fault{Column: strings.LastIndexByte(s, '/') + 1, Found: "/", Want: "a quality without a bass note"}
	}
	if err != nil {
		return Quality{}, err
	}
	return c.Quality(), nil
}

// Quality returns what the chord is.
func (c Chord) Quality() Quality { return qualityOf(c.Degrees) }

// Identity is what makes two chords one however their symbols are typed: root,
// bass and quality, all spelled. It may be compared with == and be the key of a
// map. That of no chord is the zero value.
type Identity struct {
	Root, Bass Note
	Quality    Quality
}

// Identity returns which chord it is.
func (c Chord) Identity() Identity { return Identity{c.Root, c.Bass, c.Quality()} }

// On returns the chord of the quality on a root, with the symbol that is written
// for it.
func (q Quality) On(root Note) Chord {
	name, text := q.Name(), root.String()
	if q.set == 0 {
		return Chord{Symbol: name, None: true}
	}
	if root.Alter == -2 && name != "" && isDigit(rune(name[0])) {
		text = root.Letter.String() + "𝄫" // Ebb9 is Eb with a flat nine
	}
	return Chord{Symbol: text + name, Root: root, Bass: root, Degrees: q.Degrees()}
}

// Degrees returns the chord's tones low to high, tensions as 9, 11 and 13.
func (q Quality) Degrees() []Degree {
	var ds []Degree
	for i, d := range Degrees {
		if q.set>>i&1 != 0 {
			ds = append(ds, d)
		}
	}
	return ds
}

// Has reports whether the chord holds a degree.
func (q Quality) Has(d Degree) bool { return q.set&d.bit() != 0 }

// Name returns the text that is written after the root, which ParseQuality reads
// back: "m7", "7b9", "" for a major triad, "N.C." for no chord.
func (q Quality) Name() string {
	n, _ := q.named()
	return n.text
}

// String returns the name.
func (q Quality) String() string { return q.Name() }

// Row returns the quality's row of the table or, for one without, that of the
// quality which it is written as a change of: 7 for 7(no3).
func (q Quality) Row() *QualityRow {
	n, _ := q.named()
	return n.row
}

// Near names the qualities that this one is most easily taken for, the likeliest
// first.
func (q Quality) Near() []string {
	if near := q.Row().Near; near != nil {
		return near
	}
	return []string{"7", "m7", "maj7"}
}

// tables finds the rows of Qualities by what they hold and by their spellings.
var tables = sync.OnceValue(func() (t struct {
	rows    map[Quality]*QualityRow
	spelled map[string]*QualityRow
}) {
	all := Qualities()
	t.rows, t.spelled = make(map[Quality]*QualityRow, len(all)), make(map[string]*QualityRow, 3*len(all))
	for i := range all {
		row := &all[i]
		row.Degrees = slices.Clip(row.Degrees)
		t.rows[qualityOf(row.Degrees)] = row
		t.spelled[row.Name] = row
		for _, also := range strings.Fields(row.Also) {
			t.spelled[also] = row
		}
	}
	return t
})

// named is a quality's name and the row it is built on.
type named struct {
	text string
	row  *QualityRow
}

// composed remembers the names of qualities that have no row: there are no more
// of them than symbols say.
var composed sync.Map // of Quality to named

// named returns a quality's name; false where no symbol says its degrees.
func (q Quality) named() (named, bool) {
	if row, ok := tables().rows[q]; ok {
		return named{row.Name, row}, true
	}
	n, known := composed.Load(q)
	if !known {
		n, _ = composed.LoadOrStore(q, q.compose())
	}
	return n.(named), n.(named).text != "N.C."
}

// compose finds the shortest name that a row and changes to it make.
func (q Quality) compose() named {
	all := Qualities()
	best := named{"N.C.", &all[0]}
	if q.set == 0 {
		return best
	}
	found := false
	for i := range all {
		brackets, plain := q.changes(qualityOf(all[i].Degrees))
		for _, text := range []string{all[i].Name + brackets + plain, all[i].Name + plain + brackets} {
			if found && utf8.RuneCountInString(text) >= utf8.RuneCountInString(best.text) {
				continue
			}
			if c, err := ParseChord("C" + apart(text)); err == nil && c.Quality() == q {
				best, found = named{text, &all[i]}, true
			}
		}
	}
	return best
}

// changes writes what makes another quality into this one: altered tones and
// sevenths in brackets, "(b5,#9)", and what is added or left out, "add9no3".
func (q Quality) changes(from Quality) (brackets, plain string) {
	const fifths = 1<<8 | 1<<10 // b5 and #5: one alone would take the place of the other
	added := q.set &^ from.set
	if added&fifths != 0 {
		added |= q.set & fifths
	}
	var in []string
	for _, d := range (Quality{added}).Degrees() {
		switch {
		case d == Degree{7, 0}:
			in = append([]string{"maj7"}, in...) // what follows depends on it
		case d.Number == 7:
			in = append([]string{"7"}, in...)
		case d.Alter != 0:
			in = append(in, d.String())
		default:
			plain += "add" + d.String()
		}
	}
	for _, d := range (Quality{from.set &^ q.set}).Degrees() {
		if !slices.ContainsFunc(q.Degrees(), func(e Degree) bool { return e.Number == d.Number }) {
			plain += "no" + Degree{Number: d.Number}.String()
		}
	}
	if in != nil {
		brackets = "(" + strings.Join(in, ",") + ")"
	}
	return brackets, plain
}

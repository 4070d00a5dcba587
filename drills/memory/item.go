package memory

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Item is one thing to remember, as facts. Which of them an item has goes by its
// kind, as declared in kinds.go; the others are empty. All are in the one form in
// which ParseKey reads them, so that two items are one just where they are equal.
type Item struct {
	Kind Kind
	// Quality is a chord's, as harmony.Quality names it: "m7", "" for a major triad.
	Quality string
	// Degree is asked of the chord, Bass its degree in the bass: "b7".
	Degree, Bass string
	// Root is a note: "D", "F#".
	Root string
	// Next is where the coming chord's root lies, as a degree of this one's root: "4";
	// To is its quality.
	Next, To string
	// String is 1 (highest) to MostStrings.
	String int
	// Frets is a shape, low string first, counted from the fret of its lowest note:
	// "x 0 1 0 1 x" (see RelativeFrets). About is what is asked of it.
	Frets, About string
	// Rhythm is a meter and a figure in it, as harmony.Rhythm writes it: "4/4 1 2+";
	// Tempo is in quarter notes a minute: "80".
	Rhythm, Tempo string
	// Degrees stand in the items of the first build for the shape: "3 b7 9 5". Such
	// an item is kept and never asked.
	Degrees string
	// Tune is the tune's name on the command line, Section a section's name,
	// Layer a layer's name.
	Tune, Section, Layer string
	// Raw is what follows the kind in the key of an item that this program does not
	// know, its first colon included. Such an item is kept and never asked.
	Raw string
}

// Key writes the item as one line of text that ParseKey reads back and that
// stays the same for ever: it is what a history is kept by. Facts are split by
// colons; colons, percent signs and line ends in one are written %xx.
func (it Item) Key() string {
	k := it.Kind.declared()
	if k == nil || it.Raw != "" {
		return string(it.Kind) + it.Raw
	}
	facts := k.facts
	if it.Degrees != "" {
		facts = k.before
	}
	b := []byte(it.Kind)
	for _, f := range facts {
		b = append(b, ':')
		if f == str {
			b = strconv.AppendInt(b, int64(it.String), 10)
		} else {
			b = append(b, escape.Replace(*f.at(&it))...)
		}
	}
	return string(b)
}

var (
	escape   = strings.NewReplacer("%", "%25", ":", "%3A", "\n", "%0A", "\r", "%0D")
	unescape = strings.NewReplacer("%25", "%", "%3A", ":", "%0A", "\n", "%0D", "\r")
)

// ParseKey reads a key: its kind, a colon and its facts. A kind that this program
// does not know, or facts that it would not write, make an item that is not Known,
// whose Key is the same text. Only a text without a kind is an error.
func ParseKey(key string) (Item, error) {
	colon := strings.IndexByte(key, ':')
	if colon < 1 {
		return Item{}, fmt.Errorf("item %q: found no kind; write its kind, a colon and its facts, such as find:m7:b7:D:5", key)
	}
	raw := Item{Kind: Kind(key[:colon]), Raw: key[colon:]}
	if k := raw.Kind.declared(); k != nil {
		texts := strings.Split(key[colon+1:], ":")
		for _, facts := range [][]*fact{k.facts, k.before} {
			it := Item{Kind: k.name}
			if facts != nil && len(texts) == len(facts) && it.read(facts, texts) && it.Key() == key {
				return it, nil
			}
		}
	}
	return raw, nil
}

// read takes in the facts of a key; false where one is none.
func (it *Item) read(facts []*fact, texts []string) bool {
	for i, f := range facts {
		text := unescape.Replace(texts[i])
		if f == str {
			it.String, _ = strconv.Atoi(text)
			if it.String < 1 || it.String > MostStrings {
				return false
			}
			continue
		}
		if !f.canonical(text) {
			return false
		}
		*f.at(it) = text
	}
	return true
}

// Known reports whether this program knows the item, so that it may be practised.
// It is false for the items of kinds to come and for those of the first build that
// name no strings.
func (it Item) Known() bool { return it.Raw == "" && it.Degrees == "" && it.Kind.declared() != nil }

// Group names the group whose answer times the item is timed with: its kind and
// the fact that tells them apart. It is "" for an item of another program.
func (it Item) Group() string {
	k := it.Kind.declared()
	if k == nil || it.Raw != "" {
		return ""
	}
	return string(it.Kind) + " " + *k.pace.at(&it)
}

// Text names the item to a person: "b7 of Dm7 on string 5". It may be worded anew.
func (it Item) Text() string {
	if k := it.Kind.declared(); k != nil && it.Raw == "" {
		return k.text(it)
	}
	return it.Key()
}

// Alike reports whether two items are so similar that learning both as new on
// one day would set them against each other (Psychology of Music,
// 0305735612463947: the second of two similar new things undoes the night's
// gain on the first). The rule, ours, is that of their kinds.
func Alike(a, b Item) bool {
	rule := a.likeness()
	return a != b && rule != nil && rule == b.likeness() && rule.alike(a, b)
}

func (it Item) likeness() *likeness {
	if k := it.Kind.declared(); k != nil && it.Raw == "" {
		return k.likeness
	}
	return nil
}

func (it Item) ofDegree() bool { return it.likeness() == ofDegrees }

// RelativeFrets writes a shape as an item has it: low string first, −1 not played,
// counted from the fret of its lowest string that sounds.
func RelativeFrets(shape []int) string {
	low := slices.IndexFunc(shape, func(f int) bool { return f >= 0 })
	texts := make([]string, len(shape))
	for i, f := range shape {
		texts[i] = "x"
		if f >= 0 {
			texts[i] = strconv.Itoa(f - shape[low])
		}
	}
	return strings.Join(texts, " ")
}

// compare orders items in some way that stays the same.
func (it Item) compare(other Item) int {
	return cmp.Or(cmp.Compare(it.Root, other.Root), cmp.Compare(it.Quality, other.Quality), cmp.Compare(it.Degree, other.Degree),
		cmp.Compare(it.String, other.String), cmp.Compare(it.Kind, other.Kind), cmp.Compare(it.Key(), other.Key()))
}

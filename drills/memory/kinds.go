package memory

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// Kind names what a question about an item asks for.
type Kind string

// The kinds of item.
const (
	Find     Kind = "find"     // play the degree of a chord on a string
	Name     Kind = "name"     // say which degree a place is against a chord
	Spell    Kind = "spell"    // say which note a degree of a root is
	Line     Kind = "line"     // walk a tune's bass row
	Shape    Kind = "shape"    // read a shape against a chord
	Build    Kind = "build"    // build a shape on a bass degree
	Same     Kind = "same"     // one shape, two chords
	Near     Kind = "near"     // the nearest shape of the next chord
	Approach Kind = "approach" // the note that comes to the next root
	Leading  Kind = "leading"  // a bar that leads from one chord to the next
	Ear      Kind = "ear"      // what is in the bass, and which chord it is, by ear
	Hits     Kind = "hits"     // tap a rhythm over a walking bass
	Passage  Kind = "passage"  // a section of a tune in a layer, played along
)

// kind declares one kind of item: everything else follows from it.
type kind struct {
	name Kind
	// facts are the fields of its items, in the order of the key.
	facts []*fact
	// before are the facts of an item that the first build kept, which named fewer;
	// nil where they were the same.
	before []*fact
	// pace is the fact by which the answer times are told apart.
	pace *fact
	// likeness is the rule by which two of its items are look-alikes.
	likeness *likeness
	// text names an item to a person.
	text func(Item) string
}

var kinds = []kind{
	{Find, []*fact{quality, degree, root, str}, nil, degree, ofDegrees, placedText},
	{Name, []*fact{quality, degree, root, str}, nil, degree, ofDegrees, placedText},
	{Spell, []*fact{degree, root}, nil, degree, ofDegrees, func(it Item) string { return it.Degree + " of " + it.Root }},
	{Shape, []*fact{about, quality, bass, frets}, []*fact{about, degrees}, about, ofShapes, func(it Item) string {
		return shapeText(it, ChordName(it.Quality)) + ": " + map[string]string{
			AboutInversion: "which inversion", AboutDegrees: "which degrees", AboutUse: "what it makes of the chord"}[it.About]
	}},
	{Build, []*fact{quality, bass, root, str}, nil, bass, ofShapes, func(it Item) string {
		return fmt.Sprintf("%s%s on string %d with its %s in the bass", it.Root, it.Quality, it.String, it.Bass)
	}},
	{Same, []*fact{quality, bass, root, frets}, []*fact{quality, root, degrees}, bass, ofShapes, func(it Item) string {
		return shapeText(it, it.Root+it.Quality) + ": its other name"
	}},
	{Approach, []*fact{degree, quality, next, root}, nil, degree, ofPairs, func(it Item) string {
		return fmt.Sprintf("from %s%s to the %s of the root on its %s", it.Root, it.Quality, it.Degree, it.Next)
	}},
	{Leading, []*fact{quality, next, to, root}, nil, quality, ofPairs, func(it Item) string {
		return fmt.Sprintf("a bar from %s%s to the %s on its %s", it.Root, it.Quality, chordName(it.To), it.Next)
	}},
	{Ear, []*fact{heardOf, quality, bass}, nil, heardOf, byEar, func(it Item) string {
		if it.About == AboutQuality {
			return fmt.Sprintf("%s with its %s in the bass, by ear", ChordName(it.Quality), it.Bass)
		}
		return fmt.Sprintf("the %s in the bass of %s, by ear", it.Bass, ChordName(it.Quality))
	}},
	{Near, []*fact{moving, quality, bass, frets, next, to}, nil, moving, ofShapes, func(it Item) string {
		return fmt.Sprintf("from %s to the %s on its %s: the %s", shapeText(it, ChordName(it.Quality)), chordName(it.To), it.Next,
			map[string]string{AboutNearest: "nearest shape", AboutVoices: "voices that move"}[it.About])
	}},
	{Hits, []*fact{rhythm, feel, tempo}, nil, feel, ofRhythms, func(it Item) string {
		_, figure, _ := strings.Cut(it.Rhythm, " ")
		if strings.Contains(figure, "+") {
			figure += " " + it.About
		}
		return fmt.Sprintf("tap %s at %s BPM", figure, it.Tempo)
	}},
	{Line, []*fact{tuneName, section, layer}, nil, tuneName, ofPassages, passageText},
	{Passage, []*fact{tuneName, section, layer}, nil, tuneName, ofPassages, passageText},
}

func placedText(it Item) string {
	return fmt.Sprintf("%s of %s%s on string %d", it.Degree, it.Root, it.Quality, it.String)
}

func shapeText(it Item, chord string) string {
	if it.Degrees != "" {
		return it.Degrees + " of a chord"
	}
	var on []string
	for i, fret := range strings.Fields(it.Frets) {
		if fret != "x" {
			on = append(on, strconv.Itoa(strings.Count(it.Frets, " ")+1-i))
		}
	}
	return fmt.Sprintf("%s with its %s lowest, on strings %s", chord, it.Bass, strings.Join(on, " "))
}

// chordName names a chord of a quality as one says it.
func chordName(quality string) string {
	switch quality {
	case "":
		return "major chord"
	case "m":
		return "minor chord"
	}
	return quality + " chord"
}

// ChordName names a chord of a quality as it is spoken, with its article: an m7 chord, a maj7
// chord, a minor chord.
func ChordName(quality string) string {
	if strings.HasPrefix(quality, "a") || strings.HasPrefix(quality, "11") || len(quality) > 1 && strings.HasPrefix(quality, "m") && !strings.HasPrefix(quality, "maj") {
		return "an " + chordName(quality)
	}
	return "a " + chordName(quality)
}

func passageText(it Item) string {
	text := it.Tune
	if it.Section != "" {
		text += " section " + it.Section
	}
	if it.Layer != "" {
		text += ", " + it.Layer
	}
	return text
}

// declared returns a kind's declaration, nil for one that the program does not know.
func (k Kind) declared() *kind {
	for i := range kinds {
		if kinds[i].name == k {
			return &kinds[i]
		}
	}
	return nil
}

// InTime reports whether the music says when an answer comes, so that how long it
// took tells nothing.
func (k Kind) InTime() bool { return k == Hits }

// OfChords reports whether items of the kind are degrees asked of a chord quality,
// so that degrees can be told against qualities.
func (k Kind) OfChords() bool {
	d := k.declared()
	return d != nil && slices.Contains(d.facts, quality) && slices.Contains(d.facts, degree)
}

// fact is a field of an item, as the key writes it.
type fact struct {
	at func(*Item) *string
	// canonical reports whether a text is one that the field may have: a musical
	// fact in the one way it is written, never prose.
	canonical func(string) bool
}

var (
	quality  = &fact{func(it *Item) *string { return &it.Quality }, canonicalQuality}
	degree   = &fact{func(it *Item) *string { return &it.Degree }, canonicalDegree}
	bass     = &fact{func(it *Item) *string { return &it.Bass }, canonicalDegree}
	degrees  = &fact{func(it *Item) *string { return &it.Degrees }, canonicalDegrees}
	root     = &fact{func(it *Item) *string { return &it.Root }, canonicalNote}
	frets    = &fact{func(it *Item) *string { return &it.Frets }, canonicalFrets}
	heardOf  = &fact{func(it *Item) *string { return &it.About }, oneOf(AboutBass, AboutQuality)}
	next     = &fact{func(it *Item) *string { return &it.Next }, canonicalDegree}
	to       = &fact{func(it *Item) *string { return &it.To }, canonicalQuality}
	about    = &fact{func(it *Item) *string { return &it.About }, oneOf(AboutInversion, AboutDegrees, AboutUse)}
	moving   = &fact{func(it *Item) *string { return &it.About }, oneOf(AboutNearest, AboutVoices)}
	rhythm   = &fact{func(it *Item) *string { return &it.Rhythm }, canonicalRhythm}
	feel     = &fact{func(it *Item) *string { return &it.About }, oneOf(FeelStraight, FeelSwung)}
	tempo    = &fact{func(it *Item) *string { return &it.Tempo }, canonicalTempo}
	tuneName = &fact{func(it *Item) *string { return &it.Tune }, anyName}
	section  = &fact{func(it *Item) *string { return &it.Section }, anyName}
	layer    = &fact{func(it *Item) *string { return &it.Layer }, anyName}
	// str stands for Item.String, which is a number.
	str = &fact{}
)

func canonicalQuality(s string) bool {
	q, err := harmony.ParseQuality(s)
	return err == nil && q.Name() == s
}

func canonicalDegree(s string) bool {
	d, err := harmony.ParseDegree(s)
	return err == nil && d.String() == s
}

func canonicalDegrees(s string) bool {
	return !slices.ContainsFunc(strings.Split(s, " "), func(d string) bool { return !canonicalDegree(d) })
}

func canonicalNote(s string) bool {
	n, err := harmony.ParseNote(s)
	return err == nil && n.String() == s
}

// canonicalFrets reads a fret or an x a string, low string first, counted from the
// fret of the lowest that sounds: "x 0 1 0 1 x".
func canonicalFrets(s string) bool {
	strings := strings.Split(s, " ")
	sounding := 0
	for _, f := range strings {
		if f == "x" {
			continue
		}
		n, err := strconv.Atoi(f)
		if err != nil || strconv.Itoa(n) != f || n < -MostFrets || n > MostFrets || sounding == 0 && n != 0 {
			return false
		}
		sounding++
	}
	return sounding > 1 && len(strings) <= MostStrings
}

// canonicalRhythm reads a meter and a rhythm as harmony.Rhythm writes it: "4/4 1 2+".
func canonicalRhythm(s string) bool {
	meter, figure, _ := strings.Cut(s, " ")
	m, ok := harmony.ParseMeter(meter)
	r, err := harmony.ParseRhythm(m, figure)
	return ok && err == nil && r.String() == figure && strings.ContainsAny(figure, "1234567")
}

// canonicalTempo reads quarter notes a minute, without decimals.
func canonicalTempo(s string) bool {
	n, err := strconv.Atoi(s)
	return err == nil && strconv.Itoa(n) == s && n >= harmony.LowestTempo && n <= harmony.HighestTempo
}

// anyName takes what people call their tunes and sections, by which alone those
// are known.
func anyName(string) bool { return true }

// MostStrings and MostFrets bound the necks of items.
const (
	MostStrings = 8
	MostFrets   = 36
)

// What a shape item asks, and what one about going on to the next chord does.
const (
	AboutInversion = "inversion" // which chord it is by itself, and what is lowest
	AboutDegrees   = "degrees"   // which degrees of a chord it sounds
	AboutUse       = "use"       // what it makes of a chord
	AboutNearest   = "nearest"   // which shape of the next chord is nearest
	AboutVoices    = "voices"    // which voice moves where
)

// FreeLayer stands for a layer in a passage in which the player makes the line up.
const FreeLayer = "free"

// How the offbeats of an item about a rhythm lie.
const (
	FeelStraight = "straight"
	FeelSwung    = "swung"
)

// What an item by ear asks.
const (
	AboutBass    = "bass"    // which degree is in the bass
	AboutQuality = "quality" // which quality the chord has
)

func oneOf(texts ...string) func(string) bool {
	return func(s string) bool { return slices.Contains(texts, s) }
}

// likeness is a rule by which one item could be taken for another at a glance.
// Items of different rules never can.
type likeness struct{ alike func(a, b Item) bool }

var (
	// The same degree of the same root (on another string, in another quality, found
	// or named), the same degree of two roots of one letter (D and Db), or two
	// degrees of one root that share a number (b3 and 3) or a sound (#4 and b5).
	ofDegrees = &likeness{func(a, b Item) bool {
		if a.Degree == b.Degree {
			return letter(a.Root) == letter(b.Root)
		}
		return a.Root == b.Root && (number(a.Degree) == number(b.Degree) || sounding(a.Degree) == sounding(b.Degree))
	}}
	// The same shape, or the same degree in the bass of the same quality.
	ofShapes = &likeness{func(a, b Item) bool {
		return a.Frets != "" && a.Frets == b.Frets || a.Bass != "" && a.Quality == b.Quality && a.Bass == b.Bass
	}}
	// The same two chords.
	ofPairs = &likeness{func(a, b Item) bool { return a.Root == b.Root && a.Next == b.Next }}
	// The same figure, in another feel or tempo.
	ofRhythms = &likeness{func(a, b Item) bool { return a.Rhythm == b.Rhythm }}
	// Chords of one quality.
	byEar = &likeness{func(a, b Item) bool { return a.Quality == b.Quality }}
	// The same section in two layers, and a tune's line no passage.
	ofPassages = &likeness{func(a, b Item) bool { return a.Kind == b.Kind && a.Tune == b.Tune && a.Section == b.Section }}
)

func letter(root string) string   { return root[:min(1, len(root))] }
func number(degree string) string { return strings.TrimLeft(degree, "b#") }

// sounding folds the degrees that sound alike within the octave into one: its half
// steps above the root, −1 for none.
func sounding(degree string) int {
	d, err := harmony.ParseDegree(degree)
	if err != nil {
		return -1
	}
	return d.Semitones() % 12
}

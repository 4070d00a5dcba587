package memory

import (
	"cmp"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// Upgrade rewrites a key of any build into the one that is written now; a text that
// none wrote stays as it is, and so does a key that is written now. Keys that named
// one fact in two ways, such as a chord spelled in two, become one key.
//
// Lend tells that the new key is of an item that is kept and counted, never asked,
// and whose state the first item that has it for its Lender begins with. Such are
// the shapes of the first build: their keys were sentences, from which the degrees
// are read, and named no strings.
func Upgrade(key string) (newKey string, lend bool) {
	name, facts, _ := strings.Cut(key, ":")
	k := Kind(name).declared()
	if k == nil {
		return key, false
	}
	texts := strings.Split(facts, ":")
	for i := range texts {
		texts[i] = unescape.Replace(texts[i])
	}
	it, ok := Item{Kind: k.name}, false
	switch {
	case len(texts) == 2 && it.Kind == Build:
		var where, placed string
		where, placed, ok = strings.Cut(texts[0], " on string ")
		it.String, _ = strconv.Atoi(placed)
		it.Bass = strings.TrimSuffix(texts[1], " in the bass")
		ok = ok && it.ofChord(where)
	case len(texts) == 2 && it.Kind == Same:
		var where string
		it.Degrees, where, ok = strings.Cut(texts[0], " of ")
		ok = ok && it.ofChord(where)
	case len(texts) == 2 && it.Kind == Shape && !about.canonical(texts[0]):
		it.About, it.Degrees = shapeSentence(texts[0], texts[1])
		ok = it.Degrees != ""
	default:
		// A quality may have been written in another way.
		list := k.facts
		if len(texts) != len(list) {
			list = k.before
		}
		if i := slices.Index(list, quality); i >= 0 && i < len(texts) {
			texts[i], _ = spelledQuality(texts[i])
		}
		ok = len(list) == len(texts) && it.read(list, texts)
	}
	if ok {
		if again, err := ParseKey(it.Key()); err == nil && again == it {
			return it.Key(), it.Degrees != ""
		}
	}
	return key, false
}

// ofChord takes in the root and the quality of a chord symbol.
func (it *Item) ofChord(symbol string) bool {
	c, err := harmony.ParseChord(symbol)
	it.Root, it.Quality = c.Root.String(), c.Quality().Name()
	return err == nil && !c.None
}

// spelledQuality names the quality that was written after a root, with any slash
// bass left out: "-7", "6/9/E".
func spelledQuality(text string) (string, bool) {
	q, err := harmony.ParseQuality(text)
	if slash := strings.LastIndexByte(text, '/'); err != nil && slash >= 0 {
		q, err = harmony.ParseQuality(text[:slash])
	}
	return q.Name(), err == nil
}

// What the first build wrote of shapes and of what they make of a chord.
var (
	shapeWords = regexp.MustCompile(`^(?:(root-position|first-inversion|second-inversion|third-inversion) |(rootless ))?(.*) shape(?: with (?:the )?(.+) in the bass)?$`)
	wholeWords = regexp.MustCompile(`^the whole chord(?: in root position| with the (.+) in the bass)$`)
	partWords  = regexp.MustCompile(`^the chord(?: without its (.+?))?(?:(?:,| with) the (.+) in the bass)?$`)
	fullWords  = regexp.MustCompile(`^an? (rootless )?(.+?)(?: without (.+?))?(?: with the (.+) in the bass)?$`)
	inWords    = map[string]string{
		"major triad": "", "minor triad": "m", "diminished triad": "dim", "augmented triad": "aug", "power chord": "5",
		"major triad with a flat fifth": "(b5)",
	}
	numberWords = map[string]int8{
		"root": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "ninth": 9, "eleventh": 11, "thirteenth": 13,
	}
	inversionNumbers = map[string][]int8{
		"root-position": {1}, "first-inversion": {2, 3, 4}, "second-inversion": {5}, "third-inversion": {6, 7},
	}
)

// shapeSentence reads what a shape was and was asked, and returns the question and
// the degrees, "" where the first build wrote no such sentence.
func shapeSentence(words, function string) (about, degrees string) {
	if canonicalDegrees(function) {
		return AboutDegrees, function
	}
	m := shapeWords.FindStringSubmatch(words)
	if m == nil {
		// A shape that had no name stood there with its frets.
		return AboutUse, spelled(use(chromatic(words), harmony.Quality{}, function))
	}
	of, ok := qualityInWords(m[3])
	lowest := inTheBass(m[4])
	if m[1] != "" {
		// A dominant 11 may have its third, which its symbol leaves out.
		lowest = numbered(append(of.Degrees(), harmony.Degree{Number: 3}), inversionNumbers[m[1]]...)
	}
	if !ok || len(lowest) == 0 {
		return "", ""
	}
	shape := bassFirst(lowest[max(slices.IndexFunc(lowest, of.Has), 0)], of.Degrees(), m[2] != "")
	if function == "itself" {
		return AboutInversion, spelled(shape)
	}
	return AboutUse, spelled(use(shape, of, function))
}

// chromatic names the notes of frets by their half steps above the lowest.
func chromatic(frets string) (shape []harmony.Degree) {
	fields, bottom := strings.Split(frets, "-"), 0
	for i, f := range fields {
		n, err := strconv.Atoi(f)
		if len(fields) != len(openStrings) || err != nil {
			continue
		}
		if shape == nil {
			bottom = openStrings[i] + n
		}
		j := slices.IndexFunc(harmony.Degrees, func(d harmony.Degree) bool { return d.Semitones() == (openStrings[i]+n-bottom)%12 })
		shape = append(shape, harmony.Degrees[max(j, 0)])
	}
	return shape
}

// use reads the degrees that a shape, given by its own degrees from the bass up
// and the quality it has by itself, was said to sound of a chord. Where they cannot
// be told it returns a list that is no shape's.
func use(shape []harmony.Degree, itself harmony.Quality, says string) []harmony.Degree {
	if len(shape) == 0 {
		return nil
	}
	if outside, ok := strings.CutSuffix(says, " outside the chord"); ok {
		return append(slices.Clone(shape), listed(strings.TrimSuffix(strings.TrimSuffix(outside, " lie"), " lies"))...)
	}
	low := "root"
	var gone []harmony.Degree
	if m := wholeWords.FindStringSubmatch(says); m != nil {
		low = cmp.Or(m[1], low)
	} else if m := partWords.FindStringSubmatch(says); m != nil {
		gone, low = listed(m[1]), cmp.Or(m[2], low)
	} else if m := fullWords.FindStringSubmatch(says); m != nil {
		of, ok := qualityInWords(m[2])
		for _, d := range inTheBass(cmp.Or(m[4], low)) {
			if ok && of.Has(d) {
				return without(bassFirst(d, of.Degrees(), m[1] != ""), listed(m[3]))
			}
		}
		return nil
	}
	// The chord is the one that has the shape's tones and those it does without, the
	// shape's own where that will do.
	lowest := inTheBass(low)
	if len(lowest) == 0 {
		return nil
	}
	if slices.Contains(lowest, shape[0]) {
		lowest = append(shape[:1:1], lowest...)
	}
	for _, rows := range [][]harmony.QualityRow{{*itself.Row()}, harmony.Qualities()} {
		for _, foreign := range []bool{false, true} {
			for _, d := range lowest {
				want := tones(gone)
				for _, t := range shape {
					want[(t.Semitones()-shape[0].Semitones()+d.Semitones()+24)%12] = true
				}
				if foreign {
					want[d.Semitones()%12] = false
				}
				for _, row := range rows {
					if tones(row.Degrees) == want && slices.Contains(row.Degrees, d) != foreign {
						return without(bassFirst(d, row.Degrees, false), gone)
					}
				}
			}
		}
	}
	return append(lowest[:1:1], shape...)
}

func qualityInWords(words string) (harmony.Quality, bool) {
	suffix, ok := inWords[words]
	if !ok {
		suffix = words
	}
	q, err := harmony.ParseQuality(suffix)
	return q, err == nil
}

// inTheBass lists the degrees that were said so: "9", "third", "flat ninth".
func inTheBass(word string) []harmony.Degree {
	if d, err := harmony.ParseDegree(word); err == nil {
		return []harmony.Degree{d}
	}
	plain, flat := strings.CutPrefix(word, "flat ")
	plain, sharp := strings.CutPrefix(plain, "sharp ")
	return slices.DeleteFunc(numbered(harmony.Degrees, numberWords[plain]), func(d harmony.Degree) bool {
		anyway := d.Number <= 7 && d.Number%2 == 1
		return !anyway && (flat != (d.Alter < 0) || sharp != (d.Alter > 0))
	})
}

func numbered(degrees []harmony.Degree, numbers ...int8) (found []harmony.Degree) {
	for _, d := range degrees {
		if slices.Contains(numbers, d.Number) {
			found = append(found, d)
		}
	}
	return found
}

// listed reads degrees in words: "root, 5 and 9".
func listed(words string) (degrees []harmony.Degree) {
	for _, w := range strings.FieldsFunc(strings.ReplaceAll(words, " and ", ", "), func(r rune) bool { return r == ',' || r == ' ' }) {
		if w == "root" {
			w = "1"
		}
		if d, err := harmony.ParseDegree(w); err == nil {
			degrees = append(degrees, d)
		}
	}
	return degrees
}

// bassFirst puts a chord's lowest degree before its others, low to high.
func bassFirst(low harmony.Degree, chord []harmony.Degree, rootless bool) []harmony.Degree {
	ds := []harmony.Degree{low}
	for _, d := range chord {
		if d != low && (d.Number != 1 || !rootless) {
			ds = append(ds, d)
		}
	}
	return ds
}

func without(degrees, gone []harmony.Degree) []harmony.Degree {
	return slices.DeleteFunc(degrees, func(d harmony.Degree) bool { return slices.Contains(gone, d) })
}

func tones(degrees []harmony.Degree) (has [12]bool) {
	for _, d := range degrees {
		has[d.Semitones()%12] = true
	}
	return has
}

func spelled(degrees []harmony.Degree) string { return strings.Join(harmony.Spelled(degrees), " ") }

// openStrings are the first build's usual strings, low to high (standard tuning,
// MIDI note numbers).
var openStrings = [...]int{40, 45, 50, 55, 59, 64}

// Lender returns the item of the first build that had the same degrees as this one
// and named no strings; false where there can be none. The first of its items that
// is met begins with its state.
func (it Item) Lender() (Item, bool) {
	shape := strings.Split(it.Frets, " ")
	low, err := harmony.ParseDegree(it.Bass)
	q, fault := harmony.ParseQuality(it.Quality)
	if !it.Known() || err != nil || fault != nil || len(shape) != len(openStrings) {
		return Item{}, false
	}
	chord := q.On(harmony.Note{})
	var sounding []harmony.Degree
	bottom := 0
	for i, f := range shape {
		if f == "x" {
			continue
		}
		fret, _ := strconv.Atoi(f)
		d := low
		if sounding == nil {
			bottom = openStrings[i] - low.Semitones()
		} else {
			d = chord.DegreeOf(openStrings[i] + fret - bottom)
		}
		sounding = append(sounding, d)
	}
	old := Item{Kind: it.Kind, About: it.About, Degrees: spelled(sounding)}
	heard := tones(sounding)
	switch {
	case it.Kind == Same:
		old.Quality, old.Root = it.Quality, it.Root
	case it.About == AboutInversion:
		old.Degrees = spelled(bassFirst(low, chord.Degrees, !heard[0]))
	case it.About == AboutUse:
		slices.SortStableFunc(sounding[1:], func(a, b harmony.Degree) int { return cmp.Compare(a.Semitones(), b.Semitones()) })
		rest := slices.DeleteFunc(slices.Clone(sounding[1:]), func(d harmony.Degree) bool { return d == low })
		old.Degrees = spelled(append([]harmony.Degree{low}, slices.Compact(rest)...))
	}
	return old, true
}

// Lend returns what is known with the states of first-build items lent: each to the
// first item of the pool that was never asked and has it for its Lender, where none
// that was asked has. Known is not changed.
func Lend(known map[Item]State, pool []Item) map[Item]State {
	owed := map[Item]bool{}
	for it := range known {
		if it.Degrees != "" {
			owed[it] = true
		}
	}
	if len(owed) == 0 {
		return known
	}
	for it, s := range known {
		if old, ok := it.Lender(); ok && !s.New() {
			delete(owed, old)
		}
	}
	known = maps.Clone(known)
	for _, it := range pool {
		if old, ok := it.Lender(); ok && owed[old] && known[it].New() {
			known[it] = known[old]
			delete(owed, old)
		}
	}
	return known
}

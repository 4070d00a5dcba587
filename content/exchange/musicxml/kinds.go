package musicxml

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// rowOf returns the quality of a kind of MusicXML 4.0 (kind-value in its schema);
// false for one that names a function instead of a chord (Neapolitan, Italian,
// French, German, pedal, Tristan) or none.
func rowOf(kind string) (harmony.QualityRow, bool) {
	for _, row := range harmony.Qualities() {
		if row.Kind == kind && kind != "" {
			return row, true
		}
	}
	return harmony.QualityRow{}, false
}

// stacked returns the degrees of a kind as MusicXML 4.0 stacks them (kind-value in its
// schema): a dominant 11th has its third and a 13th its 11th, "usually as the basis for
// alteration".
func stacked(row harmony.QualityRow) []harmony.Degree {
	out := slices.Clone(row.Degrees)
	missing := harmony.Degree{Number: 11}
	switch {
	case row.Kind == "dominant-11th":
		missing = harmony.Degree{Number: 3}
	case !strings.HasSuffix(row.Kind, "-13th"):
		return out
	}
	i := slices.IndexFunc(out, func(d harmony.Degree) bool { return d.Number > missing.Number })
	return slices.Insert(out, i, missing)
}

// sounded leaves out of a stack what symbols leave out: the third below an 11, and the 11
// below a 13 or beside an altered one.
func sounded(row harmony.QualityRow, stack []harmony.Degree) []harmony.Degree {
	eleven := harmony.Degree{Number: 11}
	drop := func(out harmony.Degree) []harmony.Degree {
		return slices.DeleteFunc(stack, func(d harmony.Degree) bool { return d == out })
	}
	altered := slices.ContainsFunc(stack, func(d harmony.Degree) bool { return d.Number == 11 && d.Alter != 0 })
	switch {
	case strings.HasSuffix(row.Kind, "-13th"), row.Kind == "dominant-11th" && altered:
		return drop(eleven)
	case row.Kind == "dominant-11th" && slices.Contains(stack, eleven):
		return drop(harmony.Degree{Number: 3})
	}
	return stack
}

// dominant is what the alteration of an added degree is counted from: major and
// perfect intervals with a minor seventh (MusicXML 4.0, degree-alter).
func dominant(number int8) int8 {
	if number == 7 {
		return -1
	}
	return 0
}

// describe returns the kind that needs the fewest degree elements to become the
// chord, and those elements.
func describe(c harmony.Chord) (string, []degreeElement) {
	best, kind := []degreeElement(nil), ""
	for _, row := range harmony.Qualities() {
		if row.Kind == "" {
			continue
		}
		from := row.Degrees
		if slices.ContainsFunc(c.Degrees, func(d harmony.Degree) bool { return d.Number == 11 && d.Alter != 0 }) {
			from = stacked(row)
		}
		d := difference(from, c.Degrees)
		if kind == "" || len(d) < len(best) {
			best, kind = d, row.Kind
		}
	}
	return kind, best
}

// difference lists the degree elements that turn one chord into another.
func difference(from, to []harmony.Degree) []degreeElement {
	var out []degreeElement
	used := make([]bool, len(from))
	var added []harmony.Degree
	for _, d := range to {
		if i := slices.Index(from, d); i >= 0 && !used[i] {
			used[i] = true
			continue
		}
		added = append(added, d)
	}
	for _, d := range added {
		i := slices.IndexFunc(from, func(f harmony.Degree) bool { return f.Number == d.Number && !slices.Contains(to, f) })
		if i >= 0 && !used[i] {
			used[i] = true
			out = append(out, degreeElement{Value: degreeValue{nil, int(d.Number)}, Alter: strconv.Itoa(int(d.Alter - from[i].Alter)), Type: "alter"})
			continue
		}
		out = append(out, degreeElement{Value: degreeValue{nil, int(d.Number)}, Alter: strconv.Itoa(int(d.Alter - dominant(d.Number))), Type: "add"})
	}
	for i, f := range from {
		if !used[i] {
			out = append(out, degreeElement{Value: degreeValue{nil, int(f.Number)}, Alter: "0", Type: "subtract"})
		}
	}
	return out
}

// apply turns a kind's degrees into the chord that its degree elements make of
// it, low to high.
func apply(from []harmony.Degree, elements []degreeElement) []harmony.Degree {
	out := slices.Clone(from)
	for _, e := range elements {
		if e.Value.Value < 1 || e.Value.Value > 13 {
			continue
		}
		n, alter := int8(e.Value.Value), int8(number(e.Alter))
		if alter < -2 || alter > 2 {
			continue
		}
		i := slices.IndexFunc(out, func(d harmony.Degree) bool { return d.Number == n })
		switch kind := strings.TrimSpace(e.Type); {
		case kind == "subtract" && i >= 0:
			out = slices.Delete(out, i, i+1)
		case kind == "alter" && i >= 0:
			out[i].Alter = min(max(out[i].Alter+alter, -2), 2)
		case kind == "add" || kind == "alter":
			out = append(out, harmony.Degree{Number: n, Alter: max(alter+dominant(n), -2)})
		}
	}
	return out
}

func number(s string) int {
	f, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || f < -99 || f > 99 {
		return 0
	}
	return int(f)
}

// writeHarmony makes the harmony element of a chord.
func writeHarmony(c harmony.Chord) *harmonyElement {
	h := &harmonyElement{}
	if c.None {
		text := c.Symbol
		h.Roots = []root{{Step: step{Text: "", Step: "C"}}}
		h.Kinds = []kindElement{{Text: &text, Value: "none"}}
		return h
	}
	kind, degrees := describe(c)
	rootText, suffix, bassText := splitSymbol(c)
	h.Roots = []root{{Step: step{Step: c.Root.Letter.String()}, Alter: alterText(c.Root.Alter)}}
	if rootText != c.Root.String() {
		h.Roots[0].Step.Text = rootText
	}
	base := baseOf(rootText, suffix, kind)
	for i, d := range degrees {
		if base == nil {
			d.Print = "no"
		} else {
			shown := ""
			if i == 0 {
				shown = suffix[len(*base):]
			}
			d.Value.Text = &shown
		}
		h.Degrees = append(h.Degrees, d)
	}
	if base != nil && len(degrees) > 0 {
		suffix = *base
	}
	h.Kinds = []kindElement{{Text: &suffix, Value: kind}}
	if bassText != "" {
		h.Bass = &bass{Step: step{Step: c.Bass.Letter.String()}, Alter: alterText(c.Bass.Alter)}
		if bassText != c.Bass.String() {
			h.Bass.Step.Text = bassText
		}
	}
	return h
}

// baseOf returns the part of what stands behind a root that names the kind alone, nil
// where the two are not apart: the 7 of 7(b9), none of 7alt. The rest is shown by the
// degree elements.
func baseOf(root, suffix, kind string) *string {
	row, _ := rowOf(kind)
	for end := range suffix {
		if c, err := harmony.ParseChord(root + suffix[:end]); err == nil && slices.Equal(c.Degrees, row.Degrees) {
			base := suffix[:end]
			return &base
		}
	}
	return nil
}

func alterText(alter int8) string {
	if alter == 0 {
		return ""
	}
	return strconv.Itoa(int(alter))
}

// splitSymbol parts a chord symbol into its root, what stands behind it, and its
// slash bass, "" if it has none.
func splitSymbol(c harmony.Chord) (root, suffix, bass string) {
	s := []rune(c.Symbol)
	end := 1
	for end < len(s) {
		if n, err := harmony.ParseNote(string(s[:end])); err == nil && n == c.Root {
			break
		}
		end++
	}
	root, rest := string(s[:end]), string(s[end:])
	if i := strings.LastIndexByte(rest, '/'); i >= 0 {
		if _, err := harmony.ParseNote(strings.TrimSpace(rest[i+1:])); err == nil {
			return root, rest[:i], strings.TrimSpace(rest[i+1:])
		}
	}
	return root, rest, ""
}

// readHarmony reads a harmony element's chord in a key, nil for none. The losses say
// what of it the chord does not hold; ok is false where there is no chord to read.
func readHarmony(h *harmonyElement, key *keyElement) (c harmony.Chord, losses []string, ok bool) {
	var k kindElement
	if len(h.Kinds) > 0 {
		k = h.Kinds[0]
	}
	kind, text := strings.TrimSpace(k.Value), ""
	if k.Text != nil {
		text = *k.Text
		for _, d := range h.Degrees {
			if d.Value.Text != nil {
				text += *d.Value.Text
			}
		}
	}
	text = strings.Join(strings.Fields(text), "")
	if len(h.Kinds) > max(1, len(h.Numerals)) {
		losses = append(losses, "a chord upon a chord: the first alone is kept")
	}
	if kind == "none" {
		c := harmony.Chord{Symbol: "N.C.", None: true}
		if n, err := harmony.ParseChord(text); err == nil && n.None {
			c.Symbol = n.Symbol
		}
		return c, losses, true
	}
	rootNote, rootText, good := rootOf(h, key)
	switch {
	case good:
	case len(h.Roots) > 0:
		return c, append(losses, fmt.Sprintf("a chord on the root %q is left out", h.Roots[0].Step.Step)), false
	default:
		return c, append(losses, "a harmony named by its function is left out: a chord symbol needs a root"), false
	}
	slash := ""
	if h.Bass != nil {
		bassNote, bassText, good := readStep(h.Bass.Step, h.Bass.Alter)
		switch {
		case !good:
			losses = append(losses, fmt.Sprintf("the bass %q of a chord on %s is left out", h.Bass.Step.Step, rootNote))
		case bassNote != rootNote:
			slash = "/" + bassText
		}
	}
	if k.Symbols == "yes" && text != "" {
		text = signed(kind, text)
	}
	name, told, good := suffixOf(kind, text, rootText, h.Degrees)
	if good {
		c, ok = parsed(rootText, name, slash)
	}
	if !ok {
		return c, append(losses, fmt.Sprintf("a chord of the kind %q on %s is left out", kind, rootNote)), false
	}
	if told != "" {
		losses = append(losses, fmt.Sprintf(told, c))
	}
	if h.Inversion > 0 && h.Bass == nil {
		c, losses = invert(c, h.Inversion, losses)
	}
	return c, losses, true
}

// signed puts the sign of a kind before its text (MusicXML 4.0, kind, use-symbols). The
// triangle of a bare major triad is none that symbols here have.
func signed(kind, text string) string {
	sign := ""
	switch {
	case strings.HasPrefix(kind, "major-") && kind != "major-minor" && kind != "major-sixth":
		sign = "Δ"
	case strings.HasPrefix(kind, "minor"), kind == "major-minor":
		sign = "-"
	case strings.HasPrefix(kind, "augmented"):
		sign = "+"
	case strings.HasPrefix(kind, "diminished"):
		sign = "°"
	case kind == "half-diminished":
		sign = "ø"
	}
	return sign + text
}

// parsed reads what stands behind a root: what would be taken for the root's accidental
// goes in brackets, the b5 of A(b5).
func parsed(root, suffix, slash string) (harmony.Chord, bool) {
	n, _ := harmony.ParseNote(root)
	for _, text := range []string{suffix, "(" + suffix + ")"} {
		if c, err := harmony.ParseChord(root + text + slash); err == nil && !c.None && c.Root == n {
			return c, true
		}
	}
	return harmony.Chord{}, false
}

// suffixOf returns what stands behind the root of the symbol that comes nearest to a
// kind with its degrees and its text: the text as it is set, where that says the same,
// or more where the kind has no degrees. told is what to say of the chord, "" for
// nothing.
func suffixOf(kind, text, root string, degrees []degreeElement) (name, told string, ok bool) {
	row, known := rowOf(kind)
	want := sounded(row, apply(stacked(row), degrees))
	set, legible := parsed(root, text, "")
	if full, err := harmony.ParseChord(text); !legible && err == nil && !full.None && full.Bass == full.Root && strings.HasPrefix(text, root) {
		set, legible, text = full, true, strings.TrimPrefix(text, root)
	}
	legible = legible && set.Bass == set.Root
	switch {
	case known && legible && (sameTones(set.Degrees, want) || text != "" && saysMore(set.Degrees, row.Degrees, want, len(degrees) > 0)):
		return text, "", true
	case !known && legible && text != "":
		return text, "", true
	case kind == "":
		told = "%s: its kind is left empty, which is read as a major chord"
		row, _ = rowOf("major")
		want = apply(row.Degrees, degrees)
	case kind == "other" && len(degrees) > 0: // composed of what is added
		want = apply([]harmony.Degree{{Number: 1}}, degrees)
	case !known:
		return "", "", false
	}
	name, exact := nearest(want)
	if !exact {
		told = "%s is the nearest symbol to a chord that none says"
	} else if known && text != "" && legible && !sameTones(set.Degrees, row.Degrees) {
		told = "%s is what the symbol's parts say; its text is " + strings.ReplaceAll(text, "%", "%%")
	}
	return name, told, true
}

// tones are the twelve notes that degrees sound, without the fifth, which symbols are
// free with.
func tones(degrees []harmony.Degree) (out [12]bool) {
	for _, d := range degrees {
		if d != (harmony.Degree{Number: 5}) {
			out[(d.Semitones()+12)%12] = true
		}
	}
	return out
}

func sameTones(a, b []harmony.Degree) bool { return tones(a) == tones(b) }

// sameNumbers reports whether two chords have the same degrees but for alterations:
// some programs count those of added degrees in another way than the standard.
func sameNumbers(a, b []harmony.Degree) bool {
	numbers := func(ds []harmony.Degree) (out [14]int) {
		for _, d := range ds {
			out[d.Number]++
		}
		return out
	}
	return numbers(a) == numbers(b)
}

// saysMore reports whether a text means a kind, but more than it, and with degree elements
// all of what they make of it.
func saysMore(set, kind, want []harmony.Degree, changed bool) bool {
	return narrower(kind, set) && (!changed || sameNumbers(set, want) && !sameTones(set, kind))
}

// narrower reports whether a chord has the third and the seventh of a kind, or a 4 for
// its third, so that it says more closely what the kind stands for: 7alt for dominant.
func narrower(kind, chord []harmony.Degree) bool {
	for _, d := range kind {
		if d.Number == 3 || d.Number == 7 || d.Number == 6 {
			if !slices.Contains(chord, d) && !(d.Number == 3 && slices.ContainsFunc(chord, func(e harmony.Degree) bool { return e.Number == 4 || e.Number == 2 })) {
				return false
			}
		}
	}
	return len(kind) > 0
}

// nearest returns the name of the quality that has the degrees, or all but the fewest
// of them; exact is false where a tone is lost.
func nearest(want []harmony.Degree) (name string, exact bool) {
	wanted := tidied(want)
	for _, ds := range [][]harmony.Degree{want, wanted, withFifth(wanted)} {
		if q, ok := harmony.QualityOf(ds); ok {
			return q.Name(), sameTones(ds, want)
		}
	}
	// The tensions go first, from the highest, the third and the seventh last.
	order := slices.Clone(wanted)
	slices.SortStableFunc(order, func(a, b harmony.Degree) int { return weight(a) - weight(b) })
	for _, first := range order {
		for _, second := range append([]harmony.Degree{first}, order...) {
			ds := slices.DeleteFunc(slices.Clone(wanted), func(d harmony.Degree) bool { return d == first || d == second })
			if q, ok := harmony.QualityOf(ds); ok {
				return q.Name(), false
			}
		}
	}
	return "", false
}

func weight(d harmony.Degree) int {
	switch d.Number {
	case 5:
		return 0
	case 1:
		return 99
	case 3, 7:
		return 50 - int(d.Number)
	}
	return 20 - int(d.Number)
}

// tidied writes degrees as symbols name them: a 2, 4 or 6 above a third or a seventh as
// 9, 11 or 13; one of each sound; without the fifth and the ninth that altered ones
// stand in for.
func tidied(ds []harmony.Degree) (out []harmony.Degree) {
	has := func(number int8, altered bool) bool {
		return slices.ContainsFunc(ds, func(d harmony.Degree) bool { return d.Number == number && (!altered || d.Alter != 0) })
	}
	minor := slices.Contains(ds, harmony.Degree{Number: 3, Alter: -1})
	if minor { // a #9 is its third again, and a #5 beside a fifth its b13
		ds = slices.DeleteFunc(slices.Clone(ds), func(d harmony.Degree) bool { return d == harmony.Degree{Number: 9, Alter: 1} })
		if i := slices.Index(ds, harmony.Degree{Number: 5, Alter: 1}); i >= 0 && slices.Contains(ds, harmony.Degree{Number: 7, Alter: -1}) {
			ds[i] = harmony.Degree{Number: 13, Alter: -1}
		}
	}
	var heard [12]bool
	for _, d := range ds {
		switch {
		case d == harmony.Degree{Number: 7, Alter: -2} && slices.Contains(ds, harmony.Degree{Number: 7}): // beside a 7, its 6
			d = harmony.Degree{Number: 6}
		case d == harmony.Degree{Number: 11} && !has(3, false) && !has(4, false): // in the place of a third
			d.Number = 4
		case d.Alter == 0 && (d.Number == 5 || d.Number == 9) && has(d.Number, true):
			continue
		case d.Number == 2 && has(3, false), d.Number == 4 && has(3, false) && (has(7, false) || d.Alter != 0), d.Number == 6 && has(7, false):
			d.Number += 7
		}
		class := (d.Semitones() + 12) % 12
		if !heard[class] {
			heard[class] = true
			out = append(out, d)
		}
	}
	return out
}

func withFifth(ds []harmony.Degree) []harmony.Degree {
	if slices.ContainsFunc(ds, func(d harmony.Degree) bool { return d.Number == 5 }) {
		return ds
	}
	return append(slices.Clone(ds), harmony.Degree{Number: 5})
}

// inverted are the degrees that lie lowest in the first inversion and the next, each with
// what stands in for it.
var inverted = [][]int8{{3, 4, 2, 11}, {5, 6}, {7, 6}}

// invert writes an inversion as a slash bass.
func invert(c harmony.Chord, n int, losses []string) (harmony.Chord, []string) {
	if n <= len(inverted) {
		for _, number := range inverted[n-1] {
			i := slices.IndexFunc(c.Degrees, func(d harmony.Degree) bool { return d.Number == number })
			if i < 0 {
				continue
			}
			if s, err := harmony.ParseChord(c.Symbol + "/" + c.Degrees[i].Of(c.Root).String()); err == nil {
				return s, losses
			}
		}
	}
	return c, append(losses, fmt.Sprintf("inversion %d of %s is left out", n, c))
}

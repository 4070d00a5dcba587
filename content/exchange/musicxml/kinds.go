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
		d := difference(row.Degrees, c.Degrees)
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
		n, alter := int8(e.Value.Value), int8(number(e.Alter))
		i := slices.IndexFunc(out, func(d harmony.Degree) bool { return d.Number == n })
		switch {
		case e.Type == "subtract" && i >= 0:
			out = slices.Delete(out, i, i+1)
		case e.Type == "alter" && i >= 0:
			out[i].Alter += alter
		case e.Type == "add" || e.Type == "alter":
			out = append(out, harmony.Degree{Number: n, Alter: alter + dominant(n)})
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

// readHarmony reads a harmony element's chord. The losses say what of it the
// chord does not hold; ok is false where there is no chord to read.
func readHarmony(h *harmonyElement) (c harmony.Chord, losses []string, ok bool) {
	if len(h.Kinds) == 0 {
		return c, []string{"a harmony without a kind is left out"}, false
	}
	kind := strings.TrimSpace(h.Kinds[0].Value)
	text := ""
	if h.Kinds[0].Text != nil {
		text = *h.Kinds[0].Text
		for _, d := range h.Degrees {
			if d.Value.Text != nil {
				text += *d.Value.Text
			}
		}
		text = strings.TrimSpace(text)
	}
	if len(h.Kinds) > 1 {
		losses = append(losses, "a chord upon a chord: the first alone is kept")
	}
	if kind == "none" {
		c := harmony.Chord{Symbol: "N.C.", None: true}
		if n, err := harmony.ParseChord(text); err == nil && n.None {
			c.Symbol = n.Symbol
		}
		return c, losses, true
	}
	if len(h.Roots) == 0 {
		return c, append(losses, "a harmony named by its function is left out: a chord symbol needs a root"), false
	}
	rootNote, rootText, good := readStep(h.Roots[0].Step, h.Roots[0].Alter)
	if !good {
		return c, append(losses, fmt.Sprintf("a chord on the root %q is left out", h.Roots[0].Step.Step)), false
	}
	slash := ""
	if h.Bass != nil {
		bassNote, bassText, good := readStep(h.Bass.Step, h.Bass.Alter)
		if good && (bassNote != rootNote || h.Bass.Step.Text != "" || len(h.Degrees) == 0 && text != "") {
			slash = "/" + bassText
		}
	}
	row, known := rowOf(kind)
	want, exact := harmony.QualityOf(apply(row.Degrees, h.Degrees))
	// The symbol as its writer set it, where it says the same.
	c, err := harmony.ParseChord(rootText + text + slash)
	set := err == nil && !c.None && c.Root == rootNote && (known && exact && c.Quality() == want || !known && text != "")
	if !set && !known {
		return c, append(losses, fmt.Sprintf("a chord of the kind %q on %s is left out", kind, rootNote)), false
	}
	if !set {
		name := row.Name
		if exact {
			name = want.Name()
		}
		if c, err = harmony.ParseChord(rootText + name + slash); err != nil {
			return c, append(losses, fmt.Sprintf("a chord of the kind %q on %s is left out", kind, rootNote)), false
		}
		if !exact {
			losses = append(losses, fmt.Sprintf("%s is kept without its changed degrees", c))
		}
	}
	if h.Inversion > 0 && h.Bass == nil {
		c, losses = invert(c, h.Inversion, losses)
	}
	return c, losses, true
}

// invert writes an inversion as a slash bass.
func invert(c harmony.Chord, n int, losses []string) (harmony.Chord, []string) {
	if n < len(c.Degrees) {
		if s, err := harmony.ParseChord(c.Symbol + "/" + c.Degrees[n].Of(c.Root).String()); err == nil {
			return s, losses
		}
	}
	return c, append(losses, fmt.Sprintf("inversion %d of %s is left out", n, c))
}

// readStep reads a root or bass: its letter and alteration, and its text as the
// writer set it where that says the same.
func readStep(s step, alter string) (harmony.Note, string, bool) {
	n, err := harmony.ParseNote(strings.TrimSpace(s.Step))
	if err != nil || n.Alter != 0 {
		return n, "", false
	}
	n.Alter = int8(number(alter))
	if n.Alter < -2 || n.Alter > 2 {
		return n, "", false
	}
	if t, err := harmony.ParseNote(strings.TrimSpace(s.Text)); s.Text != "" && err == nil && t == n {
		return n, strings.TrimSpace(s.Text), true
	}
	return n, n.String(), true
}

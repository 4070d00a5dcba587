package musicxml

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// kinds are the chord kinds of MusicXML 4.0 (kind-value in its schema) that are
// chords by their interval content, with the suffix a chord symbol has for each.
// Those that name a function instead (Neapolitan, Italian, French, German,
// pedal, Tristan) are not among them.
var kinds = []struct{ kind, suffix string }{
	{"major", ""},
	{"minor", "m"},
	{"augmented", "aug"},
	{"diminished", "dim"},
	{"dominant", "7"},
	{"major-seventh", "maj7"},
	{"minor-seventh", "m7"},
	{"diminished-seventh", "dim7"},
	{"augmented-seventh", "aug7"},
	{"half-diminished", "m7b5"},
	{"major-minor", "m(maj7)"},
	{"major-sixth", "6"},
	{"minor-sixth", "m6"},
	{"dominant-ninth", "9"},
	{"major-ninth", "maj9"},
	{"minor-ninth", "m9"},
	{"dominant-11th", "11"},
	{"major-11th", "maj11"},
	{"minor-11th", "m11"},
	{"dominant-13th", "13"},
	{"major-13th", "maj13"},
	{"minor-13th", "m13"},
	{"suspended-second", "sus2"},
	{"suspended-fourth", "sus4"},
	{"power", "5"},
}

// kindDegrees are the degrees of each kind, as the chord symbol of its suffix
// has them.
var kindDegrees = func() map[string][]harmony.Degree {
	m := map[string][]harmony.Degree{}
	for _, k := range kinds {
		c, err := harmony.ParseChord("C" + k.suffix)
		if err != nil {
			panic(fmt.Sprintf("kind %s: %v", k.kind, err)) // a test reads them all
		}
		m[k.kind] = c.Degrees
	}
	return m
}()

func suffixOf(kind string) (string, bool) {
	for _, k := range kinds {
		if k.kind == kind {
			return k.suffix, true
		}
	}
	return "", false
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
	for _, k := range kinds {
		d := difference(kindDegrees[k.kind], c.Degrees)
		if kind == "" || len(d) < len(best) {
			best, kind = d, k.kind
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
			out = append(out, degreeElement{Value: int(d.Number), Alter: strconv.Itoa(int(d.Alter - from[i].Alter)), Type: "alter"})
			continue
		}
		out = append(out, degreeElement{Value: int(d.Number), Alter: strconv.Itoa(int(d.Alter - dominant(d.Number))), Type: "add"})
	}
	for i, f := range from {
		if !used[i] {
			out = append(out, degreeElement{Value: int(f.Number), Alter: "0", Type: "subtract"})
		}
	}
	return out
}

// apply turns a kind's degrees into the chord that its degree elements make of
// it, low to high.
func apply(from []harmony.Degree, elements []degreeElement) []harmony.Degree {
	out := slices.Clone(from)
	for _, e := range elements {
		n, alter := int8(e.Value), int8(number(e.Alter))
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

// sameDegrees compares chords as sets.
func sameDegrees(a, b []harmony.Degree) bool {
	if len(a) != len(b) {
		return false
	}
	for _, d := range a {
		if !slices.Contains(b, d) {
			return false
		}
	}
	return true
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
	h.Kinds = []kindElement{{Text: &suffix, Value: kind}}
	for _, d := range degrees {
		d.Print = "no"
		h.Degrees = append(h.Degrees, d)
	}
	if bassText != "" {
		h.Bass = &bass{Step: step{Step: c.Bass.Letter.String()}, Alter: alterText(c.Bass.Alter)}
		if bassText != c.Bass.String() {
			h.Bass.Step.Text = bassText
		}
	}
	return h
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
		text = strings.TrimSpace(*h.Kinds[0].Text)
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
	suffix, known := suffixOf(kind)
	var want []harmony.Degree
	if known {
		want = apply(kindDegrees[kind], h.Degrees)
	}
	// The symbol as its writer set it, where it says the same.
	c, err := harmony.ParseChord(rootText + text + slash)
	set := err == nil && !c.None && c.Root == rootNote && (known && sameDegrees(c.Degrees, want) || !known && text != "")
	if !set && !known {
		return c, append(losses, fmt.Sprintf("a chord of the kind %q on %s is left out", kind, rootNote)), false
	}
	if !set {
		exact, found := compose(want)
		if !found {
			exact = suffix
		}
		if c, err = harmony.ParseChord(rootText + exact + slash); err != nil {
			return c, append(losses, fmt.Sprintf("a chord of the kind %q on %s is left out", kind, rootNote)), false
		}
		if !found {
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

// suffixes are what a symbol may be built on: the kinds', and those that charts
// use besides. Common practice, no source.
var suffixes = func() []struct {
	text    string
	degrees []harmony.Degree
} {
	var out []struct {
		text    string
		degrees []harmony.Degree
	}
	texts := []string{"7sus4", "9sus4", "13sus4", "7sus2", "6/9", "m6/9", "add9", "m(add9)", "maj7#5", "m(maj9)", "dim(maj7)"}
	for _, k := range kinds {
		texts = append(texts, k.suffix)
	}
	for _, text := range texts {
		c, err := harmony.ParseChord("C" + text)
		if err != nil {
			panic(fmt.Sprintf("suffix %s: %v", text, err)) // a test reads them all
		}
		out = append(out, struct {
			text    string
			degrees []harmony.Degree
		}{text, c.Degrees})
	}
	return out
}()

// compose finds the shortest symbol suffix whose chord has the given degrees.
func compose(want []harmony.Degree) (string, bool) {
	best, found := "", false
	for _, base := range suffixes {
		text := base.text + changesText(difference(base.degrees, want), base.degrees)
		if found && len(text) >= len(best) {
			continue
		}
		if c, err := harmony.ParseChord("C" + text); err == nil && sameDegrees(c.Degrees, want) {
			best, found = text, true
		}
	}
	return best, found
}

// changesText writes degree elements as a chord symbol has them: "(b5,#9)",
// "add9", "no3".
func changesText(elements []degreeElement, from []harmony.Degree) string {
	var in []string
	plain := ""
	for _, e := range elements {
		if e.Type == "subtract" {
			plain += fmt.Sprintf("no%d", e.Value)
			continue
		}
		d := harmony.Degree{Number: int8(e.Value), Alter: int8(number(e.Alter))}
		if e.Type == "add" {
			d.Alter += dominant(d.Number)
		} else if i := slices.IndexFunc(from, func(f harmony.Degree) bool { return f.Number == d.Number }); i >= 0 {
			d.Alter += from[i].Alter
		}
		if d.Alter == 0 {
			plain += "add" + d.String()
			continue
		}
		in = append(in, d.String())
	}
	if len(in) == 0 {
		return plain
	}
	return "(" + strings.Join(in, ",") + ")" + plain
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

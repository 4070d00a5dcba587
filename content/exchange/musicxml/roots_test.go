package musicxml

import (
	"strings"
	"testing"

	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// chordsRead returns the chords row of a document of one part, and its losses.
func chordsRead(t *testing.T, measures string) (row, losses string) {
	t.Helper()
	return chordsOf(t, document(measures))
}

func chordsOf(t *testing.T, text string) (row, losses string) {
	t.Helper()
	tn, lost, err := Read([]byte(text), low, high)
	require.NoError(t, err)
	for _, l := range lost {
		losses += l.String() + "\n"
	}
	for line := range strings.Lines(tune.Write(tn)) {
		if rest, ok := strings.CutPrefix(line, "chords |"); ok {
			row += strings.Join(strings.Fields(strings.ReplaceAll(rest, "|", " ")), " ") + " "
		}
	}
	return strings.TrimSpace(row), losses
}

// What a numeral or a function stands for is a step of the key, natural minor's where a
// minor mode is named without more (MusicXML 4.0, numeral-root, numeral-key and
// numeral-mode); the spelling is that of the step's letter.
func TestRootsByStep(t *testing.T) {
	numeral := func(root, more string) string {
		return "<numeral><numeral-root>" + root + "</numeral-root>" + more + "</numeral>"
	}
	key := func(fifths, mode string) string {
		return "<numeral-key><numeral-fifths>" + fifths + "</numeral-fifths><numeral-mode>" + mode + "</numeral-mode></numeral-key>"
	}
	lower := "<numeral-alter>-1</numeral-alter>"
	for _, c := range []struct{ fifths, mode, head, want string }{
		{"-2", "major", numeral("5", ""), "F7"},
		{"-2", "major", numeral("7", lower), "Ab7"},
		{"-3", "minor", numeral("7", ""), "Bb7"},
		{"-3", "minor", numeral("7", key("-3", "harmonic minor")), "B7"},
		{"-3", "minor", numeral("6", key("-3", "melodic minor")), "A7"},
		{"0", "major", numeral("6", key("-3", "natural minor")), "Ab7"},
		{"0", "major", numeral("5", "") + "<kind>dominant</kind>" + numeral("2", ""), "A7"}, // V of II
		{"-6", "major", numeral("2", lower), "G7"},                                          // not Abb7
		{"1", "major", "<function>V</function>", "D7"},
		{"1", "major", "<function>bVII</function>", "F7"},
		{"1", "minor", "<function>♯iv°</function>", "A#7"},
	} {
		attributes := "<attributes><divisions>2</divisions><key><fifths>" + c.fifths + "</fifths><mode>" + c.mode + "</mode></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
		row, losses := chordsRead(t, "<measure>"+attributes+"<harmony>"+c.head+"<kind>dominant</kind></harmony>"+rest8+"</measure>")
		assert.Equal(t, c.want, row, c.head)
		assert.NotContains(t, losses, "chord", c.head)
	}
	row, losses := chordsRead(t, "<measure>"+start(4, 4, "")+h("C", "major")+rest8+"</measure><measure><harmony><function>V/ii</function><kind>major</kind></harmony>"+rest8+"</measure>")
	assert.Equal(t, "C %", row)
	assert.Contains(t, losses, "bar 2: a harmony named by its function is left out")
}

// use-symbols puts a sign before the text (MusicXML 4.0, kind), and "other" is composed of
// what is added; what would be taken for the root's accidental is none.
func TestSuffixes(t *testing.T) {
	added := func(value, alter string) string {
		return "<degree><degree-value>" + value + "</degree-value><degree-alter>" + alter + "</degree-alter><degree-type>add</degree-type></degree>"
	}
	altered := strings.Replace(added("5", "-1"), "add", "alter", 1)
	for kind, want := range map[string]string{
		`<kind use-symbols="yes" text="7">major-seventh</kind>`:                       "AΔ7",
		`<kind use-symbols="yes" text="9">minor-ninth</kind>`:                         "A-9",
		`<kind use-symbols="yes">major-ninth</kind>`:                                  "Amaj9",
		`<kind use-symbols="yes">major</kind>`:                                        "A",
		`<kind use-symbols="yes" text="7">half-diminished</kind>`:                     "Aø7",
		`<kind>other</kind>` + added("3", "-1") + added("5", "-1") + added("7", "-1"): "Adim7",
		`<kind>other</kind>` + added("4", "0") + added("5", "0") + added("7", "0"):    "A7sus4",
		`<kind>major</kind>` + altered:                                                "A(b5)",
		`<kind text="7">dominant</kind>` + altered:                                    "A7b5",
		`<kind>minor</kind><inversion>1</inversion>`:                                  "Am/C",
		`<kind>suspended-fourth</kind><inversion>1</inversion>`:                       "Asus4/D",
		`<kind>major-sixth</kind><inversion>3</inversion>`:                            "A6/F#",
		`<kind>diminished-seventh</kind>` + added("7", "1"):                           "Adim7(maj7)",
	} {
		row, losses := chordsRead(t, "<measure>"+start(4, 4, "")+"<harmony><root><root-step>A</root-step></root>"+kind+"</harmony>"+rest8+"</measure>")
		got, want := chord(t, row), chord(t, want)
		assert.Equal(t, want.Identity(), got.Identity(), "%s read as %s", kind, row)
		assert.NotContains(t, losses, "symbol", kind)
	}
}

// Parts that only add to one another's symbols are taken together; one that says
// something else is left out and told. An alternate analysis is no chord of its own.
func TestSymbolsOfSeveralParts(t *testing.T) {
	bar := func(symbols string) string { return "<measure>" + symbols + rest8 + "</measure>" }
	two := func(second, third string) string {
		first := "<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure>" + bar(h("F", "major")) + bar("") + bar("")
		return strings.Replace(document(first), "</part>", "</part><part id=\"P2\">"+bar(second)+bar("")+bar(third)+bar("")+"</part>", 1)
	}
	row, losses := chordsOf(t, two("", h("G", "dominant")))
	assert.Equal(t, "C F G7 %", row)
	assert.NotContains(t, losses, "symbols left out")
	row, losses = chordsOf(t, two(h("C", "major"), h("G", "dominant")))
	assert.Equal(t, "C F G7 %", row)
	assert.NotContains(t, losses, "symbols left out")
	row, losses = chordsOf(t, two(h("D", "major"), h("A", "dominant")))
	assert.Equal(t, "C F % %", row)
	assert.Contains(t, losses, "2 chord symbols left out")

	other := strings.Replace(h("A", "minor"), "<harmony", `<harmony type="alternate"`, 1)
	row, losses = chordsRead(t, "<measure>"+start(4, 4, "")+other+h("C", "major")+rest8+"</measure>")
	assert.Equal(t, "C", row)
	assert.Contains(t, losses, "1 × alternate harmony left out")
}

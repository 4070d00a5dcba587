package musicxml

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"footfall/content"
	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"
)

// document puts measures into a score with one part.
func document(measures string) string {
	return `<?xml version="1.0"?><score-partwise version="4.0"><movement-title>T</movement-title>` +
		`<part-list><score-part id="P1"><part-name>Bass</part-name></score-part></part-list><part id="P1">` + measures + `</part></score-partwise>`
}

// start is the attributes of a first measure.
func start(beats, kind int, more string) string {
	return fmt.Sprintf(`<attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>%d</beats><beat-type>%d</beat-type></time>%s</attributes><sound tempo="100"/>`, beats, kind, more)
}

// n is a note: its step and octave, and its length in halves of a quarter.
func n(pitch string, halves int) string {
	return fmt.Sprintf(`<note><pitch><step>%c</step><octave>%c</octave></pitch><duration>%d</duration></note>`, pitch[0], pitch[1], halves)
}

func h(root, kind string) string {
	return `<harmony><root><root-step>` + root + `</root-step></root><kind>` + kind + `</kind></harmony>`
}

// above is a text above the staff.
func above(words string) string {
	return `<direction><direction-type><words>` + words + `</words></direction-type></direction>`
}

const rest8 = `<note><rest/><duration>8</duration></note>`

// TestRead has documents of one feature each, and what must stand in the tune's
// text and among the losses.
func TestRead(t *testing.T) {
	for name, c := range map[string]struct {
		document, text, loss string
	}{
		"notes and rests": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 2) + n("E3", 1) + n("G3", 1) + `<note><rest/><duration>2</duration></note>` + n("G2", 2) + "</measure>"),
			`bass   | 1 3,5 . \5 |`, "",
		},
		"ties over the bar line": {
			document("<measure>" + start(2, 4, "") + h("C", "major") + n("C3", 2) + strings.Replace(n("E3", 2), "<duration>", `<duration>`, 1) + "</measure><measure>" +
				`<note><pitch><step>E</step><octave>3</octave></pitch><duration>2</duration><tie type="stop"/></note>` + n("C3", 2) + "</measure>"),
			`bass   | 1 3 | - 1 |`, "",
		},
		"a change within the bar, by offset and by place": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + strings.Replace(h("G", "dominant"), "</harmony>", "<offset>4</offset></harmony>", 1) + rest8 + "</measure>" +
				"<measure>" + `<note><rest/><duration>4</duration></note>` + h("F", "major") + `<note><rest/><duration>4</duration></note>` + "</measure>"),
			"chords | C G7 | . F |", "",
		},
		"three chords that share the bar unevenly": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 3) + h("F", "major") + n("F3", 1) + h("G", "major") + n("G3", 4) + "</measure>"),
			"chords | C . . F G . . . |", "",
		},
		"a chord on a sixteenth": {
			document("<measure>" + strings.Replace(start(4, 4, ""), "<divisions>2", "<divisions>4", 1) + h("C", "major") +
				strings.Replace(h("F", "major"), "</harmony>", "<offset>3</offset></harmony>", 1) + `<note><rest/><duration>16</duration></note>` + "</measure>"),
			"chords | C . F . . . . . |", "unevenly",
		},
		"2/2 is 4/4": {document("<measure>" + start(2, 2, "") + h("C", "major") + rest8 + "</measure>"), "meter  4/4", ""},
		"5/8 is 5/4 doubled": {
			document("<measure>" + start(5, 8, "") + h("C", "major") + n("C3", 1) + n("E3", 1) + n("G3", 1) + n("E3", 1) + n("G2", 1) + "</measure>"),
			"bass   | 1 3 5 3 \\5 |", "meter 5/8 is read as 5/4",
		},
		"another length of measure": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure><measure>" + h("F", "major") + n("F3", 2) + "</measure><measure>" + h("C", "major") + rest8 + "</measure>"),
			"chords | C       | F", "a measure 1 quarter notes long",
		},
		"two measures that fill one bar": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure><measure>" + h("F", "major") + n("F2", 6) + "</measure><measure>" + h("G", "major") + n("G2", 2) + "</measure>"),
			"chords | C       | F . . G |", "",
		},
		"a pickup that holds bass": {
			document(`<measure implicit="yes">` + start(4, 4, "") + h("C", "major") + n("G2", 2) + "</measure><measure>" + h("C", "major") + n("C3", 8) + "</measure>"),
			"bass   | . . . 5    | 1 - - - |", "",
		},
		"the lowest of notes together": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 8) + `<note><chord/><pitch><step>E</step><octave>3</octave></pitch><duration>8</duration></note></measure>`),
			"bass   | 1 - - - |", "1 bass notes sound with a lower one, first in bar 1",
		},
		"three notes on a beat": {
			document("<measure>" + strings.Replace(start(4, 4, ""), "<divisions>2", "<divisions>6", 1) + h("C", "major") +
				n("C3", 2) + n("E3", 2) + n("G3", 2) + n("C3", 9) + n("C3", 9) + "</measure>"),
			`bass   | 1,3 1 -,1 - |`, "share a half beat with another",
		},
		"a transposing part": {
			document("<measure>" + start(4, 4, `<transpose><chromatic>-2</chromatic></transpose>`) + h("C", "major") + n("C3", 8) + "</measure>"),
			"key    Bb", "",
		},
		"... whose chords move": {
			document("<measure>" + start(4, 4, `<transpose><chromatic>-2</chromatic></transpose>`) + h("C", "major") + n("C3", 8) + "</measure>"),
			"chords | Bb", "",
		},
		"a part an octave down": {
			document("<measure>" + start(4, 4, `<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>`) + h("C", "major") + n("C4", 8) + "</measure>"),
			"bass   | 1 - - - |", "",
		},
		"a bass that climbs out of the range is folded": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 2) + n("G3", 2) + n("C4", 2) + n("E4", 2) + "</measure>"),
			`bass   | 1 /5 1 \3 |`, "in another octave, to stay on the bass strings: 1",
		},
		"a frame": {
			document("<measure>" + start(4, 4, "") + `<harmony><root><root-step>C</root-step></root><kind>major</kind><frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>` +
				`<frame-note><string>5</string><fret>3</fret></frame-note><frame-note><string>4</string><fret>2</fret></frame-note></frame></harmony>` + rest8 + "</measure>"),
			"shapes | x-3-2-x-x-x . . . |", "",
		},
		"key and tempo that change": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + `</measure><measure><attributes><key><fifths>2</fifths></key></attributes><sound tempo="140"/>` + rest8 + "</measure>"),
			"tempo  100", "the tempo changes at measure 2",
		},
		"a swing": {document("<measure>" + start(4, 4, "") + `<sound><swing><first>2</first><second>1</second></swing></sound>` + h("C", "major") + rest8 + "</measure>"), "swing  2:1", ""},
		"timewise": {
			`<score-timewise><part-list><score-part id="P1"><part-name>Bass</part-name></score-part></part-list><measure number="1"><part id="P1">` +
				start(4, 4, "") + h("C", "major") + n("C3", 8) + `</part></measure></score-timewise>`,
			"bass   | 1 - - - |", "",
		},
		"8/8 is 4/4":   {document("<measure>" + start(8, 8, "") + h("C", "major") + rest8 + "</measure>"), "meter  4/4", ""},
		"12/16 is 6/8": {document("<measure>" + start(12, 16, "") + h("C", "major") + `<note><rest/><duration>6</duration></note></measure>`), "meter  6/8", ""},
		"4/2 is 4/4":   {document("<measure>" + start(4, 2, "") + h("C", "major") + `<note><rest/><duration>16</duration></note></measure>`), "meter  4/4", "times 0.5"},
		"a bar of another meter": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure><measure>" + `<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>` +
				h("F", "major") + `<note><rest/><duration>6</duration></note></measure>`),
			"[B]\nmeter  3/4\nchords | F |", "",
		},
		"a bar too short for any meter": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure><measure>" + `<attributes><time><beats>3</beats><beat-type>8</beat-type></time></attributes>` +
				h("F", "major") + `<note><rest/><duration>3</duration></note></measure>`),
			"[B]\nmeter  2/4\nchords | F |", "bars of 3/8 are put in bars of 2/4",
		},
		"swing and tempo in words": {
			strings.Replace(document("<measure>"+start(4, 4, "")+above("Medium Swing (♩ = 132)")+h("C", "major")+rest8+"</measure>"), `<sound tempo="100"/>`, "", 1),
			"tempo  132\nswing  2:1\n\n[A]\nchords | C |\n", "",
		},
		"a cue that names a swing": {
			document("<measure>" + start(4, 4, "") + above("swing it like a gate") + h("C", "major") + rest8 + "</measure>"), "words  | swing it like a gate |", "",
		},
		"D.C. al Fine in words": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + above("Fine") + rest8 + "</measure><measure>" + h("F", "major") + rest8 + above("D.C. al Fine") + "</measure>"),
			"[A]\nchords | C | F |\n\n[B]\nchords | C |\n", "",
		},
		"D.S. al Coda in words": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure><measure>" + above("Segno") + h("F", "major") + rest8 + above("To Coda") + "</measure>" +
				"<measure>" + h("G", "major") + rest8 + above("D.S. al Coda") + "</measure><measure>" + above("Coda") + h("A", "minor") + rest8 + "</measure>"),
			"form   A B C B D", "names no mode",
		},
		"D.S. without a segno": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + above("dal segno") + "</measure>"), "form   A A\n\n[A]\nchords | C |\n", "D.S. at measure 1: there is no segno",
		},
		"a key without a mode": {
			document("<measure>" + start(4, 4, "") + h("D", "minor") + rest8 + "</measure><measure>" + h("E", "dominant") + rest8 + "</measure><measure>" + h("A", "minor") + rest8 + "</measure>"),
			"key    Am", "the key names no mode: Am fits the chords better than C",
		},
		"another mode": {
			strings.Replace(document("<measure>"+start(4, 4, "")+h("D", "minor")+rest8+"</measure>"), "</fifths>", "</fifths><mode>dorian</mode>", 1), "key    Dm", "dorian is read as Dm",
		},
		"words, dynamics, lyrics": {
			document("<measure>" + start(4, 4, "") + h("C", "major") + `<direction><direction-type><words>slowly</words></direction-type></direction>` +
				`<direction><direction-type><dynamics><p/></dynamics></direction-type></direction>` +
				strings.Replace(n("C3", 8), "</note>", `<lyric><text>la</text></lyric></note>`, 1) + "</measure>"),
			"words  | slowly", "1 × dynamics left out",
		},
	} {
		t.Run(name, func(t *testing.T) {
			tn, losses, err := Read([]byte(c.document), low, high)
			require.NoError(t, err)
			assert.Contains(t, tune.Write(tn), c.text)
			var all []string
			for _, l := range losses {
				all = append(all, l.String())
			}
			if c.loss == "" {
				assert.Empty(t, all)
			} else {
				assert.Contains(t, strings.Join(all, "\n"), c.loss)
			}
			_, faults := tune.Check(tune.Write(tn), tune.Within(low, high))
			assert.Empty(t, faults)
		})
	}
}

// Notes without chord symbols are no tune by themselves; under another tune's chords
// they are its bass.
func TestNotesWithoutChords(t *testing.T) {
	for _, measure := range []string{n("C3", 8), `<harmony><function>Ger</function><kind>German</kind></harmony>` + rest8} {
		_, _, err := Read([]byte(document("<measure>"+start(4, 4, "")+measure+"</measure>")), low, high)
		assert.ErrorIs(t, err, transcribe.ErrNoChords)
	}
	chords, faults := tune.Read("tune T\nkey F\nmeter 4/4\ntempo 90\n[A]\nchords | Am7 | F |\n")
	require.Empty(t, faults)
	tn, losses, err := ReadOver([]byte(document("<measure>"+start(4, 4, "")+n("C3", 8)+"</measure>")), Chords{Of: chords}, low, high)
	require.NoError(t, err)
	assert.Contains(t, tune.Write(tn), "chords | Am7")
	assert.Contains(t, tune.Write(tn), "bass   | b3")
	require.NotEmpty(t, losses)
	assert.Contains(t, losses[0].What, "the file has 1 bars and a pass of T 2")
}

// tab is a note with its string and fret: its step and octave, its length in halves of a
// quarter.
func tab(pitch string, halves, str, fret int, more string) string {
	return strings.Replace(n(pitch, halves), "</duration>", fmt.Sprintf("</duration>%s<notations><technical><string>%d</string><fret>%d</fret></technical></notations>", more, str, fret), 1)
}

// A guitarist's own part is line and shapes both: the lowest of what sounds at once is
// the line where it lies on the two low strings, the rest is struck above it, in the
// rhythm of the part, and the shape is what the hand holds, line and all.
func TestGuitaristsPart(t *testing.T) {
	over := func(note string) string { return strings.Replace(note, "<note>", "<note><chord/>", 1) }
	measure := "<measure>" + start(4, 4, "") + h("C", "major") +
		tab("C3", 2, 5, 3, "") + over(tab("E3", 2, 4, 2, "")) + over(tab("C4", 2, 2, 1, "")) + // on 1, a beat
		tab("G2", 2, 6, 3, "") +
		tab("C3", 4, 5, 3, "") + over(tab("G3", 4, 3, 0, "")) + over(tab("C4", 4, 2, 1, "")) + // on 3, held
		"</measure>"
	text := strings.Replace(document(measure), "<part-name>Bass", "<part-name>Guitar", 1)
	tn, losses, err := Read([]byte(text), low, high)
	require.NoError(t, err)
	assert.Empty(t, losses)
	for _, row := range []string{`bass   | 1 5 1 -`, "hits   | on . on- .", "shapes | x-3-2-x-1-x . x-3-x-0-1-x . |"} {
		assert.Contains(t, tune.Write(tn), row)
	}
	// In another tuning the frets say nothing here.
	capo := strings.Replace(text, "</time>", "</time><staff-details><capo>2</capo></staff-details>", 1)
	tn, losses, err = Read([]byte(capo), low, high)
	require.NoError(t, err)
	require.Len(t, losses, 1)
	assert.Contains(t, losses[0].What, "capo")
	assert.NotContains(t, tune.Write(tn), "x-3-2")
}

// Where there are no symbols chords are proposed when that is asked for: each says what
// would do as well. The notes are arpeggios, and those of one bar of two chords.
func TestProposedChords(t *testing.T) {
	measures := "<measure>" + start(4, 4, "") + n("C3", 2) + n("E3", 2) + n("G3", 2) + n("C4", 2) + "</measure><measure>" +
		n("D3", 2) + n("F3", 2) + n("A3", 2) + n("C4", 2) + "</measure><measure>" +
		n("G2", 1) + n("B2", 1) + n("D3", 1) + n("F3", 1) + n("C3", 1) + n("E3", 1) + n("G3", 1) + n("C4", 1) + "</measure>"
	tn, losses, err := ReadOver([]byte(document(measures)), Chords{Proposed: true}, low, high)
	require.NoError(t, err)
	assert.Contains(t, tune.Write(tn), "chords | C       | Dm7        | G7 C ")
	doubts := 0
	for _, l := range losses {
		if l.Doubt {
			doubts++
			assert.Contains(t, l.What, "is proposed from the notes")
		}
	}
	assert.Equal(t, 3, doubts)
	_, _, err = ReadOver([]byte(document("<measure>"+start(4, 4, "")+rest8+"</measure>")), Chords{Proposed: true}, low, high)
	assert.ErrorIs(t, err, transcribe.ErrNoChords, "from nothing nothing is proposed")
}

// The title is the document's, else its largest credit; what programs call a piece
// without one is none.
func TestTitles(t *testing.T) {
	measure := "<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure>"
	credits := `<credit page="1"><credit-words font-size="10">1</credit-words></credit><credit page="1"><credit-words font-size="12">trad.</credit-words></credit>` +
		`<credit page="1"><credit-words font-size="24">Gate</credit-words><credit-words font-size="24">Post</credit-words></credit>`
	for text, want := range map[string]string{
		document(measure): "T",
		strings.Replace(document(measure), "<movement-title>T</movement-title>", credits, 1):                                     "Gate Post",
		strings.Replace(document(measure), "<movement-title>T</movement-title>", "<movement-title>Untitled</movement-title>", 1): transcribe.Untitled,
	} {
		tn, _, err := Read([]byte(text), low, high)
		require.NoError(t, err)
		assert.Equal(t, want, tn.Title)
	}
}

func TestEncodings(t *testing.T) {
	plain := document("<measure>" + start(4, 4, "") + h("C", "major") + rest8 + "</measure>")
	plain = strings.Replace(plain, "<movement-title>T", "<movement-title>Über", 1)
	utf16, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(strings.Replace(plain, `"1.0"`, `"1.0" encoding="UTF-16"`, 1))
	require.NoError(t, err)
	latin1 := strings.ReplaceAll(strings.Replace(plain, `"1.0"`, `"1.0" encoding="ISO-8859-1"`, 1), "Ü", "\xdc")
	for name, text := range map[string]string{"UTF-8": plain, "with a mark": "\ufeff" + plain, "UTF-16": utf16, "Latin-1": latin1} {
		tn, _, err := Read([]byte(text), low, high)
		require.NoError(t, err, name)
		assert.Equal(t, "Über", tn.Title, name)
	}
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	for text, want := range map[string]string{
		"":                                  "no MusicXML in the file",
		"<html></html>":                     `a "html"; give MusicXML`,
		"<score-partwise>":                  "the XML cannot be read",
		"<score-partwise></score-partwise>": "no measures",
		"PK\x03\x04 not a zip":              "cannot be unpacked",
		document("<measure>" + start(11, 4, "") + "</measure>"):                                          "the meter 11/4 is none that a tune takes",
		document(strings.Repeat("<measure/>", maxMeasures+1)):                                            "20001 measures; at most",
		"<score-partwise>" + strings.Repeat("<part><measure/></part>", maxParts+1) + "</score-partwise>": "has 501 parts",
		`<?xml version="1.0" encoding="martian"?><score-partwise/>`:                                      `the text is in "martian"`,
	} {
		_, _, err := Read([]byte(text), low, high)
		assert.ErrorContains(t, err, want)
	}
}

// zipped packs files, in the order of their names and contents.
func zipped(t *testing.T, files ...string) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		require.NoError(t, err)
		_, err = io.WriteString(w, files[i+1])
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return out.Bytes()
}

const container = `<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>`

// FuzzRead feeds any bytes to the reader. It must give an error, or a tune whose
// text reads back.
func FuzzRead(f *testing.F) {
	tn, _ := content.Tune("short-ladder")
	written, err := Write(tn, Options{Range: tune.Within(low, high)})
	require.NoError(f, err)
	packed, err := Pack(written)
	require.NoError(f, err)
	f.Add(packed)
	f.Add([]byte(document("<measure>" + start(4, 4, "") + h("C", "major") + n("C3", 2) + n("E3", 6) + "</measure>")))
	f.Add([]byte(document(`<measure>` + start(6, 8, "") + `<barline><repeat direction="forward"/></barline>` + n("C3", 2) +
		`<barline><ending number="1" type="start"/><repeat direction="backward" times="9"/></barline></measure>`)))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<13 { // what is longer says the same more slowly
			return
		}
		tn, _, err := Read(data, low, high)
		if err != nil {
			require.Nil(t, tn)
			return
		}
		text := tune.Write(tn)
		back, faults := tune.Check(text, tune.Within(low, high))
		require.Empty(t, faults, text)
		require.Equal(t, text, tune.Write(back))
	})
}

// sameFlat asks that a document is read the same with its plain elements read beforehand
// and without.
func sameFlat(t *testing.T, text []byte) {
	t.Helper()
	whole, errWhole := decodeAll(text, nil)
	short, errShort := decode(text)
	require.Equal(t, errWhole == nil, errShort == nil, "%v, %v", errWhole, errShort)
	if errWhole != nil {
		require.Equal(t, errWhole.Error(), errShort.Error())
		return
	}
	require.Len(t, short.Music, len(whole.Music))
	for i := range whole.Music {
		a, b := tally{}, tally{}
		require.Equal(t, flattenPart("", whole.Music[i], false, a), flattenPart("", short.Music[i], false, b))
		require.Equal(t, a, b)
	}
}

// What is read beforehand is read as the XML reader reads it, what is not plain is left
// to that, and a fault is told where it stands in the document.
func TestPlainElementsAreReadBeforehand(t *testing.T) {
	note := func(more string) string {
		return "<note><pitch><step>C</step><octave>3</octave></pitch><duration>8</duration>" + more + "</note>"
	}
	for what, more := range map[string]string{
		"drawn":          "<voice>1</voice><type>whole</type><dot/><stem>down</stem><beam number=\"1\">begin</beam>",
		"tied":           "<tie type='start'/><tie type=\"stop\"/><notations><tied type=\"stop\"/><slur/></notations>",
		"a string":       "<staff> 2 </staff><notations><technical><string>5</string><fret>3</fret><fingering>2</fingering><bend/></technical></notations>",
		"short":          "<notations><articulations><staccato/><tenuto/><accent/></articulations></notations>",
		"words":          "<lyric number=\"1\"><syllabic>single</syllabic><text>b7</text></lyric>",
		"a letter":       "<lyric><text>\u00e4</text></lyric>",
		"an entity":      "<lyric><text>a&amp;b</text></lyric>",
		"lines":          "\r\n  <voice>\r\n1</voice>",
		"no number":      "<staff>two</staff>",
		"a comment":      "<!-- <note/> -->",
		"two entities":   "<lyric><text>a&amp;lt;&lt;b</text></lyric>",
		"a number sign":  "<lyric><text>a&#38;b&amp;</text></lyric>",
		"an old entity":  "<lyric><text>a&nbsp;b</text></lyric>",
		"no letter":      "<lyric><text>\xff</text></lyric>",
		"a noncharacter": "<lyric><text>\ufffe</text></lyric>",
		"a greater":      "<play x=\"a>b\"/>",
		"upper case":     "<Voice>1</Voice>",
		"unclosed":       "<voice>",
		"other closed":   "<voice>1</staff>",
		"no quotes":      "<tie type=stop/>",
		"a prefix":       "<x:tie xmlns:x=\"y\" type=\"stop\"/>",
		"text":           "loose text",
		"loose entity":   "a &lt; b",
		"deep":           strings.Repeat("<a>", 30) + strings.Repeat("</a>", 30),
		"spaced tags":    "<voice >1</voice >",
		"two durations":  "<duration>2</duration>",
	} {
		t.Run(what, func(t *testing.T) {
			body := "<measure>\n  " + start(4, 4, "") + h("C", "major") + note("") + note(more) + "<backup><duration>16</duration></backup>" + note("<chord/>") +
				"<direction><direction-type><dynamics><p/></dynamics><wedge/></direction-type></direction><print new-system=\"yes\"/>" + above("low") + note(more) + "</measure>"
			sameFlat(t, []byte(document(body)))
			sameFlat(t, []byte(document("<!-- "+note("")+" -->"+body+body)))
			sameFlat(t, []byte(strings.Replace(document(body), "?>", " encoding=\"ISO-8859-1\"?>", 1)))
		})
	}
	short, read := lean([]byte(document("<measure>" + note("") + "\n" + note("") + "</measure>")))
	assert.Len(t, read, 2)
	assert.NotContains(t, string(short), "pitch")
	for _, text := range []string{"<![CDATA[x]]>", "<attributes><divisions>4</divisions><key number=\"1\"><cancel>2</cancel><fifths> -3 </fifths><mode>minor</mode></key><clef><sign>TAB</sign><line>5</line></clef></attributes>" + note(""),
		"<attributes><key><key-step>C</key-step></key><clef number=\"2\"><sign>TAB</sign></clef></attributes>", "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>" + note(""), "<harmony type=\"explicit\"><root><root-step text=\"Bb\">B</root-step><root-alter>-1</root-alter></root><kind text=\"7(b9)\" use-symbols='no'>dominant</kind><inversion>1</inversion>" +
			"<degree print-object=\"no\"><degree-value text=\"\">9</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></degree><offset sound=\"no\">1</offset><staff>1</staff></harmony>",
		"<harmony><root><root-step>B</root-step></root><kind><![CDATA[other]]></kind><bass><bass-separator>on</bass-separator><bass-step>D</bass-step><bass-alter>1</bass-alter></bass><degree/></harmony>",
		"<harmony><root><root-step>B</root-step></root><kind text=\"&#8710;7\">major-seventh</kind><inversion>one</inversion></harmony>", "<harmony><function>V</function><kind/></harmony>",
		"<harmony><root><root-step/></root><kind text=\"\"/></harmony>", "<direction><direction-type><words>a<![CDATA[ & <b> ]]>c<![CDATA[\r]]></words></direction-type></direction>",
		"<direction><direction-type><words>a<![CDATA[ & <b> ]]>c</words></direction-type></direction>", "<![CDATA[" + note("") + "]]>", "<!-- a > b " + note("") + note("") + " -->", "<!-- open",
		"<direction><direction-type><words>low &amp; <b/></words></direction-type></direction>", "<direction><direction-type><words> a &amp; b </words></direction-type><staff>1</staff><sound dynamics=\"9\"/></direction>",
		"<direction><direction-type><words>D.C.</words></direction-type><sound dacapo='yes'/></direction>", "<direction><sound tempo=\"90\"><swing><straight/></swing></sound></direction>", "<direction><sound><swing><straight/></swing></sound></direction>",
		"<read-beforehand first=\"0\" end=\"9\"/>", "<read-beforehand first=\"x\"/>"} {
		sameFlat(t, []byte(document("<measure>"+note("")+text+"</measure>")))
	}
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		_, text, err := writtenWith(tn, tune.Within(low, high))
		require.NoError(t, err)
		sameFlat(t, text)
	}
	_, err := decode([]byte("<score-partwise>\n\n<part><beam>\n</part>"))
	assert.ErrorContains(t, err, "line 4")
}

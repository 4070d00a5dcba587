package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

var update = flag.Bool("update", false, "write the golden files anew")

const small = `tune   Tea & <Toast>
key    C
meter  4/4
tempo  92
swing  2:1
form   A A

[A]
chords | Dm7            | G7 . C6 .       |
bass   | 1 /b3 - \b5    | \1 /5,b7 \1 .   |
hits   | on . and .     | * on on .       |
words  | "mind" the gap |                 |
`

func arrange(t testing.TB, text string, layer fretboard.Layer) *fretboard.Arrangement {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), layer)
	require.NoError(t, err)
	return a
}

func builtIn(t testing.TB, name string) string {
	t.Helper()
	text, ok := content.TuneText(name)
	require.True(t, ok, name)
	return text
}

func written(t testing.TB, write func(io.Writer, *fretboard.Arrangement) error, a *fretboard.Arrangement) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b, a))
	return b.String()
}

func TestHandoutGolden(t *testing.T) {
	a := arrange(t, small, fretboard.BassHalves)
	for name, write := range map[string]func(io.Writer, *fretboard.Arrangement) error{"small.html": HTML, "small.svg": SVG} {
		path := filepath.Join("testdata", name)
		got := written(t, write, a)
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), got, "%s; go test ./trainer/sheet -update writes it anew", name)
	}
}

// elements reads a document as XML and returns the names of its elements with
// their attributes, and its text.
func elements(t testing.TB, document string, strict bool) (names map[string]bool, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(document))
	if !strict {
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	}
	names = map[string]bool{}
	var b strings.Builder
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return names, b.String()
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.StartElement:
			names[x.Name.Local] = true
			for _, a := range x.Attr {
				names[x.Name.Local+" "+a.Name.Local] = true
			}
		case xml.CharData:
			b.Write(x)
		}
	}
}

func FuzzHandoutHoldsWhatPeopleWrite(f *testing.F) {
	for _, s := range []string{
		"Lamp", `</title><script>alert(1)</script>`, `" onload="x`, "<!--", "]]>", "&amp;&#0;", "a\x00b\x0b\uffff\xff", "{{.Title}}",
		"e\u0301e\u0301", strings.Repeat("W", 300), strings.Repeat("雨の夜 ", 60), "\u202eevil", "</style>", "'><svg onload=x>",
	} {
		f.Add(s, false)
		f.Add(s, true)
	}
	// One bar of bass is quick to write.
	plain := arrange(f, "tune T\nkey C\nmeter 4/4\ntempo 92\ntrains t\n[A]\nchords | C |\nbass | 1 . . . |\nwords | w |\n", fretboard.Bass)
	pageNames, _ := elements(f, written(f, HTML, plain), false)
	pictureNames, _ := elements(f, written(f, SVG, plain), true)
	for _, names := range []map[string]bool{pageNames, pictureNames} {
		names["text textLength"], names["text lengthAdjust"], names["p"] = true, true, true
	}
	f.Fuzz(func(t *testing.T, s string, asPicture bool) {
		if len(s) > 1<<10 { // what is longer says the same more slowly
			return
		}
		a, tn := *plain, *plain.Tune
		tn.Title, tn.Trains = s, s
		tn.Sections = []tune.Section{tn.Sections[0]}
		tn.Sections[0].Bars = append([]tune.Bar(nil), tn.Sections[0].Bars...)
		tn.Sections[0].Bars[0].Words = s
		a.Tune = &tn
		write, known := HTML, pageNames
		if asPicture {
			write, known = SVG, pictureNames
		}
		names, text := elements(t, written(t, write, &a), asPicture)
		for name := range names {
			assert.True(t, known[name], "an element of its own: %s", name)
		}
		want := strings.Join(strings.Fields(printable(s)), "")
		assert.Contains(t, strings.Join(strings.Fields(text), ""), want)
	})
}

func TestHandoutNeedsNothingButItself(t *testing.T) {
	for _, write := range []func(io.Writer, *fretboard.Arrangement) error{HTML, SVG} {
		got := written(t, write, arrange(t, small, fretboard.BassHalves))
		for _, outside := range []string{"src=", "href=", "url(", "@import", "<script", "<link"} {
			assert.NotContains(t, got, outside)
		}
	}
}

// Following the degrees as they are printed leads to the notes that are
// printed, in every key, where a line is folded too.
func TestPrintedDirectionsLeadToThePrintedNotes(t *testing.T) {
	for _, name := range content.TuneNames() {
		tn, faults := tune.Read(builtIn(t, name))
		require.Empty(t, faults)
		for _, root := range []string{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"} {
			key, err := harmony.ParseKey(root)
			require.NoError(t, err)
			key.Minor = tn.Key.Minor
			a, _, err := fretboard.ArrangeInKey(tn, key, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
			require.NoError(t, err)
			at := 0
			for _, b := range barsOf(a) {
				for _, e := range b.notes {
					token, err := tune.ParseBassBeat(b.bass[e.At.Half()])
					require.NoError(t, err)
					assert.Equal(t, e.Degree, token.First.Degree)
					if at != 0 {
						assert.Equal(t, e.Note.MIDI(), tune.Move(at, e.Note.Semitone(), token.First.Direction), "%s in %s, bar %d", name, key, b.number)
					}
					at = e.Note.MIDI()
				}
			}
		}
	}
}

func TestNothingOverlapsOrLeavesTheSystem(t *testing.T) {
	necks := map[string]fretboard.Neck{"right": fretboard.StandardNeck(), "left": fretboard.StandardNeck()}
	left := necks["left"]
	left.LeftHanded = true
	necks["left"] = left
	for _, name := range content.TuneNames() {
		for side, neck := range necks {
			tn, _ := tune.Read(builtIn(t, name))
			a, err := fretboard.Arrange(tn, neck, fretboard.DefaultHand(), fretboard.BassHalves)
			require.NoError(t, err)
			shapes := 0
			for _, s := range handoutOf(a).Sections {
				for _, m := range s.Systems {
					whole := m.Labels.Width + lineEnd
					for _, f := range m.Bars {
						whole += f.Width
						shapes += insideOf(t, name+" "+side, f)
					}
					assert.LessOrEqual(t, float64(whole), float64(pageWidth)+1e-6, "%s: fits the page", name)
				}
			}
			want := 0
			for _, e := range a.Events {
				if e.Kind == fretboard.ShapeEvent {
					want++
				}
			}
			assert.Equal(t, want, shapes, name)
		}
	}
}

// insideOf counts the shapes of a bar and holds them apart, and all that is drawn inside
// the bar: what stands on paper, and what wraps on a phone.
func insideOf(t *testing.T, name string, f figure) (shapes int) {
	end := mm(0)
	for _, g := range f.Groups {
		x1, x2 := f.Width, mm(0)
		for _, r := range g.Rects {
			x1, x2 = min(x1, r.X), max(x2, r.X+r.W)
			assert.LessOrEqual(t, r.Y+r.H, f.Height)
		}
		for _, x := range g.Texts {
			assert.GreaterOrEqual(t, x.X, mm(0))
			assert.LessOrEqual(t, x.Y, f.Height)
			if x.Class == "number" || x.Class == "finger" {
				assert.LessOrEqual(t, x.X, f.Width, "%s, %s: %s", name, f.Title, x.String)
			}
		}
		if g.Class != "shape" {
			continue
		}
		shapes++
		assert.GreaterOrEqual(t, x1, end, "%s, %s: %s", name, f.Title, g.Title)
		assert.LessOrEqual(t, x2, f.Width)
		end = x2
	}
	return shapes
}

// The contrasts are those of the Web Content Accessibility Guidelines 2.1, sections
// 1.4.3 and 1.4.11: 4.5 for text, 3 for what is drawn; luminance as defined there.
func TestContrastIsHeldOnLightAndDarkGrounds(t *testing.T) {
	luminance := func(hex string) (l float64) {
		if len(hex) == 3 {
			hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
		}
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
			require.NoError(t, err)
			c := float64(n) / 255
			if c <= 0.03928 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			l += weight * c
		}
		return l
	}
	page := written(t, HTML, arrange(t, small, fretboard.BassHalves))
	dark := page[strings.Index(page, "prefers-color-scheme: dark"):]
	dark = dark[:strings.Index(dark, "@media print")]
	light := strings.Replace(page[:strings.Index(page, "</style>")], dark, "", 1)
	for ground, style := range map[string]string{"fff": light, "121212": dark} {
		rules := regexp.MustCompile(`([^{};]*)\{([^}]*)\}`).FindAllStringSubmatch(style, -1)
		colors := 0
		for _, r := range rules {
			for _, c := range regexp.MustCompile(`(color|fill|stroke): #([0-9a-f]+)`).FindAllStringSubmatch(r[2], -1) {
				if c[2] == ground || strings.Contains(r[1], "td") || strings.Contains(r[1], "text.low") {
					continue // the ground itself, lines of a table, letters on a black spot
				}
				a, b := luminance(c[2]), luminance(ground)
				ratio, least := (max(a, b)+0.05)/(min(a, b)+0.05), 4.5
				if c[1] == "stroke" {
					least = 3
				}
				assert.GreaterOrEqual(t, ratio, least, "%s: %s on #%s", strings.TrimSpace(r[1]), c[0], ground)
				colors++
			}
		}
		assert.Greater(t, colors, 8)
	}
}

func TestLayersAreToldApartWithoutColour(t *testing.T) {
	for layer, want := range map[fretboard.Layer][2]int{fretboard.Bass: {0, 0}, fretboard.BassChanges: {6, 0}, fretboard.BassHalves: {6, 4}} {
		got := written(t, SVG, arrange(t, small, layer))
		assert.Equal(t, want[0], strings.Count(got, `class="frame"`), layer)
		assert.Equal(t, want[1], strings.Count(got, `class="frame halves"`), layer)
	}
}

func TestWrapBreaksOnlyWhatMustBe(t *testing.T) {
	assert.Empty(t, wrap("  ", 3, 30))
	assert.Equal(t, []string{"one two", "three"}, wrap("one two  three", 3, textWidth("one two", 3)))
	long := strings.Repeat("e\u0301", 40)
	lines := wrap("x "+long, 3, 20)
	assert.Equal(t, "x"+long, strings.Join(lines, ""))
	for _, l := range lines[1:] {
		assert.True(t, strings.HasPrefix(l, "e"), "a mark stays with its letter")
		assert.LessOrEqual(t, textWidth(l, 3), mm(20))
	}
}

func BenchmarkHTMLOfAThousandBars(b *testing.B) {
	text := strings.Replace(small, "form   A A\n", "form   "+strings.Repeat("A ", 500)+"\n", 1)
	a := arrange(b, text, fretboard.BassHalves)
	for b.Loop() {
		if err := HTML(io.Discard, a); err != nil {
			b.Fatal(err)
		}
	}
}

package sheet

import (
	"context"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
)

// need skips a test where a program of the system that it checks with is not
// there.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			t.Skipf("%s is not here: the sheets are not checked with it", p)
		}
	}
}

// xmllint is of libxml2: a second reader of XML besides Go's own.
func TestPicturesAreWellFormed(t *testing.T) {
	need(t, "xmllint")
	dir := t.TempDir()
	args := []string{"--noout", "--nonet"}
	for _, name := range content.TuneNames() {
		path := filepath.Join(dir, name+".svg")
		require.NoError(t, os.WriteFile(path, []byte(written(t, SVG, arrange(t, builtIn(t, name), fretboard.BassHalves))), 0o644))
		args = append(args, path)
	}
	out, err := exec.Command("xmllint", args...).CombinedOutput()
	assert.NoError(t, err, "%s", out)
}

// printed is a PDF as pdftotext (poppler) reads it: words with their boxes, in
// points.
type printed struct {
	Pages []struct {
		Width  float64 `xml:"width,attr"`
		Height float64 `xml:"height,attr"`
		Words  []struct {
			X1   float64 `xml:"xMin,attr"`
			Y1   float64 `xml:"yMin,attr"`
			X2   float64 `xml:"xMax,attr"`
			Y2   float64 `xml:"yMax,attr"`
			Text string  `xml:",chardata"`
		} `xml:"word"`
	} `xml:"body>doc>page"`
}

// printPDF has Chromium print a page on a paper of CSS's names. It returns the
// words, and how far the ink of each page stays from its left, right and upper
// edge, in points (poppler's pdftoppm draws one pixel a point).
func printPDF(t *testing.T, page, paper string) (printed, []int) {
	t.Helper()
	dir := t.TempDir()
	in, pdf, words := filepath.Join(dir, "in.html"), filepath.Join(dir, "out.pdf"), filepath.Join(dir, "words.html")
	page = strings.Replace(page, "@page {", "@page { size: "+paper+";", 1)
	require.NoError(t, os.WriteFile(in, []byte(page), 0o644))
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, in).CombinedOutput()
	require.NoError(t, err, "%s", out)
	out, err = exec.CommandContext(ctx, "pdftotext", "-bbox", pdf, words).CombinedOutput()
	require.NoError(t, err, "%s", out)
	text, err := os.ReadFile(words)
	require.NoError(t, err)
	var p printed
	require.NoError(t, xml.Unmarshal(text, &p))
	out, err = exec.CommandContext(ctx, "pdftoppm", "-gray", "-r", "72", pdf, filepath.Join(dir, "page")).CombinedOutput()
	require.NoError(t, err, "%s", out)
	files, err := filepath.Glob(filepath.Join(dir, "page*.pgm"))
	require.NoError(t, err)
	var clear []int
	for _, file := range files {
		clear = append(clear, clearance(t, file))
	}
	return p, clear
}

// clearance is the distance in pixels of the ink of a picture (PGM, as netpbm
// defines it) from the nearest of three edges; below, there is the page number.
func clearance(t *testing.T, file string) int {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	var width, height, white int
	_, err = fmt.Sscanf(string(data[:40]), "P5\n%d %d\n%d\n", &width, &height, &white)
	require.NoError(t, err)
	pixels := data[len(data)-width*height:]
	clear := width
	for i, v := range pixels {
		if int(v) < white*3/4 {
			x, y := i%width, i/width
			clear = min(clear, x, width-1-x, y)
		}
	}
	return clear
}

// manySections is a tune of 32 bars in eight sections, full of
// shapes, long chord symbols and words.
func manySections() string {
	var b strings.Builder
	b.WriteString("tune   Eight Doors\nkey    Eb\nmeter  4/4\ntempo  120\nswing  2:1\ntrains " + strings.Repeat("Long talk of what it trains. ", 6) + "\n")
	for _, s := range "ABCDEFGH" {
		fmt.Fprintf(&b, "\n[%c]\nchords | Ebmaj7 Ab7(#11) | Gm7b5 C7(b9) | Fm7 Bb7(b9) | Ebmaj7/Bb Bb13 |\n", s)
		b.WriteString("bass | /1 /3 /1 \\b7 | \\1 /b3 /1 /3 | \\1 /b3 /1 /3 | \\5 /1 \\1 /3 |\nhits | on and on and | both . on . | on . on . | on . on and |\n")
		b.WriteString("words | a cue that takes more than a line | | and | |\n")
	}
	return b.String()
}

func TestPrintedOnPaperNothingIsCutOff(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser for each sheet")
	}
	t.Parallel()
	need(t, "chromium", "pdftotext", "pdftoppm")
	for _, c := range []struct{ text, paper string }{
		{builtIn(t, "lantern-street"), "A4"},
		{builtIn(t, "bicycle-bell"), "letter"},
		{manySections(), "A4"},
	} {
		a := arrange(t, c.text, fretboard.BassHalves)
		t.Run(a.Tune.Title+" on "+c.paper, func(t *testing.T) {
			p, clear := printPDF(t, written(t, HTML, a), c.paper)
			assert.Len(t, clear, len(p.Pages))
			for i, points := range clear {
				assert.InDelta(t, 34, points, 2, "page %d: the ink stays in margins of 12 mm, and fills the page between", i+1)
			}
			assert.Len(t, a.Tune.Unroll(), 32)
			assert.LessOrEqual(t, len(p.Pages), 2, "pages")
			var got []string
			for i, page := range p.Pages {
				assert.InDelta(t, map[string]float64{"A4": 842, "letter": 792}[c.paper], page.Height, 1.5)
				for _, w := range page.Words {
					inside := w.X1 > 28 && w.X2 < page.Width-28 && w.Y1 > 28 && w.Y2 < page.Height-8
					assert.True(t, inside, "page %d: %q lies in the margin", i+1, w.Text)
					got = append(got, w.Text)
				}
			}
			onPaper := strings.Join(got, "")
			var drawn strings.Builder
			for _, s := range handoutOf(a).Sections {
				for _, m := range s.Systems {
					for _, f := range append([]figure{m.Labels}, m.Bars...) {
						for _, g := range f.Groups {
							for _, x := range g.Texts {
								drawn.WriteString(strings.ReplaceAll(x.String, " ", ""))
							}
						}
					}
				}
			}
			assert.Greater(t, drawn.Len(), 1000)
			for _, letter := range `0123456789b#↑↓ABCDEFGadhimnostu` {
				assert.GreaterOrEqual(t, strings.Count(onPaper, string(letter)), strings.Count(drawn.String(), string(letter)), "%c of the music on paper", letter)
			}
		})
	}
}

// Where the legend goes to another page the last line of music goes with it.
func TestNoPageHasTheLegendAlone(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	t.Parallel()
	need(t, "chromium", "pdftotext", "pdftoppm")
	a := arrange(t, builtIn(t, "seven-crates"), fretboard.BassHalves)
	p, _ := printPDF(t, written(t, HTML, a), "letter")
	require.Len(t, p.Pages, 2)
	var words []string
	for _, w := range p.Pages[1].Words {
		words = append(words, w.Text)
	}
	legend := slices.Index(words, "How")
	require.Positive(t, legend, "behind the music")
	for _, bar := range []string{"7", "8"} {
		assert.Contains(t, words[:legend], bar)
	}
}

// At the width of a phone every bar, its texts and its signs lie on the screen, and
// nothing is to be scrolled sideways; letters are at least 7 pixels high.
func TestNothingIsCutOffOnAPhone(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser for each sheet")
	}
	t.Parallel()
	need(t, "chromium")
	for _, text := range []string{builtIn(t, "lantern-street"), builtIn(t, "seven-crates"), builtIn(t, "bus-shelter-song"), manySections()} {
		page := written(t, HTML, arrange(t, text, fretboard.BassHalves))
		page = strings.Replace(page, "</body>", `<script>
let out = 0, small = 0, seen = 0;
for (const e of document.querySelectorAll('svg text, svg path, svg rect, svg line, h1, h2, p, li, th, td')) {
	const r = e.getBoundingClientRect();
	if (r.width === 0 && r.height === 0) continue;
	seen++;
	if (r.left < 0 || r.right > 400) out++;
	if (e.tagName === 'text' && r.height < 7) small++;
}
parent.postMessage(JSON.stringify({out, small, seen, width: document.documentElement.scrollWidth}), '*');
</script></body>`, 1)
		dir := t.TempDir()
		in := filepath.Join(dir, "page.html")
		require.NoError(t, os.WriteFile(in, []byte(page), 0o644))
		phone := filepath.Join(dir, "phone.html")
		require.NoError(t, os.WriteFile(phone, []byte("<!DOCTYPE html><html><head><title></title></head><body><script>onmessage = e => { document.title = e.data }</script>"+
			"<iframe src=page.html style=width:400px;height:800px;border:0></iframe></body></html>"), 0o644))
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
		defer cancel()
		dom, err := exec.CommandContext(ctx, "chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run",
			"--user-data-dir="+filepath.Join(dir, "profile"), "--virtual-time-budget=5000", "--dump-dom", "file://"+phone).Output()
		require.NoError(t, err)
		var got struct{ Out, Small, Seen, Width int }
		_, title, _ := strings.Cut(string(dom), "<title>")
		title, _, _ = strings.Cut(title, "</title>")
		require.NoError(t, json.Unmarshal([]byte(title), &got), title)
		assert.Zero(t, got.Out, "off the screen")
		assert.Zero(t, got.Small, "too small to read")
		assert.Greater(t, got.Seen, 500)
		assert.LessOrEqual(t, got.Width, 400)
	}
}

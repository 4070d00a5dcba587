package screen

import (
	"flag"
	"fmt"
	"html"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/screen/theme"
)

var (
	pictures  = flag.String("pictures", "", "write pictures (SVG) of every page in every state, size and look to this folder, with an index.html")
	picturing = flag.String("picturing", "", "only the pictures whose file names match this regular expression")
)

// A character of a picture is so many units wide and a row so high.
const cellWidth, cellHeight = 8.4, 18.0

// grounds are the colours that a picture stands on: paper and ink.
var grounds = map[bool][2]string{true: {"#111111", "#DADADA"}, false: {"#FFFFFF", "#1A1A1A"}}

var sgr = regexp.MustCompile("\x1b\\[([0-9;]*)m")

// pen is the look of a run of characters.
type pen struct {
	ink                      string // "" is the terminal's own
	bold, underline, reverse bool
}

// set changes the pen as the numbers of a select graphic rendition say (ECMA-48,
// 8.3.117; 38;2;r;g;b is ISO 8613-6's).
func (p *pen) set(numbers string) {
	fields := strings.Split(numbers, ";")
	for i := 0; i < len(fields); i++ {
		switch n, _ := strconv.Atoi(fields[i]); n {
		case 0:
			*p = pen{}
		case 1:
			p.bold = true
		case 4:
			p.underline = true
		case 7:
			p.reverse = true
		case 38:
			if i+4 < len(fields) && fields[i+1] == "2" {
				rgb := [3]int{}
				for k := range rgb {
					rgb[k], _ = strconv.Atoi(fields[i+2+k])
				}
				p.ink = fmt.Sprintf("#%02X%02X%02X", rgb[0], rgb[1], rgb[2])
				i += 4
			}
		}
	}
}

// picture draws a view as SVG, as a terminal with a background would show it.
func picture(view string, width int, dark bool) string {
	paper, ink := grounds[dark][0], grounds[dark][1]
	rows := strings.Split(view, "\n")
	var b strings.Builder
	w, h := float64(width)*cellWidth+16, float64(len(rows))*cellHeight+16
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="14">`+"\n", w, h, w, h)
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="%s"/>`+"\n", paper)
	for y, row := range rows {
		var p pen
		x := 0
		draw := func(text string) {
			n := ansi.StringWidth(text)
			if strings.TrimSpace(text) != "" || p.reverse {
				left, top := 8+float64(x)*cellWidth, 8+float64(y)*cellHeight
				colour := p.ink
				if colour == "" {
					colour = ink
				}
				if p.reverse {
					fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="%s"/>`, left, top, float64(n)*cellWidth, cellHeight, colour)
					colour = paper
				}
				style := ""
				if p.bold {
					style += ` font-weight="bold"`
				}
				if p.underline {
					style += ` text-decoration="underline"`
				}
				lead := len(text) - len(strings.TrimLeft(text, " "))
				body := strings.TrimSpace(text)
				if p.underline {
					lead, body = 0, text
				}
				if body != "" {
					fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" textLength="%.1f" fill="%s"%s xml:space="preserve">%s</text>`+"\n",
						left+float64(lead)*cellWidth, top+13.5, float64(ansi.StringWidth(body))*cellWidth, colour, style, html.EscapeString(body))
				}
			}
			x += n
		}
		at := 0
		for _, m := range sgr.FindAllStringSubmatchIndex(row, -1) {
			draw(row[at:m[0]])
			p.set(row[m[2]:m[3]])
			at = m[1]
		}
		draw(row[at:])
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// looks are how the pictures are drawn.
var looks = map[string]struct {
	dark    bool
	profile termenv.Profile
	theme   func(*lipgloss.Renderer, bool) *theme.Theme
}{"dark": {true, termenv.TrueColor, theme.New}, "light": {false, termenv.TrueColor, theme.New}, "no-colour": {true, termenv.ANSI, theme.Colourless}}

// sizes are those of the pictures.
var sizes = [][2]int{{60, 20}, {80, 24}, {120, 40}, {200, 60}}

// Pictures of every page are for looking at: go test ./trainer/screen -run
// TestPictures -pictures FOLDER, and then FOLDER/index.html in a browser.
func TestPictures(t *testing.T) {
	if *pictures == "" {
		t.Skip("-pictures names no folder")
	}
	require.NoError(t, os.MkdirAll(*pictures, 0o755))
	wanted, err := regexp.Compile(*picturing)
	require.NoError(t, err)
	var index strings.Builder
	index.WriteString("<!doctype html><meta charset=utf-8><title>Footfall</title><style>body{font:14px sans-serif}img{margin:8px;border:1px solid #888}</style>\n")
	for look, l := range looks {
		s := practised(t)
		r := lipgloss.NewRenderer(io.Discard)
		r.SetColorProfile(l.profile)
		r.SetHasDarkBackground(l.dark)
		s.Theme = l.theme(r, false)
		d := drive(t, s, 80, 24)
		for _, st := range states("lantern-street") {
			for _, size := range sizes {
				name := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.ToLower(st.name), "-"), "-")
				file := fmt.Sprintf("%s.%dx%d.%s.svg", name, size[0], size[1], look)
				if !wanted.MatchString(file) {
					continue
				}
				d.send(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
				d.come(st)
				require.NoError(t, os.WriteFile(filepath.Join(*pictures, file), []byte(picture(d.f.View(), size[0], l.dark)), 0o644))
				fmt.Fprintf(&index, "<figure><figcaption>%s</figcaption><img src=%q></figure>\n", html.EscapeString(file), file)
			}
		}
	}
	require.NoError(t, os.WriteFile(filepath.Join(*pictures, "index.html"), []byte(index.String()), 0o644))
}

// What the terminal would show is what the picture holds: its text, its colours, its
// weights.
func TestAPictureHoldsTheView(t *testing.T) {
	svg := picture("\x1b[1;38;2;86;180;233ma <b>\x1b[0m  c\n  \x1b[7md\x1b[0m", 10, true)
	assert.Contains(t, svg, `fill="#56B4E9" font-weight="bold" xml:space="preserve">a &lt;b&gt;</text>`)
	assert.Contains(t, svg, `x="66.8"`) // the c stands behind seven columns: 8 + 7 × 8.4
	assert.Contains(t, svg, `fill="#111111" xml:space="preserve">d</text>`)
}

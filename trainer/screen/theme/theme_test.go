package theme

import (
	"fmt"
	"io"
	"math"
	"reflect"
	"testing"

	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
)

// luminance is the relative luminance of WCAG 2.2, of sRGB from 0 to 1.
func luminance(rgb [3]float64) float64 {
	for i, v := range rgb {
		if v <= 0.04045 {
			rgb[i] = v / 12.92
		} else {
			rgb[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2]
}

// contrast is the contrast ratio of WCAG 2.2.
func contrast(a, b [3]float64) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func rgb(t *testing.T, hex string) [3]float64 {
	var r, g, b int
	_, err := fmt.Sscanf(hex, "#%02X%02X%02X", &r, &g, &b)
	require.NoError(t, err, hex)
	return [3]float64{float64(r) / 255, float64(g) / 255, float64(b) / 255}
}

// WCAG 2.2: black on white is 21 to 1; #767676 is the lightest grey with 4.5 to 1
// on white (WebAIM's contrast checker says 4.54).
func TestContrastIsThatOfWCAG(t *testing.T) {
	assert.InDelta(t, 21, contrast(rgb(t, "#000000"), rgb(t, "#FFFFFF")), 1e-9)
	assert.InDelta(t, 4.54, contrast(rgb(t, "#767676"), rgb(t, "#FFFFFF")), 0.005)
}

// sixteen are the sixteen colours as xterm (XTerm-col.ad) and the text mode of
// VGA have them.
var sixteen = map[string][16]string{
	"xterm": {"#000000", "#CD0000", "#00CD00", "#CDCD00", "#0000EE", "#CD00CD", "#00CDCD", "#E5E5E5", "#7F7F7F", "#FF0000", "#00FF00", "#FFFF00", "#5C5CFF", "#FF00FF", "#00FFFF", "#FFFFFF"},
	"VGA":   {"#000000", "#AA0000", "#00AA00", "#AA5500", "#0000AA", "#AA00AA", "#00AAAA", "#AAAAAA", "#555555", "#FF5555", "#55FF55", "#FFFF55", "#5555FF", "#FF55FF", "#55FFFF", "#FFFFFF"},
}

// The grounds that every look must stand out on: true white and black, what terminals
// that soften them have, and Solarized's (base3 and base03, by the table in its README).
var lightGrounds, darkGrounds = []string{"#FFFFFF", "#F2F2F2", "#FDF6E3"}, []string{"#000000", "#262626", "#002B36"}

// Every look of the theme can be read on both backgrounds and in every number of
// colours: 4.5 to 1, the least of WCAG 2.2 for text (1.4.3, level AA).
func TestEveryLookCanBeRead(t *testing.T) {
	const least = 4.5
	th := New(lipgloss.NewRenderer(io.Discard), false)
	looks := map[string]lipgloss.Style{}
	v := reflect.ValueOf(*th)
	for i := range v.NumField() {
		if f := v.Type().Field(i); f.Type == reflect.TypeFor[lipgloss.Style]() {
			looks[f.Name] = v.Field(i).Interface().(lipgloss.Style)
		}
	}
	for r := fretboard.Plain; r <= fretboard.Staying; r++ {
		looks[fmt.Sprint("role ", r)] = th.Role(r)
	}
	for tone := Other; tone < toneCount; tone++ {
		looks[fmt.Sprint("tone ", tone)] = th.Tone(tone)
	}
	coloured := 0
	for name, look := range looks {
		c, ok := look.GetForeground().(lipgloss.CompleteAdaptiveColor)
		if !ok {
			assert.Equal(t, lipgloss.NoColor{}, look.GetForeground(), name)
			continue
		}
		coloured++
		for _, ground := range []struct {
			colour lipgloss.CompleteColor
			from   []string
		}{{c.Light, lightGrounds}, {c.Dark, darkGrounds}} {
			for _, bg := range ground.from {
				assert.GreaterOrEqual(t, contrast(rgb(t, ground.colour.TrueColor), rgb(t, bg)), least, "%s, %s on %s", name, ground.colour.TrueColor, bg)
			}
			// Of 256 colours the nearest is taken: 4.5 to 1 on true black and white, and
			// the 3 to 1 of marks and large text (1.4.11, 1.4.3) on all others.
			near := termenv.ConvertToRGB(termenv.ANSI256.Color(ground.colour.ANSI256))
			for i, bg := range ground.from {
				least := map[bool]float64{true: least, false: 3}[i == 0]
				assert.GreaterOrEqual(t, contrast([3]float64{near.R, near.G, near.B}, rgb(t, bg)), least, "%s, of 256 colours on %s", name, bg)
			}
			if ground.colour.ANSI == "" {
				continue // the terminal's own text colour
			}
			for terminal, palette := range sixteen {
				var n int
				_, err := fmt.Sscan(ground.colour.ANSI, &n)
				require.NoError(t, err)
				assert.GreaterOrEqual(t, contrast(rgb(t, palette[n]), rgb(t, ground.from[0])), least, "%s, %d of 16 colours of %s on %s", name, n, terminal, ground.from[0])
			}
		}
	}
	assert.GreaterOrEqual(t, coloured, 9)
}

// NO_COLOR keeps weight and underline (no-color.org: it is colour that is not to be
// added), and nothing tells by colour then.
func TestWithoutColourWeightAndUnderlineStay(t *testing.T) {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.ANSI)
	th := Colourless(r, false)
	assert.Equal(t, "\x1b[1mx\x1b[0m", th.Heading.Render("x"))
	assert.Regexp(t, `^\x1b\[1;4(;4)?mx\x1b\[0m$`, th.Selected.Render("x"))
	assert.Equal(t, "x", th.Dim.Render("x"))
	for r := fretboard.Plain; r <= fretboard.Staying; r++ {
		assert.Equal(t, lipgloss.NoColor{}, th.Role(r).GetForeground())
	}
}

// The background can turn while the program runs, once a terminal has answered.
func TestTheBackgroundTurns(t *testing.T) {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.TrueColor)
	th := New(r, false)
	th.SetDark(true)
	dark := th.Heading.Render("x")
	th.SetDark(false)
	assert.NotEqual(t, dark, th.Heading.Render("x"))
	th.SetDark(true)
	assert.Equal(t, dark, th.Heading.Render("x"))
}

// Without colour a look is drawn as it is, and where a terminal has no colour of
// its sixteen that can be read the text colour stays.
func TestLooksWithoutColour(t *testing.T) {
	for _, dark := range []bool{true, false} {
		r := lipgloss.NewRenderer(io.Discard)
		r.SetHasDarkBackground(dark)
		r.SetColorProfile(termenv.Ascii)
		assert.Equal(t, "x", New(r, false).Warn.Render("x"))
		r.SetColorProfile(termenv.ANSI)
		assert.Equal(t, map[bool]string{true: "\x1b[37mx\x1b[0m", false: "x"}[dark], New(r, false).Dim.Render("x"))
	}
}

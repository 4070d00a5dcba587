// Package theme holds the looks of all screens: colours, weights and glyphs, in
// one place. It knows roles, never what is drawn.
//
// The hues are the colour-blind-safe set of Okabe and Ito, "Color Universal
// Design" (2008), as published: orange #E69F00, sky blue #56B4E9, bluish green
// #009E73, yellow #F0E442, blue #0072B2, vermillion #D55E00, reddish purple
// #CC79A7. No meaning rests on colour alone: see the glyphs that go with each
// role in package neck, and the words of each verdict.
package theme

import (
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/fretboard"
)

// Theme is what a screen draws with.
type Theme struct {
	Text, Strong, Dim, Heading lipgloss.Style
	// Key is a key's name in help lines.
	Key lipgloss.Style
	// Selected is the line a list stands on.
	Selected lipgloss.Style
	// Warn is a line about something that went wrong outside the player.
	Warn    lipgloss.Style
	Cursor  lipgloss.Style
	String  lipgloss.Style
	Heavy   lipgloss.Style
	roles   map[fretboard.Role]lipgloss.Style
	Glyphs  Glyphs
	spelled *strings.Replacer
}

// Glyphs are the characters that a terminal may not draw one column wide.
type Glyphs struct {
	// Thin and ThinWire, Heavy and HeavyWire draw a string and a fret crossing it,
	// and Wire the fret between strings.
	Thin, ThinWire, Heavy, HeavyWire, Wire string
	// Nut is the nut, Open stands where nothing is.
	Nut string
	// Pointer marks the line a list stands on, Rule draws a line across, Caret is
	// where typing goes, Dot joins facts in a line.
	Pointer, Rule, Caret, Dot string
	// Times marks a wrong place.
	Times string
	// Up, Down, Left and Right are the arrow keys.
	Up, Down, Left, Right string
	// Full is the block that bars of a plot are made of.
	Full string
	// Rise and Fall stand before a degree that lies above or below the note before it.
	Rise, Fall string
	// Struck is a hit, Ringing what follows one that is held, Beat a beat without a hit.
	Struck, Ringing, Beat string
}

var unicodeGlyphs = Glyphs{
	Thin: "─", ThinWire: "┼", Heavy: "━", HeavyWire: "┿", Wire: "│", Nut: "║",
	Pointer: "›", Rule: "─", Caret: "▏", Dot: "·", Times: "×",
	Up: "↑", Down: "↓", Left: "←", Right: "→", Full: "█",
	Rise: "↑", Fall: "↓", Struck: "●", Ringing: "─", Beat: "·",
}

var asciiGlyphs = Glyphs{
	Thin: "-", ThinWire: "+", Heavy: "=", HeavyWire: "+", Wire: "|", Nut: "|",
	Pointer: ">", Rule: "-", Caret: "_", Dot: "-", Times: "x",
	Up: "up", Down: "down", Left: "left", Right: "right", Full: "#",
	Rise: "/", Fall: "\\", Struck: "o", Ringing: "-", Beat: ".",
}

type hue struct{ light, dark, ansiLight, ansiDark string }

// Hues of Okabe and Ito for a light and a dark background, with one of the
// sixteen colours; "" is the terminal's own text colour, where none of them can
// be read on white. Those that stand out too little are mixed with black or
// white, by the percentages beside them, until text in them has a contrast of
// 4.5 to 1 (WCAG 2.2, 1.4.3) on any background from #F2F2F2 up or #262626 down.
var (
	sky        = hue{"#0072B2", "#56B4E9", "4", "14"} // blue; sky blue
	green      = hue{"#007656", "#0DA37A", "", "10"}  // 25; 5
	vermillion = hue{"#AA4B00", "#DB7626", "1", "9"}  // 20; 15
	orange     = hue{"#8A5F00", "#E69F00", "5", "11"} // 40; 0
	purple     = hue{"#8F5575", "#CC79A7", "5", "13"} // 30; 0
	yellow     = hue{"#0072B2", "#F0E442", "4", "11"} // blue; yellow
	grey       = hue{"#6D6D6D", "#939393", "", "7"}   // for what is less important
)

func (h hue) colour() lipgloss.TerminalColor {
	return lipgloss.CompleteAdaptiveColor{
		Light: lipgloss.CompleteColor{TrueColor: h.light, ANSI256: h.light, ANSI: h.ansiLight},
		Dark:  lipgloss.CompleteColor{TrueColor: h.dark, ANSI256: h.dark, ANSI: h.ansiDark},
	}
}

// New makes a theme for what r draws on; ascii keeps to glyphs that every
// terminal draws one column wide.
func New(r *lipgloss.Renderer, ascii bool) *Theme {
	style := r.NewStyle
	t := &Theme{
		Text:     style(),
		Strong:   style().Bold(true),
		Dim:      style().Foreground(grey.colour()),
		Heading:  style().Bold(true).Foreground(sky.colour()),
		Key:      style().Bold(true),
		Selected: style().Bold(true).Foreground(sky.colour()),
		Warn:     style().Foreground(vermillion.colour()),
		Cursor:   style().Reverse(true).Bold(true),
		String:   style().Foreground(grey.colour()),
		Heavy:    style(),
		roles: map[fretboard.Role]lipgloss.Style{
			fretboard.Plain:  style(),
			fretboard.Asked:  style().Bold(true).Foreground(orange.colour()),
			fretboard.Right:  style().Bold(true).Foreground(green.colour()),
			fretboard.Wrong:  style().Bold(true).Foreground(vermillion.colour()),
			fretboard.Next:   style().Bold(true).Foreground(yellow.colour()),
			fretboard.Anchor: style().Foreground(purple.colour()),
		},
		Glyphs:  unicodeGlyphs,
		spelled: strings.NewReplacer(),
	}
	if ascii {
		t.Glyphs = asciiGlyphs
		t.spelled = strings.NewReplacer("♭", "b", "♯", "#", "Δ", "maj", "△", "maj", "ø", "m7b5", "°", "dim", "–", "-", "—", "-", "…", "...", "›", ">")
	}
	return t
}

// Role returns the look of a mark's role.
func (t *Theme) Role(r fretboard.Role) lipgloss.Style { return t.roles[r] }

// Words replaces what the glyph set cannot draw in a text.
func (t *Theme) Words(s string) string { return t.spelled.Replace(s) }

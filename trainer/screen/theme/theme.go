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
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

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
	tones   [toneCount]lipgloss.Style
	Glyphs  Glyphs
	spelled *strings.Replacer
	on      *lipgloss.Renderer
}

// Glyphs are the characters that a terminal may not draw one column wide.
type Glyphs struct {
	// Thin and ThinWire, Heavy and HeavyWire draw a string and a fret crossing it,
	// and Wire the fret between strings.
	Thin, ThinWire, Heavy, HeavyWire, Wire string
	Nut                                    string
	// RunsOn and HeavyRunsOn end a string at the edge of a drawing that shows not all of
	// it, Leftward and Rightward point at the frets beyond; Inlay marks a fret.
	RunsOn, HeavyRunsOn, Leftward, Rightward, Inlay string
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
	Thin: "─", ThinWire: "┼", Heavy: "━", HeavyWire: "┿", Wire: "│", Nut: "║", RunsOn: "┄", HeavyRunsOn: "┅", Leftward: "‹", Rightward: "›", Inlay: "•",
	Pointer: "›", Rule: "─", Caret: "▏", Dot: "·", Times: "×",
	Up: "↑", Down: "↓", Left: "←", Right: "→", Full: "█",
	Rise: "↑", Fall: "↓", Struck: "●", Ringing: "─", Beat: "·",
}

var asciiGlyphs = Glyphs{
	Thin: "-", ThinWire: "+", Heavy: "=", HeavyWire: "+", Wire: "|", Nut: "|", RunsOn: ".", HeavyRunsOn: ".", Leftward: "<", Rightward: ">", Inlay: "o",
	Pointer: ">", Rule: "-", Caret: "_", Dot: "-", Times: "x",
	Up: "up", Down: "down", Left: "left", Right: "right", Full: "#",
	Rise: "/", Fall: "\\", Struck: "o", Ringing: "-", Beat: ".",
}

type hue struct{ light, dark, ansiLight, ansiDark string }

// Hues of Okabe and Ito for a light and a dark background, with one of the
// sixteen colours; "" is the terminal's own text colour, where none of them can
// be read on white. Those that stand out too little are mixed with black or
// white, by the percentages beside them, until text in them has a contrast of
// 4.5 to 1 (WCAG 2.2, 1.4.3) on any background from #F2F2F2 up or #262626 down, and
// on both of Solarized's, #FDF6E3 and #002B36.
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
		Light: lipgloss.CompleteColor{TrueColor: h.light, ANSI256: of256(h.light), ANSI: h.ansiLight},
		Dark:  lipgloss.CompleteColor{TrueColor: h.dark, ANSI256: of256(h.dark), ANSI: h.ansiDark},
	}
}

// of256 is the nearest of the 256 colours: looked up here, where lipgloss would at each
// text that it draws, which took a quarter of a frame.
func of256(hex string) string {
	return fmt.Sprint(int(termenv.ANSI256.Convert(termenv.RGBColor(hex)).(termenv.ANSI256Color)))
}

// New makes a theme for what r draws on; ascii keeps to glyphs that every
// terminal draws one column wide.
func New(r *lipgloss.Renderer, ascii bool) *Theme {
	return with(r, ascii, func(h hue) lipgloss.Style { return r.NewStyle().Foreground(h.colour()) })
}

// Colourless makes a theme that tells by weight and underline alone, for who sets
// NO_COLOR on a terminal that has both (no-color.org leaves them alone). r must not be
// one without any looks, which termenv takes NO_COLOR for.
func Colourless(r *lipgloss.Renderer, ascii bool) *Theme {
	t := with(r, ascii, func(hue) lipgloss.Style { return r.NewStyle() })
	t.Selected = t.Selected.Underline(true)
	for role, look := range t.roles {
		t.roles[role] = look.Underline(role == fretboard.Asked || role == fretboard.Next)
	}
	return t
}

// with makes a theme whose colours are looked up.
func with(r *lipgloss.Renderer, ascii bool, in func(hue) lipgloss.Style) *Theme {
	plain := r.NewStyle()
	t := &Theme{
		Text:     plain,
		Strong:   plain.Bold(true),
		Dim:      in(grey),
		Heading:  in(sky).Bold(true),
		Key:      plain.Bold(true),
		Selected: in(sky).Bold(true),
		Warn:     in(vermillion),
		Cursor:   plain.Reverse(true).Bold(true),
		String:   in(grey),
		Heavy:    plain,
		roles: map[fretboard.Role]lipgloss.Style{
			fretboard.Plain:   plain,
			fretboard.Asked:   in(orange).Bold(true),
			fretboard.Right:   in(green).Bold(true),
			fretboard.Wrong:   in(vermillion).Bold(true),
			fretboard.Next:    in(yellow).Bold(true),
			fretboard.Anchor:  in(purple),
			fretboard.Coming:  in(grey),
			fretboard.Staying: in(green).Bold(true),
		},
		Glyphs:  unicodeGlyphs,
		spelled: strings.NewReplacer(),
		on:      r,
	}
	t.tones = [toneCount]lipgloss.Style{
		Other: plain, Root: in(sky).Underline(true), Third: in(orange), Fifth: plain, Seventh: in(purple), Tension: in(green),
	}
	if ascii {
		t.Glyphs = asciiGlyphs
		t.spelled = strings.NewReplacer("♭", "b", "♯", "#", "Δ", "maj", "△", "maj", "ø", "m7b5", "°", "dim", "–", "-", "—", "-", "…", "...", "›", ">")
	}
	return t
}

// Tone is what a degree is to its chord: its number tells it, and its look.
type Tone uint8

// The tones of a chord. A 6 stands where a seventh would.
const (
	Other Tone = iota
	Root
	Third
	Fifth
	Seventh
	Tension
	toneCount
)

// Tone returns the look of a tone.
func (t *Theme) Tone(tone Tone) lipgloss.Style { return t.tones[tone] }

// SetDark has everything drawn for a dark background from now on, or for a light one.
func (t *Theme) SetDark(dark bool) { t.on.SetHasDarkBackground(dark) }

// Role returns the look of a mark's role.
func (t *Theme) Role(r fretboard.Role) lipgloss.Style { return t.roles[r] }

// Words replaces what the glyph set cannot draw in a text.
func (t *Theme) Words(s string) string { return t.spelled.Replace(s) }

// Package background answers, before anyone can ask the terminal, whether its
// background is dark, and reads what a terminal says of it that is asked later.
//
// Bubble Tea asks the terminal for its background colour while it is being
// initialised, and on a terminal that does not answer waits five seconds, in
// commands that draw nothing too. Lip Gloss does not ask once it has been told.
// Go initialises packages in the order of their import paths as soon as what
// they import is ready, and this path sorts before github.com/charmbracelet, so
// that this package comes first. It must import nothing but Lip Gloss that is
// not in the standard library, and main must import it.
package background

import (
	"math"
	"os"
	"strconv"
	"strings"

	"github.com/charmbracelet/lipgloss"
)

func init() { lipgloss.SetHasDarkBackground(Dark(os.Getenv("COLORFGBG"))) }

// Dark reads the variable COLORFGBG, which some terminals set to their text and
// background colours, "15;0". Background colours 0 to 6 and 8 of the sixteen are
// dark; where the variable says nothing, dark is taken (common practice, no
// source).
func Dark(colorfgbg string) bool {
	fields := strings.Split(colorfgbg, ";")
	n, err := strconv.Atoi(fields[len(fields)-1])
	if err != nil {
		return true
	}
	return n <= 6 || n == 8
}

// linear is the light of a part of an sRGB colour, both from 0 to 1 (WCAG 2.2,
// relative luminance).
func linear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

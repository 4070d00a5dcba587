package neck

import (
	"fmt"
	"strings"

	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/trainer/screen/theme"
)

// Shade is how firmly something is kept, lighter to darker: met, most of it firm, all
// firm; "" where it is not met. Glyphs tell it without colour.
func Shade(t *theme.Theme, k progress.Kept) string {
	shades := []string{"\u2591", "\u2593", "\u2588"}
	if t.Glyphs.Full == "#" {
		shades = []string{".", "+", "#"}
	}
	switch met := k.Learning + k.Firm; {
	case met == 0:
		return ""
	case k.Learning == 0:
		return shades[2]
	case k.Firm > 0:
		return shades[1]
	}
	return shades[0]
}

// ShadesMean says what the shades mean.
func ShadesMean(t *theme.Theme) string {
	return fmt.Sprintf("%s learning   %s some of it firm   %s firm (right on 3 days, kept 3 weeks)",
		Shade(t, progress.Kept{Learning: 1}), Shade(t, progress.Kept{Learning: 1, Firm: 1}), Shade(t, progress.Kept{Firm: 1}))
}

// Kept shades the places of a neck by how firmly what lies there is kept, in so many
// columns and rows.
func Kept(t *theme.Theme, n fretboard.Neck, places []progress.KeptPlace, width, height int) string {
	var marks []fretboard.Mark
	for _, r := range places {
		if shade := Shade(t, r.Kept); shade != "" && r.String <= len(n.Tuning) && r.Fret <= n.HighestFret {
			marks = append(marks, fretboard.Mark{Place: fretboard.Place{String: r.String, Fret: r.Fret}, Text: strings.Repeat(shade, 2)})
		}
	}
	return Draw(t, Drawing{Neck: n, Marks: marks, Width: width, Height: height, Close: true})
}

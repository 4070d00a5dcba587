package sheet

import "fmt"

// Measures of the rhythm, in millimetres.
const (
	headWidth  mm = 1.7 // a slash, from its foot to its top
	headRise   mm = 1.2 // half its height
	stemHeight mm = 3.9 // above the middle of the slash
	tieDrop    mm = 1.1 // how deep a tie hangs
	tieUnder   mm = 1.9 // where it begins, below the middle of the slash
	pushAt     mm = 3.4 // the chord of a push, behind its flag
	rhythmUp   mm = 4.6 // room above the middle of the slashes
	rhythmDown mm = 2.9 // and below it, for ties and dots
)

// rhythm draws the strokes of a bar: x are the places of its half beats, from its
// left bar line at 0 to the right one at width. landing is the tie that comes in.
func (g *group) rhythm(strokes []stroke, x map[int]mm, width, y mm, compound bool, landing tie) {
	if len(strokes) > 0 && landing != untied {
		to := x[strokes[0].half] + headWidth/2
		if landing == silent {
			to = min(to, barPad+headWidth/2)
		}
		g.tie(landing, fmt.Sprintf("M0 %s Q%s %s %s %s", y+tieUnder+tieDrop, to*0.6, y+tieUnder+tieDrop, to, y+tieUnder))
	}
	beamed := -1
	for i, s := range strokes {
		at := x[s.half]
		if s.rest {
			g.silence(s, at, width, y, compound)
			continue
		}
		g.head(s, at, y, compound)
		if s.halves <= 6 { // a whole one has no stem
			g.line("stem", at+headWidth, y-headRise, at+headWidth, y-stemHeight)
		}
		flagged := s.halves == 1 && !(compound && s.half%2 == 0)
		switch {
		case !flagged || beamed == i:
		case s.half%2 == 0 && i+1 < len(strokes) && !strokes[i+1].rest && strokes[i+1].half == s.half+1:
			g.line("beam", at+headWidth, y-stemHeight, x[s.half+1]+headWidth, y-stemHeight)
			beamed = i + 1
		default:
			g.path("flag", fmt.Sprintf("M%s %s c0.3 1 1.6 1.2 1.1 2.8", at+headWidth, y-stemHeight))
		}
		if s.push != "" {
			g.write("hit", at+pushAt, y-1.4, s.push, labelEm, 0)
		}
		if s.tied == untied {
			continue
		}
		from := at + headWidth/2
		if i+1 < len(strokes) && !(s.tied == silent && strokes[i+1].half%2 == 1) {
			to := x[strokes[i+1].half] + headWidth/2
			g.tie(s.tied, fmt.Sprintf("M%s %s Q%s %s %s %s", from, y+tieUnder, (from+to)/2, y+tieUnder+2*tieDrop, to, y+tieUnder))
		} else {
			g.tie(s.tied, fmt.Sprintf("M%s %s Q%s %s %s %s", from, y+tieUnder, from+(width-from)*0.4, y+tieUnder+tieDrop, width, y+tieUnder+tieDrop))
		}
	}
}

// tie draws a curve: whole where it rings, dashed where the hand alone stays.
func (g *group) tie(t tie, d string) {
	class := "tie"
	if t == silent {
		class = "tie silent"
	}
	g.path(class, d)
}

// head draws a slash, hollow from two beats on, and the dots beside and under it.
func (g *group) head(s stroke, x, y mm, compound bool) {
	shape := fmt.Sprintf("M%s %s l%s %s l0.9 0 l%s %s z", x-0.45, y+headRise, headWidth, -2*headRise, -headWidth, 2*headRise)
	class := "slash"
	if s.halves >= 4 {
		class = "slash hollow"
	}
	g.path(class, shape)
	dot := func(x, y mm) { g.rect("dot", x-0.3, y-0.3, 0.6, 0.6) }
	if s.halves == 3 || s.halves == 6 || compound && s.halves > 1 {
		dot(x+headWidth+1.1, y+0.5)
	}
	if s.short {
		dot(x, y+headRise+0.9)
	}
}

// silence draws a rest: of a bar in its middle, of a beat, or of half a beat.
func (g *group) silence(s stroke, x, width, y mm, compound bool) {
	switch {
	case s.halves == 0:
		g.rect("dot rest", width/2-1.2, y-0.6, 2.4, 1)
	case s.halves == 1 && !(compound && s.half%2 == 0):
		g.rect("dot rest", x, y-1.1, 0.7, 0.7)
		g.path("rest", fmt.Sprintf("M%s %s q0.8 0.5 1.2 -0.5 l-0.8 2.5", x+0.35, y-0.7))
	default:
		g.path("rest", fmt.Sprintf("M%s %s l0.9 1 q-0.9 0.6 0 1.5 q-1.3 -0.3 -0.6 1", x+0.2, y-1.9))
		if compound && s.halves > 1 {
			g.rect("dot rest", x+1.6, y-0.3, 0.6, 0.6)
		}
	}
}

package play

import (
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// verdictText are the verdicts on a freely walked bar in the room of a beat.
var verdictText = map[walk.Verdict]string{walk.Clear: "ok", walk.Thin: "thin", walk.Lost: "lost", walk.Silent: "--"}

var verdictRole = map[walk.Verdict]fretboard.Role{
	walk.Clear: fretboard.Right, walk.Thin: fretboard.Plain, walk.Lost: fretboard.Wrong, walk.Silent: fretboard.Plain,
}

// verdict marks a freely walked bar, below its first beat.
func (p *Page) verdict(at tune.Position) string {
	if at.Beat != 1 || at.Off {
		return ""
	}
	w, ok := p.along.BarOf(at.Bar)
	if !ok {
		return ""
	}
	return p.theme.Role(verdictRole[w.Verdict]).Render(verdictText[w.Verdict])
}

package play

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
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

// lastFree is the last pass where the player made the line up.
func (p *Page) lastFree() (*take.FreeTake, bool) {
	rs := p.along.Results()
	if len(rs) == 0 || rs[len(rs)-1].Free == nil {
		return nil, false
	}
	return rs[len(rs)-1].Free, true
}

// newFreeReview looks back at a free walk: its sum, and the bars that are not clear,
// the worst first. A silent bar counts as no fault.
func newFreeReview(t *theme.Theme, f *take.FreeTake) *review {
	return &review{theme: t, free: f, bars: f.Tallies()}
}

// freeView draws it.
func (r *review) freeView(width, height int) string {
	var lines []string
	for _, l := range r.free.Report() {
		wrapped := page.Wrapped(r.theme.Words(l), max(20, width-2))
		lines = append(lines, strings.Split("  "+strings.ReplaceAll(wrapped, "\n", "\n  "), "\n")...)
	}
	lines = append(lines, "")
	room := max(1, height-len(lines))
	r.top = min(max(r.top, r.at-room+1), r.at)
	for i := r.top; i < len(r.bars) && i < r.top+room; i++ {
		line, look := "    ", r.theme.Text
		if i == r.at {
			line, look = "  "+r.theme.Glyphs.Pointer+" ", r.theme.Selected
		}
		for _, b := range r.free.Bars {
			if b.Bar.Number == r.bars[i].Bar {
				line += fmt.Sprintf("%s %d  %s  %s", tune.SectionTitle(b.Bar.Section), b.Bar.Number, b.Verdict, b.Says)
			}
		}
		lines = append(lines, page.Clickable(page.Row, i, look.Render(ansi.Truncate(r.theme.Words(line), width, r.theme.Words("…")))))
	}
	return strings.Join(lines, "\n")
}

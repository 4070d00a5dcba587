package tuneroom

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
)

// wide reports whether the neck of the beat and the judge stand below the bars.
func (p *Page) wide() bool { return aside.Fits(p.width, p.height) }

// leastBand is the rows that they take at least: the strings, what stands below them and a
// blank line; while a better bar is looked for the half.
func (p *Page) leastBand() int {
	switch {
	case !p.wide():
		return 0
	case p.judging:
		return max(len(p.Neck.Tuning)+4, p.height/2)
	}
	return len(p.Neck.Tuning) + 4
}

// band draws the neck of the beat, and beside it what the judge says of the bar and then
// of the others.
func (p *Page) band(rows int) []string {
	at := p.width * 3 / 5
	left := p.beat(at-4, rows)
	for i, l := range left {
		left[i] = "  " + l
	}
	return page.Beside(p.Theme, left, at, p.verdict(p.width-at-4, rows), rows)
}

// near is what is played at the place and after it, and the arrangement it is of; nil
// where the tune cannot be arranged.
func (p *Page) near() (*fretboard.Arrangement, fretboard.Near) {
	a, err := p.arranged()
	if err != nil {
		return nil, fretboard.Near{}
	}
	at := p.doc.At()
	name, form := p.doc.Tune().Sections[at.Section].Name, a.Tune.Unroll()
	for _, fb := range form {
		if fb.Section == name && fb.SectionBar == at.Bar+1 {
			return a, a.Around(tune.Position{Bar: fb.Number, Beat: at.Beat + 1}, 1, len(form))
		}
	}
	return nil, fretboard.Near{}
}

// beat draws the neck with what sounds at the place and what comes, and below it the
// shapes that could be struck there.
func (p *Page) beat(width, rows int) []string {
	a, near := p.near()
	drawing := neck.Drawing{Neck: p.Neck, Width: width, Height: rows / 2, Degrees: true}
	if a != nil {
		mark := func(e *fretboard.Event, role fretboard.Role) {
			drawing.Marks = append(drawing.Marks, neck.Event(p.Neck, e, false, role)...)
		}
		if near.Bass != nil {
			mark(near.Bass, fretboard.Next)
		}
		for _, e := range near.Now {
			mark(e, fretboard.Right)
		}
		if at, to := a.HandAt(near); at > 0 {
			drawing.Hand = &neck.Hand{At: at, To: to}
		}
	}
	lines := append(strings.Split(neck.Draw(p.Theme, drawing), "\n"), neck.Legend(p.Theme, width, "here", fretboard.Right, fretboard.Next))
	if room := rows - len(lines) - 1; room >= leastChoices {
		if c, err := p.choicesAt(p.doc.At()); err == nil {
			shape := 0
			if chosen := p.chosen(); chosen != nil {
				shape = chosen.shape
			}
			lines = append(append(lines, ""), neck.Choices(p.Theme, p.Neck, c.over, c.choices, shape, room)...)
		}
	}
	return lines[:min(len(lines), rows)]
}

// leastChoices is the rows that a list of shapes is worth.
const leastChoices = 3

// verdict is what the judge says of the bar, and then of the others.
func (p *Page) verdict(width, rows int) []string {
	t, at := p.Theme, p.doc.At()
	name := p.doc.Tune().Sections[at.Section].Name
	head := fmt.Sprintf("The judge on %s %d", name, at.Bar+1)
	if !p.judging {
		head += fmt.Sprintf("; %s looks for a better bar", p.keys.judge.Help().Key)
	}
	lines := []string{t.Dim.Render(ansi.Truncate(t.Words(head), width, t.Words("…")))}
	lines = append(lines, p.judgement(width, rows-len(lines))...)
	elsewhere := []string{"", t.Dim.Render("Elsewhere")}
	for _, r := range p.criticised() {
		if here := r.Section == name && r.SectionBar == at.Bar+1; here || r.Rule.Good {
			continue
		}
		says := fmt.Sprintf("%s %d beat %d: %s", tune.SectionTitle(r.Section), r.SectionBar, r.At.Beat, r.Says)
		elsewhere = append(elsewhere, p.broken(says, width, t.Text, 2)...)
	}
	switch room := rows - len(lines); {
	case len(elsewhere) == 2 || room <= 3:
	case len(elsewhere) > room:
		lines = append(append(lines, elsewhere[:room-1]...), t.Dim.Render(t.Glyphs.Down+" more"))
	default:
		lines = append(lines, elsewhere...)
	}
	return lines
}

// criticised is what the critic says of the whole tune.
func (p *Page) criticised() []walk.Remark {
	s := p.sounding()
	if !s.criticised {
		s.all = walk.Criticise(p.doc.Tune(), walk.Critic{
			Range: p.Neck.BassRange(), Hand: p.WalkingHand, Mend: func(string, int) bool { return false },
		})
		s.criticised = true
	}
	return s.all
}

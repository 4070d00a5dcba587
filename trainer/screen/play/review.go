package play

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// review is a look back at one take: each bar's offsets on a line of time, the
// worst bars first.
type review struct {
	theme *theme.Theme
	score *take.Score
	// free is the walk of a pass without a line to score, nil for others.
	free *take.FreeTake
	at   int // the bar picked, an index into the score's bars
	top  int
	bars []take.Tally
}

func newReview(t *theme.Theme, s *take.Score) *review {
	return &review{theme: t, score: s, bars: s.Bars}
}

func (r *review) keys() []key.Binding {
	return []key.Binding{page.Act.Key(r.theme, "loop this bar"), page.Bad.Key(r.theme, "loop the worst bars"), page.UpDown.Key(r.theme, "bar"),
		page.FirstLast.Key(r.theme, "first, last"), page.PageUpDown.Key(r.theme, "a page up, down")}
}

// reviewKey takes a key of the review.
func (p *Page) reviewKey(msg tea.KeyMsg) {
	r := p.review
	switch {
	case len(r.bars) == 0:
	case page.Act.Is(msg):
		bar := r.bars[r.at].Bar
		p.loop(take.Bars{First: bar, Last: bar})
	case page.Bad.Is(msg):
		if worst := take.WorstRun(r.bars); worst.First > 0 {
			p.loop(worst)
		}
	default:
		r.at = page.Moved(msg, r.at, len(r.bars), p.height/2)
	}
}

func (p *Page) loop(b take.Bars) {
	p.along.SetLoop(b)
	p.review, p.ending = nil, nil
}

func (r *review) view(width, height int) string {
	if r.free != nil {
		return r.freeView(width, height)
	}
	lines := make([]string, 0, height)
	for _, l := range r.score.Report() {
		wrapped := page.Wrapped(r.theme.Words(l), max(20, width-2))
		lines = append(lines, "  "+strings.ReplaceAll(wrapped, "\n", "\n  "))
	}
	lines = strings.Split(strings.Join(lines, "\n"), "\n")
	longest := 0
	for _, b := range r.bars {
		longest = max(longest, len(faults(b)))
	}
	span := max(15, min(121, width-16-longest-1)) - 1
	span += 1 - span%2
	window := r.score.Settings.Window
	scale := fmt.Sprintf("%-*s%s%*s", span/2, fmt.Sprintf("-%.0f ms", ms(window)), "0", span/2, fmt.Sprintf("+%.0f ms", ms(window)))
	lines = append(lines, "", r.theme.Dim.Render(fmt.Sprintf("    %-10s %-*s %s", "bar", span, scale, "faults")))
	room := max(1, height-len(lines))
	r.top = min(max(r.top, r.at-room+1), r.at)
	for i := r.top; i < len(r.bars) && i < r.top+room; i++ {
		b := r.bars[i]
		pointer := " "
		if i == r.at {
			pointer = r.theme.Glyphs.Pointer
		}
		line := fmt.Sprintf("  %s %-10s %s %s", pointer, fmt.Sprintf("%s %d", tune.SectionTitle(b.Section), b.Bar), r.plot(b.Bar, span), faults(b))
		if i == r.at {
			line = r.theme.Selected.Render(line)
		}
		lines = append(lines, page.Clickable(page.Row, i, line))
	}
	return strings.Join(lines, "\n")
}

// plot writes each event of a bar on a line of time: o a bass note, s a strike,
// # where several fall together; the middle is on time.
func (r *review) plot(bar, span int) string {
	cells := []rune(strings.Repeat(" ", span))
	cells[span/2] = '|'
	for i, e := range r.score.Events {
		o := r.score.Outcomes[i]
		if e.At.Bar != bar || !o.Verdict.Right() && !o.Verdict.Wrong() {
			continue
		}
		x := span/2 + int(float64(o.Offset)/float64(r.score.Settings.Window)*float64(span/2))
		x = min(span-1, max(0, x))
		mark := 'o'
		if e.Kind == fretboard.ShapeEvent {
			mark = 's'
		}
		if cells[x] == 'o' || cells[x] == 's' || cells[x] == '#' {
			mark = '#'
		}
		cells[x] = mark
	}
	return string(cells)
}

func faults(b take.Tally) string {
	var words []string
	add := func(n int, what string) {
		if n > 0 {
			words = append(words, fmt.Sprintf("%d %s", n, what))
		}
	}
	add(b.Missed, "missed")
	add(b.Wrong, "wrong")
	add(b.Extra, "too many")
	add(b.NotHeard, "not heard")
	add(b.Unsure, "unsure")
	return strings.Join(words, ", ")
}

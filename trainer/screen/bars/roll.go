package bars

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

// A rolling chart has no labels. margin is the columns before and behind a line, and
// between those of a bar line.
const (
	margin  = 2
	between = 3
)

// mostSide is how many bars stand side by side: a phrase of four, so that it begins
// where a line does.
const mostSide = 4

// Roll draws the bars of a pass that are near the present place, so that the one after
// it is always among them. Each bar keeps its place while it is to be seen; one that is
// over gives its place to the next that is not to be seen yet, where there is room a bar
// later, so that its marks may be read. Where it thereby stands in front of the present bar
// it says so: then. Bars that all fit stay where they are. After the last bar comes the first.
func Roll(t *theme.Theme, c Chart) []string {
	l := c.rolling(t)
	n := c.Last - c.First + 1
	present := c.At.Bar - c.First
	shown := make([]int, l.slots) // counted from the first bar of the pass, −1 for none
	turned := make([]bool, l.slots)
	if n <= l.slots {
		for i := range shown {
			if shown[i] = i; i >= n {
				shown[i] = -1
			}
		}
	} else {
		behind := 0
		if l.slots >= mostSide {
			behind = 1
		}
		first := max(0, c.Pass-1) * n // counted on through the passes
		now := (first + present) % l.slots
		if now%l.side == 0 && l.slots > l.side {
			behind = 0 // a line that is over is refilled as a whole, so that it reads on
		}
		for k := present - behind; k < present-behind+l.slots; k++ {
			at := first + k
			slot := ((at % l.slots) + l.slots) % l.slots
			shown[slot] = ((k % n) + n) % n
			if at < 0 { // before anything was played
				shown[slot] = (k + l.slots) % n
			}
			turned[slot] = k > present && slot < now && (slot/l.side == now/l.side || slot%l.side == 0)
		}
	}
	coming := (present + 1) % n
	var rows []string
	for i := 0; i < l.slots; i += l.side {
		line := shown[i:min(i+l.side, l.slots)]
		if line[0] < 0 {
			break
		}
		if i > 0 {
			rows = append(rows, "")
		}
		rows = append(rows, c.rollingLine(t, l, line, turned[i:], present, coming)...)
	}
	if l.slots == 1 && n > 1 {
		rows = append(rows, c.inALine(t, c.Form[c.First-1+coming]))
	}
	return rows
}

// rolled is how a rolling chart is laid out: side bars in a line, slots in all.
type rolled struct {
	layout
	side, slots int
	// per is the beats in a line where a bar takes several.
	per int
}

func (c Chart) rolling(t *theme.Theme) rolled {
	beats, room := 1, c.Width-2*margin
	var all []part
	for _, b := range c.Form[c.First-1 : c.Last] {
		beats = max(beats, b.Meter.Beats())
		all = append(all, part{bar: b, to: b.Meter.Beats()})
	}
	least := c.least(narrow)
	r := rolled{side: min(mostSide, c.Last-c.First+1, (room+between)/(least*beats+between)), per: beats}
	parts := 1
	if r.side < 1 {
		r.side = 1
		for r.per > 1 && r.per*least > room {
			parts++
			r.per = (beats + parts - 1) / parts
		}
	}
	r.cell = max(1, min(wide+2, ((room+between)/r.side-between)/r.per))
	var cut []part
	for _, p := range all {
		for from := 0; from < p.to; from += r.per {
			cut = append(cut, part{bar: p.bar, from: from, to: min(p.to, from+r.per)})
		}
	}
	r.chordRows = c.chordRows(t, r.cell, [][]part{cut})
	lines := max(1, (c.Height+1)/(parts*c.high(r.layout)))
	r.slots = lines * r.side
	if n := c.Last - c.First + 1; n < r.slots {
		r.slots = (n + r.side - 1) / r.side * r.side
	}
	return r
}

// rollingLine draws bars side by side, or one below itself where it is too long.
func (c Chart) rollingLine(t *theme.Theme, l rolled, bars []int, turned []bool, present, coming int) []string {
	var rows []string
	for from := 0; from == 0 || l.side == 1 && from < c.Form[c.First-1+bars[0]].Meter.Beats(); from += l.per {
		line := make([]string, c.high(l.layout)-1)
		for i := range line {
			line[i] = strings.Repeat(" ", margin)
		}
		for i, k := range bars {
			if k < 0 {
				break
			}
			b := c.Form[c.First-1+k]
			p := part{bar: b, from: from, to: min(b.Meter.Beats(), from+l.per)}
			if k == present {
				p.sign = t.Glyphs.Pointer + " "
			} else if turned[i] {
				p.sign = "then "
			}
			for j, row := range c.drawn(t, l, p, k, present, coming) {
				if i > 0 {
					line[j] += " " + t.Dim.Render(t.Glyphs.Wire) + " "
				}
				line[j] += row
			}
		}
		for _, row := range line {
			rows = append(rows, strings.TrimRight(row, " "))
		}
	}
	return rows
}

// drawn draws a bar in the look of its place in time: the present one stands out, then
// the one that comes, and those that are over step back.
func (c Chart) drawn(t *theme.Theme, l rolled, p part, k, present, coming int) []string {
	titled, strong := t.Dim, t.Text
	switch k {
	case present:
		titled, strong = t.Selected, t.Strong
	case coming:
		titled, strong = t.Text, t.Strong
	}
	rows := c.part(t, l.layout, p, titled, strong)
	for i, r := range rows {
		if k != present && i == 1 {
			r = t.Dim.Render(ansi.Strip(r))
		}
		rows[i] = fit(r, l.cell*l.per)
	}
	return rows
}

// inALine writes a bar in one line, for a chart that has room for one alone.
func (c Chart) inALine(t *theme.Theme, b tune.FormBar) string {
	text := fmt.Sprintf("then %s %d  ", tune.SectionTitle(b.Section), b.Number)
	for i := range b.Meter.Beats() {
		if b.Bar.ChangesAt(b.Meter, i+1, false) {
			chord, _ := b.Bar.ChordAt(b.Meter, i+1, false)
			text += chord.String() + " "
		}
		if i < len(b.Bar.Bass) {
			text += token(t, b.Bar.Bass[i].First) + " "
		}
		if b.Bar.ChangesAt(b.Meter, i+1, true) {
			chord, _ := b.Bar.ChordAt(b.Meter, i+1, true)
			text += chord.String() + " "
		}
		if i < len(b.Bar.Bass) && b.Bar.Bass[i].Split {
			text += token(t, b.Bar.Bass[i].Second) + " "
		}
	}
	return strings.Repeat(" ", margin) + ansi.Truncate(t.Words(text), c.Width-2*margin, t.Words("…"))
}

package sheet

import (
	"io"

	"footfall/fretboard"
)

// SVG writes an arrangement as one picture, as high as its music. Errors are
// those of w.
func SVG(w io.Writer, a *fretboard.Arrangement) error {
	return pages.ExecuteTemplate(w, "picture", pictureOf(handoutOf(a)))
}

// pictureOf sets a handout's parts under one another.
func pictureOf(h handout) figure {
	f := figure{Title: h.Title, Width: pageWidth}
	head := group{Class: "head"}
	y := mm(0)
	put := func(g *group, class, s string, size, x, room mm) {
		for _, l := range wrap(s, size, room) {
			y += size * 1.3
			g.write(class, x, y-size*0.2, l, size, room)
		}
	}
	put(&head, "title", h.Title, 7, 0, pageWidth)
	facts := ""
	for i, fact := range h.Facts {
		if i > 0 {
			facts += " · "
		}
		facts += fact
	}
	put(&head, "plain", facts, 3.4, 0, pageWidth)
	put(&head, "plain", h.Trains, 3.4, 0, pageWidth)
	y += 1.5
	head.line("tab", 0, y, pageWidth, y)
	f.Groups = append(f.Groups, head)
	for _, s := range h.Sections {
		y += 3
		name := group{Class: "head"}
		if s.Short {
			name.write("section", 0, y+sectionEm*0.8, s.Name, sectionEm, 0)
		} else {
			put(&name, "section", s.Name+", "+s.Bars, sectionEm, 0, pageWidth)
		}
		f.Groups = append(f.Groups, name)
		f.Says += s.Name + ", " + s.Bars + ".\n"
		for _, m := range s.Systems {
			x := mm(0)
			for _, part := range append([]figure{m.Labels}, m.Bars...) {
				for _, g := range part.Groups {
					g.Right, g.Down = x, y
					f.Groups = append(f.Groups, g)
				}
				x += part.Width
				f.Says += part.Says
			}
			f.Width = max(f.Width, x+lineEnd)
			y += m.Labels.Height + 3
		}
	}
	foot := group{Class: "head"}
	foot.line("tab", 0, y, pageWidth, y)
	f.Groups = append(f.Groups, foot)
	top := y + 2
	for i, part := range h.Sections[len(h.Sections)-1].Legend {
		y = top
		explained := group{Class: "legend"}
		x := mm(i) * pageWidth / 3
		put(&explained, "part", part.Name, legendEm, x, legendWidth)
		for _, e := range part.Entries {
			explained.write("sign", x, y+legendEm*1.1, e.Sign, legendEm, signWidth-1)
			put(&explained, "means", e.Means, legendEm, x+signWidth, legendWidth-signWidth)
		}
		f.Groups = append(f.Groups, explained)
		f.Height = max(f.Height, y+2)
	}
	return f
}

// Measures of the legend of a picture, in millimetres.
const (
	legendEm    mm = 2.9
	legendWidth    = pageWidth/3 - 4
	signWidth   mm = 15
)

// margin is left around a picture, in millimetres.
const margin mm = 4

// OuterWidth and OuterHeight are the picture with its margin.
func (f figure) OuterWidth() mm  { return f.Width + 2*margin }
func (f figure) OuterHeight() mm { return f.Height + 2*margin }

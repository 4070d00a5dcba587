package tune

import (
	"fmt"
	"slices"
)

// WithEnding returns the tune with a last bar that is played once: where the last
// section of the form comes in it before, its last time becomes a section of its
// own, named End, so that another ending leaves the other times alone. The tune
// itself stays as it is.
func (t *Tune) WithEnding() *Tune {
	out := *t
	out.Form, out.Sections = slices.Clone(t.FormOrder()), slices.Clone(t.Sections)
	last := len(out.Form) - 1
	if last < 0 || slices.Index(out.Form, out.Form[last]) == last {
		out.Form = t.Form
		return &out
	}
	s := t.Section(out.Form[last])
	if s == nil {
		return &out
	}
	end := *s
	end.Name = "End"
	for n := 2; t.Section(end.Name) != nil; n++ {
		end.Name = fmt.Sprintf("End%d", n)
	}
	end.Bars = make([]Bar, len(s.Bars))
	for i := range s.Bars {
		end.Bars[i] = s.Bars[i].clone()
	}
	out.Form[last] = end.Name
	out.Sections = append(out.Sections, end)
	return &out
}

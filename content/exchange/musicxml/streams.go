package musicxml

import (
	"fmt"
	"slices"
	"strings"
)

// stream is the notes of one staff of one part.
type stream struct {
	part, staff int
	notes, sum  int
	unpitched   int
}

func (s stream) mean() float64 { return float64(s.sum) / float64(s.notes) }

func (r *reader) streams() []stream {
	var out []stream
	for i, p := range r.parts {
		at := map[int]*stream{}
		var staves []int
		for _, m := range p.measures {
			for _, n := range m.notes {
				s := at[n.staff]
				if s == nil {
					s = &stream{part: i, staff: n.staff}
					at[n.staff] = s
					staves = append(staves, n.staff)
				}
				if n.unpitched {
					s.unpitched++
					continue
				}
				s.notes++
				s.sum += n.midi
			}
		}
		slices.Sort(staves)
		for _, staff := range staves {
			out = append(out, *at[staff])
		}
	}
	return out
}

// highestMeanBass is where the mean of a part's notes may lie at most for it to
// be taken for a bass: G3, below which melodies do not stay. Common practice, no
// source.
const highestMeanBass = 55

// choose picks the bass and the hits among the streams, and tells of the rest.
func (r *reader) choose() (bass, hits *stream) {
	streams := r.streams()
	named := func(s stream) bool { return strings.Contains(strings.ToLower(r.parts[s.part].name), "bass") }
	for i := range streams {
		s := &streams[i]
		if r.guitar != nil && &r.parts[s.part] == r.guitar {
			bass = s
			continue
		}
		if s.notes == 0 {
			if strings.EqualFold(r.parts[s.part].name, "hits") && hits == nil {
				hits = s
			}
			continue
		}
		if r.guitar != nil || !named(*s) && s.mean() > highestMeanBass {
			continue
		}
		if bass == nil || named(*s) && !named(*bass) || named(*s) == named(*bass) && s.mean() < bass.mean() {
			bass = s
		}
	}
	var left []stream
	notes := 0
	for i := range streams {
		if s := streams[i]; &streams[i] != bass && &streams[i] != hits {
			left = append(left, s)
			notes += s.notes + s.unpitched
		}
	}
	if len(left) > 4 {
		r.lose(0, "%d other staves with %d notes left out; a tune holds one line, the bass", len(left), notes)
		return bass, hits
	}
	for _, s := range left {
		name := r.parts[s.part].name
		if name == "" {
			name = fmt.Sprint(s.part + 1)
		}
		r.lose(0, "part %s, staff %d: %d notes left out; a tune holds one line, the bass", name, s.staff, s.notes+s.unpitched)
	}
	return bass, hits
}

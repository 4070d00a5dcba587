package musicxml

import "slices"

// playOrder returns the measures in the order they are played: repeats with
// their endings, then da capo or dal segno to fine or coda. After a jump repeats
// are not taken again and the last ending is played (common practice, no
// source). It stops at most measures; ended is false if there was more to play.
func playOrder(flows []flow, most int) (order []int, ended bool) {
	spans := endingSpans(flows)
	start, pass := 0, 1
	jumped := false
	for at := 0; at < len(flows); {
		if len(order) >= most {
			return order, false
		}
		f := flows[at]
		if s, ok := spans[at]; ok {
			skip := !slices.Contains(s.numbers, pass)
			if jumped {
				skip = !s.last
			}
			if skip {
				at = s.end + 1
				continue
			}
		}
		if f.forward && at != start {
			start, pass = at, 1
		}
		order = append(order, at)
		switch {
		case jumped && f.fine:
			return order, true
		case jumped && f.toCoda:
			if coda := codaAfter(flows, at); coda >= 0 {
				at = coda
				continue
			}
		case !jumped && f.backward:
			if pass < repeatTimes(flows, spans, at) {
				pass++
				at = start
				continue
			}
			start, pass = at+1, 1
		}
		if !jumped && (f.daCapo || f.dalSegno) {
			jumped = true
			at = 0
			if f.dalSegno {
				at = max(0, slices.IndexFunc(flows, func(f flow) bool { return f.segno }))
			}
			continue
		}
		at++
	}
	return order, true
}

func codaAfter(flows []flow, at int) int {
	for i := at + 1; i < len(flows); i++ {
		if flows[i].coda {
			return i
		}
	}
	return -1
}

// span is an ending: its numbers, its last measure, and whether no other ending
// follows it.
type span struct {
	numbers []int
	end     int
	last    bool
}

// endingSpans finds the endings by their first measures.
func endingSpans(flows []flow) map[int]span {
	spans := map[int]span{}
	for i, f := range flows {
		if f.endings == nil {
			continue
		}
		end := i
		for end < len(flows)-1 && !flows[end].endsEnding && flows[end+1].endings == nil {
			end++
		}
		if !flows[end].endsEnding && flows[end].endings == nil {
			end = i // an ending without an end is one measure
		}
		spans[i] = span{numbers: f.endings, end: end}
	}
	for i, s := range spans {
		_, follows := spans[s.end+1]
		s.last = !follows
		spans[i] = s
	}
	return spans
}

// repeatTimes returns how often a repeated stretch that ends at a measure is
// played.
func repeatTimes(flows []flow, spans map[int]span, at int) int {
	for i, s := range spans {
		if i > at || s.end < at {
			continue
		}
		highest := slices.Max(s.numbers)
		if !s.last || highest == 1 {
			return highest + 1
		}
		return highest
	}
	return max(2, flows[at].times)
}

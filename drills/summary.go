package drills

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"footfall/drills/memory"
	"footfall/harmony"
)

// Summary is what a sitting came to. Times are in milliseconds.
type Summary struct {
	Drill  string `json:"drill"`
	Tune   string `json:"tune,omitempty"`
	Chords string `json:"chords,omitempty"`
	Asked  int    `json:"asked"`
	Right  int    `json:"right"`
	Sure   int    `json:"sure"`
	Slow   int    `json:"slow"`
	Missed int    `json:"missed"`
	// MedianMS is the median time of the right answers, 0 where there are none.
	MedianMS int64 `json:"median_ms"`
	// Seconds is the length of the sitting, without the time the player was away.
	Seconds float64 `json:"seconds"`
	// The weakest are those with the smallest share right, of equals the slowest;
	// nil where there was nothing to tell them by, or nothing was missed.
	WeakestDegree *Weakness `json:"weakest_degree"`
	WeakestChord  *Weakness `json:"weakest_chord"`
	WeakestString *Weakness `json:"weakest_string"`
	// Found says in a line each what a level check found, and where the ladder begins.
	Found []string `json:"found,omitempty"`
	// Unkept counts answers that are in memory alone.
	Unkept int `json:"unkept"`
}

// Weakness is how the answers about one thing went.
type Weakness struct {
	Name     string `json:"name"`
	Asked    int    `json:"asked"`
	Right    int    `json:"right"`
	MedianMS int64  `json:"median_ms"`
}

// Summary sums the sitting up, at a time.
func (s *Sitting) Summary(now time.Time) Summary {
	m := Summary{Drill: s.plan.Name, Asked: len(s.answers), Seconds: s.Elapsed(now).Seconds(), Unkept: s.unkept}
	if s.plan.Material.Tune != nil {
		m.Tune = s.plan.Material.Title
	} else {
		m.Chords = s.plan.Material.Title
	}
	var times []time.Duration
	for _, a := range s.answers {
		switch a.Verdict {
		case memory.Sure:
			m.Sure++
		case memory.Slow:
			m.Slow++
		default:
			m.Missed++
			continue
		}
		times = append(times, a.Took)
	}
	m.Right = m.Sure + m.Slow
	m.MedianMS = median(times).Milliseconds()
	m.WeakestDegree = weakest(s.answers, func(a Answer) string { return a.Degree })
	spelled := map[harmony.Identity]string{}
	m.WeakestChord = weakest(s.answers, func(a Answer) string {
		c, err := harmony.ParseChord(a.Chord)
		if _, seen := spelled[c.Identity()]; !seen && err == nil {
			spelled[c.Identity()] = a.Chord
		}
		return spelled[c.Identity()]
	})
	m.WeakestString = weakest(s.answers, func(a Answer) string {
		if a.String == 0 {
			return ""
		}
		return fmt.Sprint(a.String)
	})
	if s.plan.Level && len(s.answers) > 0 {
		placed, _ := s.Placed()
		m.Found = placed.Found()
	}
	return m
}

// Placed is the level check as it stands by the answers of the sitting, and whether it is
// over.
func (s *Sitting) Placed() (p *memory.Placing, over bool) {
	trials := make([]memory.Trial, len(s.answers))
	for i, a := range s.answers {
		trials[i] = memory.Trial{Item: a.Item, Verdict: a.Verdict, Took: a.Took}
	}
	return memory.PlacedBy(s.items, trials)
}

// weakest groups answers by a name, "" left out, and returns the group with the
// smallest share right, of equals the one with the longest median time, of those
// the first asked. It is nil where there is no group.
func weakest(answers []Answer, name func(Answer) string) *Weakness {
	var groups []*Weakness
	byName := map[string]*Weakness{}
	times := map[string][]time.Duration{}
	for _, a := range answers {
		n := name(a)
		if n == "" {
			continue
		}
		g := byName[n]
		if g == nil {
			g = &Weakness{Name: n}
			byName[n] = g
			groups = append(groups, g)
		}
		g.Asked++
		if a.Right() {
			g.Right++
			times[n] = append(times[n], a.Took)
		}
	}
	if len(groups) == 0 {
		return nil
	}
	for _, g := range groups {
		g.MedianMS = median(times[g.Name]).Milliseconds()
	}
	least := slices.MinFunc(groups, func(a, b *Weakness) int {
		return cmp.Or(
			cmp.Compare(a.Right*b.Asked, b.Right*a.Asked),
			cmp.Compare(b.MedianMS, a.MedianMS),
		)
	})
	if least.Right == least.Asked {
		return nil // none of them is weak
	}
	return least
}

// median returns the middle time, the mean of the two middle ones of an even
// number, 0 of none.
func median(times []time.Duration) time.Duration {
	if len(times) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(times))
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}

// Lines puts the summary in words, a line each.
func (m Summary) Lines() []string {
	if m.Asked == 0 {
		return []string{"Nothing was asked."}
	}
	right := fmt.Sprintf("%d right of %d.", m.Right, m.Asked)
	if m.Slow > 0 {
		right += fmt.Sprintf(" %d came slowly or not quite as asked.", m.Slow)
	}
	lines := []string{right}
	if m.Right > 1 {
		lines = append(lines, fmt.Sprintf("Half of the right ones came within %.1f seconds.", float64(m.MedianMS)/1000))
	}
	for _, w := range []struct {
		what string
		*Weakness
	}{{"degree", m.WeakestDegree}, {"chord", m.WeakestChord}, {"string", m.WeakestString}} {
		if w.Weakness == nil || w.Asked < 2 {
			continue
		}
		line := fmt.Sprintf("Hardest %s: %s, %d right of %d", w.what, w.Name, w.Right, w.Asked)
		if w.Right > 0 {
			line += fmt.Sprintf(", in %.1f seconds", float64(w.MedianMS)/1000)
		}
		lines = append(lines, line+".")
	}
	lines = append(lines, m.Found...)
	if m.Unkept > 0 {
		lines = append(lines, fmt.Sprintf("Answers not on the disk yet: %d.", m.Unkept))
	}
	return lines
}

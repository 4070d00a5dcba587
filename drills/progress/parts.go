package progress

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"footfall/harmony"
)

// PartRow is how answers went about something that many questions share: a degree in
// chords of one family, or a stretch of a string.
type PartRow struct {
	// Kind is "degree" or "place".
	Kind string `json:"kind"`
	// Degree and Chords, the name of a family of chords, are a degree's.
	Degree string `json:"degree,omitempty"`
	Chords string `json:"chords,omitempty"`
	// String, and the frets From and To, are a place's.
	String int `json:"string,omitempty"`
	From   int `json:"from"`
	To     int `json:"to"`
	Asked  int `json:"asked"`
	Right  int `json:"right"`
	// Share and MedianMS are those of its answers, and of the times of right ones.
	Share    *float64 `json:"share"`
	MedianMS *int64   `json:"median_ms"`
	// Kept counts the questions about it by how well they are kept.
	Kept
}

// Says names the part: "b6 of minor chords", "string 5, frets 6 to 9".
func (r PartRow) Says() string {
	if r.String > 0 {
		return fmt.Sprintf("string %d, frets %d to %d", r.String, r.From, r.To)
	}
	return fmt.Sprintf("%s of %s chords", r.Degree, r.Chords)
}

// zoneFrets is how many frets a stretch of a string has: as many as a hand has fingers.
// The first has frets 0 and 1, so that the others begin where a hand is commonly laid.
const zoneFrets = 4

func zone(fret int) (from, to int) {
	from = max(0, (fret+2)/zoneFrets*zoneFrets-2)
	return from, (fret+2)/zoneFrets*zoneFrets + zoneFrets - 3
}

// familyOf names the family that a chord quality is of, by its third and its seventh or
// fifth.
func familyOf(quality string) string {
	q, err := harmony.ParseQuality(quality)
	if err != nil {
		return quality
	}
	has := func(degree string) bool {
		d, err := harmony.ParseDegree(degree)
		return err == nil && q.Has(d)
	}
	switch {
	case has("b3") && has("b5") && has("b7"):
		return "half-diminished"
	case has("b3") && has("b5"):
		return "diminished"
	case has("b3"):
		return "minor"
	case has("3") && has("b7"):
		return "dominant"
	case has("3") && has("#5"):
		return "augmented"
	case has("3"):
		return "major"
	}
	return "suspended"
}

// partRows counts the answers about each part, the one that went least well first, and how
// well what was met of it is kept, by degrees and by places.
func partRows(r Record, kept []KeptRow, places []KeptPlace) []PartRow {
	type degree struct{ degree, chords string }
	type stretch struct{ str, from, to int }
	degrees, stretches := map[degree]Tally{}, map[stretch]Tally{}
	for c, t := range r.Counts.Degrees {
		if c.Kind.OfChords() {
			d := degree{c.Degree, familyOf(c.Quality)}
			degrees[d] = degrees[d].Plus(t)
		}
	}
	for p, t := range r.Counts.Places {
		s := stretch{str: p.String}
		s.from, s.to = zone(p.Fret)
		stretches[s] = stretches[s].Plus(t)
	}
	rows := []PartRow{}
	for d, t := range degrees {
		row := PartRow{Kind: "degree", Degree: d.degree, Chords: d.chords, Asked: t.Asked, Right: t.Right(), Share: shareOf(t), MedianMS: medianOf(t)}
		for _, k := range kept {
			if k.Degree == d.degree && familyOf(k.Quality) == d.chords {
				row.Kept = row.plus(k.Kept)
			}
		}
		rows = append(rows, row)
	}
	for s, t := range stretches {
		row := PartRow{Kind: "place", String: s.str, From: s.from, To: s.to, Asked: t.Asked, Right: t.Right(), Share: shareOf(t), MedianMS: medianOf(t)}
		for _, k := range places {
			if k.String == s.str && k.Fret >= s.from && k.Fret <= s.to {
				row.Kept = row.plus(k.Kept)
			}
		}
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b PartRow) int {
		return cmp.Or(cmp.Compare(a.Right*b.Asked, b.Right*a.Asked), cmp.Compare(slowness(b), slowness(a)), cmp.Compare(b.Asked, a.Asked),
			cmp.Compare(a.Kind, b.Kind), compareDegrees(a.Degree, b.Degree), cmp.Compare(a.Chords, b.Chords), cmp.Compare(a.String, b.String), cmp.Compare(a.From, b.From))
	})
	return rows
}

func slowness(r PartRow) int64 {
	if r.MedianMS == nil {
		return math.MaxInt64
	}
	return *r.MedianMS
}

// mostParts is how many parts the table lists, and enoughOfPart how many answers about one
// tell something.
const mostParts, enoughOfPart = 8, 5

// partTable lists what went least well, in words of what the questions share.
func (v Review) partTable() Table {
	t := Table{Name: "parts", Title: "What needs work most, by what the questions share", Columns: []string{"what", "right", "seconds"}}
	for _, r := range v.Parts {
		if r.Asked >= enoughOfPart && len(t.Rows) < mostParts {
			t.Rows = append(t.Rows, []string{r.Says(), of(r.Right, r.Asked), secondsOf(r.MedianMS)})
		}
	}
	return t
}

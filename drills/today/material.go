package today

import (
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/harmony"
)

// symbolFor returns a chord symbol over which an item can be asked: the plainest
// that has the degree where a root alone is asked about, and two in a row for a
// change; "" where the item does not say, and only its tune can ask it.
func symbolFor(it memory.Item) string {
	if it.Next != "" {
		return changeFor(it)
	}
	q, fault := harmony.ParseQuality(it.Quality)
	d, none := harmony.ParseDegree(it.Degree)
	root, err := harmony.ParseNote(it.Root)
	if !it.Known() || fault != nil || none != nil || err != nil {
		return ""
	}
	if !it.Kind.OfChords() {
		rows := harmony.Qualities()
		i := slices.IndexFunc(rows, func(row harmony.QualityRow) bool { return slices.Contains(row.Degrees, d) })
		if i < 0 {
			return ""
		}
		q, _ = harmony.QualityOf(rows[i].Degrees)
	}
	return q.On(root).Symbol
}

// changeFor returns the two chords of an item about a change; a second that may be of
// any quality is a dominant.
func changeFor(it memory.Item) string {
	q, fault := harmony.ParseQuality(it.Quality)
	d, none := harmony.ParseDegree(it.Next)
	root, err := harmony.ParseNote(it.Root)
	to := it.To
	if it.Kind == memory.Approach {
		to = "7"
	}
	then, strange := harmony.ParseQuality(to)
	if !it.Known() || fault != nil || none != nil || err != nil || strange != nil {
		return ""
	}
	return q.On(root).Symbol + " " + then.On(d.Of(root)).Symbol
}

// Symbols returns chord symbols, split by spaces, over which a step's items can
// be asked: those the items name, and where some name none, all the chords of a
// tune that is in work.
func Symbols(items []memory.Item, work []harmony.Chord) string {
	var symbols []string
	add := func(s string) {
		if !slices.Contains(symbols, s) {
			symbols = append(symbols, s)
		}
	}
	nameless := false
	for _, it := range items {
		if s := symbolFor(it); s != "" {
			add(s)
		} else {
			nameless = true
		}
	}
	if nameless {
		for _, c := range work {
			add(c.Symbol)
		}
	}
	return strings.Join(symbols, " ")
}

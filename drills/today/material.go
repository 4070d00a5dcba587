package today

import (
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/harmony"
)

// endings gives for a degree the ending of a chord symbol that has it, so that
// spelling it can be asked of a root alone.
var endings = map[string]string{
	"1": "", "3": "", "5": "", "b3": "m", "b5": "m7b5", "#5": "aug", "6": "6", "bb7": "dim7", "b7": "7", "7": "maj7",
	"2": "sus2", "4": "sus4", "b9": "7b9", "9": "9", "#9": "7#9", "11": "m11", "#11": "7#11", "13": "13", "b13": "7b13",
}

// symbolFor returns a chord symbol over which an item can be asked; "" where
// the item does not say, and only its tune can ask it.
func symbolFor(it memory.Item) string {
	symbol := it.Root + it.Quality
	switch it.Kind {
	case memory.Find, memory.Name:
	case memory.Spell:
		ending, ok := endings[it.Degree]
		if !ok {
			return ""
		}
		symbol = it.Root + ending
	default:
		return ""
	}
	if _, err := harmony.ParseChord(symbol); err != nil {
		return ""
	}
	return symbol
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

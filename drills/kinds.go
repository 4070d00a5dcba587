package drills

import (
	"fmt"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Kind is a kind of question.
type Kind struct {
	// Name is the word for it in commands and items.
	Name memory.Kind
	// Title is what screens and lines of text call it, the name where it is empty.
	Title string
	// Says tells a player in a few words what it trains.
	Says string
	// Ordered is set where the questions are a walk, to be asked one after the
	// other as Draw gives them.
	Ordered bool
	// Needs is what the questions are about beyond chords alone, in words.
	Needs string
	// Draw makes every question there is in some material, in an order that
	// depends on the material alone. An error says what the material lacks.
	Draw func(Material) ([]Question, error)
}

// Kinds are all the kinds of questions, in the order a player meets them.
var Kinds = []Kind{
	findKind,
	nameKind,
	spellKind,
	lineKind,
	approachKind,
	leadingKind,
	shapeKind,
	buildKind,
	sameKind,
	nearKind,
	earKind,
	hitsKind,
}

// TitleOf is what players call a drill.
func TitleOf(name string) string {
	for _, k := range Kinds {
		if string(k.Name) == name && k.Title != "" {
			return k.Title
		}
	}
	return name
}

// Mixed is the name that stands for every kind that can be mixed.
const Mixed = "mixed"

// KindNames lists the names of the kinds: "find, name, spell".
func KindNames() string {
	var names []string
	for _, k := range Kinds {
		names = append(names, string(k.Name))
	}
	return strings.Join(names, ", ")
}

// KindsNamed finds a kind by its name, or all that can be mixed by Mixed. The
// error lists the names there are.
func KindsNamed(name string) ([]Kind, error) {
	var mixed []Kind
	for _, k := range Kinds {
		if string(k.Name) == name {
			return []Kind{k}, nil
		}
		if !k.Ordered {
			mixed = append(mixed, k)
		}
	}
	if name == Mixed {
		return mixed, nil
	}
	return nil, fmt.Errorf("no drill is called %q: use %s or %s", name, KindNames(), Mixed)
}

// Material is what questions are drawn from: a tune, or chords alone.
type Material struct {
	// Name is its name on the command line, Title what a player calls it.
	Name, Title string
	// Tune is nil where the material is chords alone.
	Tune *tune.Tune
	// Chords are the different chords to ask about, in the order they come.
	Chords []harmony.Chord
	Neck   fretboard.Neck
	// Hand is the player's; its zero value stands for fretboard.DefaultHand.
	Hand fretboard.Hand
}

// OfTune makes material of a tune by its name on the command line: its chords, each once, in the order of the
// sections.
func OfTune(name string, t *tune.Tune, neck fretboard.Neck) Material {
	m := Material{Name: name, Title: t.Title, Tune: t, Neck: neck}
	seen := map[harmony.Identity]bool{}
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			for _, c := range b.Chords {
				if id := c.Chord.Identity(); !c.Chord.None && !seen[id] {
					seen[id] = true
					m.Chords = append(m.Chords, c.Chord)
				}
			}
		}
	}
	return m
}

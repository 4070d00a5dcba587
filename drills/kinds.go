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
	// Says tells a player in a few words what it trains.
	Says string
	// Ordered is set where the questions are a walk, to be asked one after the
	// other as Draw gives them.
	Ordered bool
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
	shapeKind,
	buildKind,
	sameKind,
}

// KindNamed finds a kind by its name. The error lists the names there are.
func KindNamed(name string) (Kind, error) {
	names := make([]string, len(Kinds))
	for i, k := range Kinds {
		if string(k.Name) == name {
			return k, nil
		}
		names[i] = string(k.Name)
	}
	return Kind{}, fmt.Errorf("no kind of question is called %q: use %s", name, strings.Join(names, ", "))
}

// Material is what questions are drawn from: a tune, or chords alone.
type Material struct {
	// Name is its name on the command line, Title what a player calls it.
	Name, Title string
	// Tune is nil where the material is chords alone.
	Tune *tune.Tune
	// Chords are the different chords to ask about, in the order they come.
	Chords []harmony.Chord
	// Line is the tune's bass line through its form, and Sections the name of each
	// bar's section.
	Line     []tune.LineNote
	Sections []string
	Neck     fretboard.Neck
	// Hand is the player's; its zero value stands for fretboard.DefaultHand.
	Hand fretboard.Hand
}

// OfTune makes material of a tune by its name on the command line: its chords, each once, in the order of the
// sections.
func OfTune(name string, t *tune.Tune, neck fretboard.Neck) Material {
	m := Material{Name: name, Title: t.Title, Tune: t, Neck: neck}
	seen := map[string]bool{}
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			for _, c := range b.Chords {
				if !c.Chord.None && !seen[c.Chord.Symbol] {
					seen[c.Chord.Symbol] = true
					m.Chords = append(m.Chords, c.Chord)
				}
			}
		}
	}
	return m
}

// qualityOf returns a chord's quality as its symbol writes it after the root.
func qualityOf(c harmony.Chord) string {
	s := strings.TrimLeft(c.Symbol, "ABCDEFG")
	s = strings.TrimLeft(s, "b#♭♯")
	s, _, _ = strings.Cut(s, "/")
	return s
}

package tune

import (
	"fmt"
	"slices"
	"strings"
)

// Layer says how much of an arrangement is asked.
type Layer uint8

// The layers, each with what the one before has.
const (
	Bass        Layer = iota // the line alone
	BassChanges              // plus one hit for each chord
	BassHalves               // plus every other hit
)

var layerNames = []string{Bass: "bass", BassChanges: "bass+changes", BassHalves: "bass+halves"}

// String returns the layer's name as commands take it.
func (l Layer) String() string { return layerNames[l] }

// Title is what players call the layer.
func (l Layer) Title() string {
	switch l {
	case Bass:
		return "bass"
	case BassChanges:
		return "+ changes"
	}
	return "+ every hit"
}

// LayerNames lists the names of the layers for a message.
func LayerNames() string { return strings.Join(layerNames, ", ") }

// ParseLayer reads a layer's name. The error says which there are.
func ParseLayer(s string) (Layer, error) {
	if i := slices.Index(layerNames, s); i >= 0 {
		return Layer(i), nil
	}
	return 0, fmt.Errorf("there is no layer %q; write one of %s", s, LayerNames())
}

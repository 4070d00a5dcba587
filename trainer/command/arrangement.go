package command

import (
	"fmt"

	"github.com/spf13/cobra"

	"footfall/fretboard"
)

// addLayerFlag adds --layer, all of the arrangement unless given.
func addLayerFlag(cmd *cobra.Command, layer *string) {
	cmd.Flags().StringVar(layer, "layer", fretboard.BassHalves.String(), "how much of the arrangement: "+fretboard.LayerNames())
}

// arrangement reads a TUNE argument and arranges it on the player's neck.
func (p *program) arrangement(cmd *cobra.Command, arg, layerName string) (*fretboard.Arrangement, error) {
	layer, err := fretboard.ParseLayer(layerName)
	if err != nil {
		return nil, badInput(err)
	}
	t, err := readTune(cmd, arg)
	if err != nil {
		return nil, err
	}
	neck, hand := p.settings.Instrument()
	a, err := fretboard.Arrange(t, neck, hand, layer)
	if err != nil {
		return nil, badInput(fmt.Errorf("%s: %w", tuneName(arg), err))
	}
	return a, nil
}

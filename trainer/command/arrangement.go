package command

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// addLayerFlag adds --layer, all of the arrangement unless given.
func addLayerFlag(cmd *cobra.Command, layer *string) {
	cmd.Flags().StringVar(layer, "layer", fretboard.BassHalves.String(), "how much of the arrangement: "+tune.LayerNames())
	completeFlag(cmd, "layer", strings.Split(tune.LayerNames(), ", "))
}

// addCompingFlag adds --comping, a rhythm in the place of the tune's own hits.
func addCompingFlag(cmd *cobra.Command, comping *string) {
	cmd.Flags().StringVar(comping, "comping", "", "comp in this rhythm instead of the tune's hits: "+tune.CompingNames())
	completeFlag(cmd, "comping", strings.Split(tune.CompingNames(), ", "))
}

// comped gives a tune the rhythm that a flag names, "" for its own hits.
func comped(t *tune.Tune, name string) (*tune.Tune, error) {
	if name == "" {
		return t, nil
	}
	c, err := tune.ParseComping(name)
	if err != nil {
		return nil, badInput(err)
	}
	return t.WithComping(c), nil
}

// arrangement reads a TUNE argument and arranges it on the player's neck, in
// another key where one is named.
func (p *program) arrangement(cmd *cobra.Command, arg, layerName, keyName, comping string) (*fretboard.Arrangement, error) {
	layer, err := tune.ParseLayer(layerName)
	if err != nil {
		return nil, badInput(err)
	}
	t, err := readTune(cmd, arg)
	if err != nil {
		return nil, err
	}
	if t, err = comped(t, comping); err != nil {
		return nil, err
	}
	neck, hand := p.settings.Instrument()
	var a *fretboard.Arrangement
	if keyName == "" {
		a, err = fretboard.Arrange(t, neck, hand, layer)
	} else {
		a, err = arrangeInKey(cmd, t, keyName, neck, hand, layer)
	}
	if err != nil {
		return nil, badInput(fmt.Errorf("%s: %w", tuneName(cmd, arg), err))
	}
	return a, nil
}

// arrangeInKey arranges a tune in another key, and says on standard error where
// its line had to be folded.
func arrangeInKey(cmd *cobra.Command, t *tune.Tune, name string, neck fretboard.Neck, hand fretboard.Hand, layer fretboard.Layer) (*fretboard.Arrangement, error) {
	k, err := harmony.ParseKey(name)
	if err != nil {
		return nil, fmt.Errorf("--key %w", err)
	}
	a, folded, err := fretboard.ArrangeInKey(t, k, neck, hand, layer)
	if folded > 0 {
		fmt.Fprintf(cmd.ErrOrStderr(), "footfall: in %s the line would leave the bass strings; %d of its notes take the other direction\n", k, folded)
	}
	return a, err
}

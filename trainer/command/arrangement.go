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

// addSchoolFlag adds --school, that of the settings unless given.
func addSchoolFlag(cmd *cobra.Command, school *string) {
	cmd.Flags().StringVar(school, "school", "", "draw the shapes from a school, that of the settings unless given: "+fretboard.SchoolNames())
	completeFlag(cmd, "school", strings.Split(fretboard.SchoolNames(), ", "))
}

// school reads --school.
func (p *program) school(name string) (fretboard.School, error) {
	if name == "" {
		return p.settings.School(), nil
	}
	return fretboard.ParseSchool(name)
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

// asked is what flags ask of an arrangement, by name; "" stands for the tune's own
// key and hits and for the settings' school, 0 for the tune's tempo.
type asked struct {
	layer, key, comping, school string
	tempo                       float64
}

// arrangement reads a TUNE argument and arranges it on the player's neck.
func (p *program) arrangement(cmd *cobra.Command, arg string, as asked) (*fretboard.Arrangement, error) {
	layer, err := tune.ParseLayer(as.layer)
	if err != nil {
		return nil, badInput(err)
	}
	school, err := p.school(as.school)
	if err != nil {
		return nil, badInput(err)
	}
	options := []fretboard.Option{fretboard.InSchool(school), fretboard.AtTempo(as.tempo)}
	t, err := readTune(cmd, arg)
	if err != nil {
		return nil, err
	}
	if t, err = comped(t, as.comping); err != nil {
		return nil, err
	}
	neck, hand := p.settings.Instrument()
	var a *fretboard.Arrangement
	if as.key == "" {
		a, err = fretboard.Arrange(t, neck, hand, layer, options...)
	} else {
		a, err = p.arrangeInKey(cmd, t, as.key, neck, hand, layer, options)
	}
	if err != nil {
		return nil, badInput(inFile(tuneName(cmd, arg), err))
	}
	return a, nil
}

// arrangeInKey arranges a tune in another key, and says on standard error where
// its line had to be folded.
func (p *program) arrangeInKey(cmd *cobra.Command, t *tune.Tune, name string, neck fretboard.Neck, hand fretboard.Hand, layer fretboard.Layer, options []fretboard.Option) (*fretboard.Arrangement, error) {
	k, err := harmony.ParseKey(name)
	if err != nil {
		return nil, fmt.Errorf("--key %w", err)
	}
	a, folded, err := fretboard.ArrangeInKey(t, k, neck, hand, layer, options...)
	if folded > 0 {
		p.warn(cmd, fmt.Sprintf("in %s the line would leave the bass strings; %d of its notes take the other direction", k, folded))
	}
	return a, err
}

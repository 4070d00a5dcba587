// Package command is the command line of Footfall: it reads arguments, asks
// the pure rooms and prints. It computes no music and draws no screens.
package command

import (
	"github.com/spf13/cobra"
)

// New returns the whole command tree, ready to execute.
func New() *cobra.Command {
	root := &cobra.Command{
		Use:           "footfall",
		Short:         "Practise walking bass lines and chords on one guitar",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	return root
}

package command

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/session"
)

// addPortFlag adds --port to a command that listens.
func addPortFlag(cmd *cobra.Command, port *string) {
	cmd.Flags().StringVar(port, "port", "", "the input: a port's name or a path")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("port", completePorts))
}

// completePorts completes --port: the inputs that are there, then files.
func completePorts(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	ports, err := listen.Ports()
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	names := make([]string, len(ports))
	for i, p := range ports {
		names[i] = p.Name
	}
	return names, cobra.ShellCompDirectiveDefault
}

// inputs is where ports and what was learned of them are remembered.
func (p *program) inputs() listen.Store {
	return session.Inputs(p.data)
}

// pickPort settles on a port: the one named, the one of the settings, the one
// used last, or the only one there is; "" where there is none. Several to pick
// from are bad input.
func (p *program) pickPort(named string) (string, error) {
	if named == "" {
		named = p.settings.Listen.Port
	}
	if named != "" {
		return fromAnywhere(named)
	}
	last, err := p.inputs().Last()
	if err != nil || last != "" {
		return last, err
	}
	there, err := listen.Ports()
	if err != nil || len(there) == 0 {
		return "", err
	}
	names := make([]string, len(there))
	for i, port := range there {
		names[i] = port.Name
	}
	if len(names) > 1 {
		return "", badInput(fmt.Errorf("there are several inputs: give one with --port: %s", strings.Join(names, ", ")))
	}
	return names[0], nil
}

// fromAnywhere makes a path one that is found again from another folder; names of
// ports stay as they are.
func fromAnywhere(port string) (string, error) {
	if strings.ContainsRune(port, filepath.Separator) {
		return filepath.Abs(port)
	}
	return port, nil
}

// delay is the settings' own, of a port of which none was learned.
func (p *program) delay() time.Duration {
	return time.Duration(p.settings.Listen.DelayMS * float64(time.Millisecond))
}

// openPort opens a port with what was learned of it and remembers it as the one
// used last. Its notes are stamped from epoch on.
func (p *program) openPort(port string, epoch time.Time) (listen.Input, error) {
	port, err := fromAnywhere(port)
	if err != nil {
		return nil, err
	}
	in, err := p.inputs().Open(port, func() time.Duration { return clock.Since(epoch) }, p.delay())
	if err != nil {
		return nil, badInput(err)
	}
	return in, nil
}

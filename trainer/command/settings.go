package command

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"footfall/trainer/settings"
)

// maxSettingsBytes bounds what is read as a settings file.
const maxSettingsBytes = 1 << 20

func newSettingsCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "settings",
		Short: "Show your settings, or check a settings file",
		Long: `Show the settings that hold, each with what it does and its default, as the text
of a settings file. To change one, write the file at the path in its first line:

    footfall settings > FILE`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(p.settings)
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "# File: %s\n%s", settings.Path(), settings.Text(p.settings))
			return err
		},
	}
	cmd.AddCommand(&cobra.Command{
		Use:   "check [FILE]",
		Short: "Name each unknown setting and bad value with its line",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			path := settings.Path()
			if len(args) > 0 {
				path = args[0]
			}
			return checkSettings(cmd, path, p.json)
		},
	})
	return cmd
}

func checkSettings(cmd *cobra.Command, path string, asJSON bool) error {
	text, err := readInput(cmd, path, maxSettingsBytes)
	if err != nil {
		return err
	}
	_, err = settings.Read(text)
	faults, _ := err.(settings.Faults)
	if asJSON {
		if faults == nil {
			faults = settings.Faults{}
		}
		if err := json.NewEncoder(cmd.OutOrStdout()).Encode(faults); err != nil {
			return err
		}
	}
	if err != nil {
		return badInput(fmt.Errorf("%s:\n%w", path, err))
	}
	if !asJSON {
		fmt.Fprintf(cmd.OutOrStdout(), "%s: every setting is good\n", path)
	}
	return nil
}

package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/settings"
)

func newSettingsCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "settings",
		Short: "Show your settings, or check a settings file",
		Example: "  footfall settings\n" +
			"  footfall settings new",
		Long: `Show the settings that hold, each with what it does and its default, as the text
of a settings file. To change one, open the file that the first line names in an
editor; where there is none yet, footfall settings new writes it.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(p.settings)
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "# File: %s\n%s", p.settingsPath(), settings.Text(p.settings))
			return err
		},
	}
	cmd.AddCommand(newSettingsCheckCommand(p), newSettingsNewCommand(p))
	return cmd
}

func newSettingsNewCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:     "new",
		Short:   "Write the settings file, each setting with its default, where there is none",
		Example: "  footfall settings new",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			path := p.ownSettingsPath()
			err := settings.New(path)
			switch {
			case errors.Is(err, fs.ErrExist):
				return badInput(fmt.Errorf("%s is there already and is left as it is; change it in an editor", path))
			case err != nil:
				return unwritten(path, err)
			case p.json:
				return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]string{"file": path})
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Written to %s: change a line there, and it holds from the next start on.\n", path)
			return nil
		},
	}
}

func newSettingsCheckCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "check [FILE | -]",
		Short: "Name each unknown setting and bad value with its line",
		Example: "  footfall settings check\n" +
			"  footfall settings check other.toml",
		Args: cobra.MaximumNArgs(1),
		// The file is checked here, not told of on the way in.
		PersistentPreRunE: nothingEmpty,
		RunE: func(cmd *cobra.Command, args []string) error {
			path := p.settingsPath()
			if len(args) > 0 {
				path = args[0]
			} else if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) && !p.json {
				fmt.Fprintf(cmd.OutOrStdout(), "%s is not there, so every setting has its default; `footfall settings new` writes it\n", path)
				return nil
			}
			return p.checkSettings(cmd, path)
		},
	}
}

func (p *program) checkSettings(cmd *cobra.Command, path string) error {
	text, err := readInput(cmd, path, settings.MaxBytes)
	if p.json && errors.Is(err, fs.ErrNotExist) && path == p.settingsPath() {
		text, err = nil, nil // every setting has its default
	}
	if err != nil {
		return err
	}
	_, err = settings.Read(text)
	faults, _ := err.(harmony.Faults)
	switch {
	case err != nil && faults == nil:
		return badInput(inFile(path, err))
	case p.json:
		if err := json.NewEncoder(cmd.OutOrStdout()).Encode(append(harmony.Faults{}, faults...)); err != nil {
			return err
		}
	case len(faults) == 0:
		fmt.Fprintf(cmd.OutOrStdout(), "%s: every setting is good\n", source(path))
	default:
		for _, f := range faults {
			fmt.Fprintf(cmd.ErrOrStderr(), "%s: %v\n", source(path), f)
		}
	}
	if len(faults) > 0 {
		return badInput(fmt.Errorf("%s found", harmony.Counted(len(faults), "fault")))
	}
	return nil
}

// Package command is the command line of Footfall: it reads arguments, asks
// the pure rooms and prints. It computes no music and draws no screens.
package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/settings"
)

// Exit codes of the program.
const (
	ExitFailure  = 1 // something outside the input went wrong
	ExitBadInput = 2 // an argument or a file is at fault
)

// program is what the commands share: the flags that all of them take.
type program struct {
	json bool
	// plain asks for whole lines of text in the place of screens, tables and drawings.
	plain bool
	// events lets a program sit in for the player, by lines of JSON.
	events bool
	// data is the folder of the history, "" for the user's own.
	data     string
	settings settings.Settings
	// clock tells the time; nil is the machine's.
	clock *clock.Clock
	// colorless is set where the screens tell by weight and underline alone.
	colorless bool
	// warnings are what was told before anything was asked for.
	warnings []string
}

// warn tells of something that is wrong but does not end the command: on
// standard error, and on the screens that open over it.
func (p *program) warn(cmd *cobra.Command, says string) {
	says = cut(says)
	if p.json {
		_ = json.NewEncoder(cmd.ErrOrStderr()).Encode(map[string]string{"warning": says})
	} else {
		fmt.Fprintln(cmd.ErrOrStderr(), "footfall:", says)
	}
	p.warnings = append(p.warnings, says)
}

// New returns the whole command tree, ready to execute, that answers on out, on
// standard output for nil. The completion commands take it when they are made.
func New(out io.Writer) *cobra.Command {
	p := &program{}
	root := &cobra.Command{
		Use:           "footfall",
		Short:         "Practice walking bass lines and chords on one guitar",
		SilenceUsage:  true,
		SilenceErrors: true,
		Example:       "  footfall\n  footfall today --plain\n  footfall play lantern-street",
	}
	version := root.Flags().Bool("version", false, "say which release this is and how it was built")
	root.RunE = func(cmd *cobra.Command, _ []string) error {
		if *version {
			return p.printVersion(cmd)
		}
		return p.runBare(cmd)
	}
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", helpWidth)))
	root.SetOut(out)
	root.PersistentFlags().StringVar(&p.data, "data", "", "keep the history and your tunes in this folder; a settings.toml in it holds too")
	root.PersistentPreRunE = func(cmd *cobra.Command, args []string) (err error) {
		if err := nothingEmpty(cmd, args); err != nil {
			return err
		}
		if p.clock, err = clock.Set(os.Getenv(clock.Variable), time.Local); err != nil {
			return badInput(err)
		}
		if at, err := os.Stat(p.data); err == nil && !at.IsDir() {
			return badInput(fmt.Errorf("--data %s is a file; name a folder", p.data))
		}
		set, err := settings.Load(p.settingsPath())
		p.settings = set
		var faults harmony.Faults
		if errors.As(err, &faults) {
			for _, f := range faults {
				p.warn(cmd, fmt.Sprintf("%s: %v", p.settingsPath(), f))
			}
		} else if err != nil {
			p.warn(cmd, err.Error())
		}
		p.convertTunes(cmd)
		return nil
	}
	root.PersistentFlags().BoolVar(&p.plain, "plain", false, "ask and answer in whole lines, without screens, tables or drawings")
	root.PersistentFlags().BoolVar(&p.json, "json", false, "answer in JSON")
	root.AddCommand(newArrangeCommand(p))
	root.AddCommand(newChordCommand(p))
	root.AddCommand(newHearCommand(p))
	root.AddCommand(newListenCommand(p))
	root.AddCommand(newLogCommand(p))
	root.AddCommand(newReviewCommand(p))
	root.AddCommand(newPlayCommand(p))
	root.AddCommand(newScoreCommand(p))
	root.AddCommand(newSettingsCommand(p))
	root.AddCommand(newDrillCommand(p))
	root.AddCommand(newSheetCommand(p))
	root.AddCommand(newTodayCommand(p))
	root.AddCommand(newTuneCommand(p))
	root.AddCommand(newVersionCommand(p), newManualCommand(p))
	root.AddCommand(newShapeCommand(p), newShapesCommand(p))
	root.AddCommand(newWalkCommand(p))

	wordArguments(root)
	markFailures(root)
	return root
}

// helpWidth is the width that help keeps to, in columns.
const helpWidth = 99

// settingsPath is the settings file: that in the folder of --data where it has one,
// else the user's own.
func (p *program) settingsPath() string {
	if p.data != "" {
		own := filepath.Join(p.data, filepath.Base(settings.Path()))
		if _, err := os.Stat(own); err == nil {
			return own
		}
	}
	return settings.Path()
}

// ownSettingsPath is the settings file that is written: that in the folder of --data
// where it is given, else the user's own.
func (p *program) ownSettingsPath() string {
	if p.data != "" {
		return filepath.Join(p.data, filepath.Base(settings.Path()))
	}
	return settings.Path()
}

// inputError is an error whose cause is what the player wrote.
type inputError struct{ error }

func (e inputError) Unwrap() error { return e.error }

// badInput marks an error as the input's fault, for exit code 2.
func badInput(err error) error { return inputError{err} }

// failure is an error that came while a command ran, by no fault of the input.
type failure struct{ error }

func (e failure) Unwrap() error { return e.error }

// markFailures tells errors of running commands from those of the command line
// itself: unknown commands and flags, missing and surplus arguments.
func markFailures(cmd *cobra.Command) {
	if run := cmd.RunE; run != nil {
		cmd.RunE = func(cmd *cobra.Command, args []string) error {
			if err := run(cmd, args); err != nil {
				return failure{err}
			}
			return nil
		}
	}
	for _, sub := range cmd.Commands() {
		markFailures(sub)
	}
}

// ExitCode returns the code to exit with after err: 0 for none, ExitFailure
// where a command failed that was asked rightly, else ExitBadInput.
func ExitCode(err error) int {
	var input inputError
	var failed failure
	switch {
	case err == nil:
		return 0
	case errors.As(err, &failed) && !errors.As(err, &input):
		return ExitFailure
	default:
		return ExitBadInput
	}
}

package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"footfall/harmony"
	"footfall/trainer/nearest"
)

// wordArguments puts the command line's own errors into words for all commands
// below cmd: what was found, and what would do.
func wordArguments(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	root.InitDefaultHelpCmd()
	var each func(*cobra.Command)
	each = func(cmd *cobra.Command) {
		check := cmd.Args
		switch {
		case cmd.HasSubCommands():
			cmd.Args = func(cmd *cobra.Command, args []string) error {
				if len(args) == 0 {
					return nil
				}
				return noCommand(cmd, args[0])
			}
			if !cmd.Runnable() {
				cmd.RunE = func(cmd *cobra.Command, _ []string) error {
					if asJSON, err := cmd.Flags().GetBool("json"); err == nil && asJSON {
						names := strings.Join(commandNames(cmd), ", ")
						return badInput(fmt.Errorf("%s needs a command: one of %s", strings.TrimPrefix(cmd.CommandPath(), "footfall "), names))
					}
					return cmd.Help()
				}
			}
		case cmd.Name() == "help":
			cmd.Args = func(_ *cobra.Command, args []string) error {
				found, left, err := root.Find(args)
				if err != nil || len(left) > 0 {
					return noCommand(found, args[len(args)-max(1, len(left))])
				}
				return nil
			}
		case check != nil:
			cmd.Args = func(cmd *cobra.Command, args []string) error {
				if check(cmd, args) == nil {
					return nil
				}
				found := "an argument is missing"
				for i := range args {
					if check(cmd, args[:i]) == nil && check(cmd, args[:i+1]) != nil {
						found = fmt.Sprintf("%q is one argument too many", args[i])
						if i > 0 {
							found += "; a name with spaces goes in quotation marks"
						}
						break
					}
				}
				return fmt.Errorf("%s; write: %s", found, cmd.UseLine())
			}
		}
		for _, sub := range cmd.Commands() {
			each(sub)
		}
	}
	each(root)
	root.SetFlagErrorFunc(flagError)
}

// flagError puts an error about a flag into words.
func flagError(cmd *cobra.Command, err error) error {
	var (
		unknown *pflag.NotExistError
		bare    *pflag.ValueRequiredError
		invalid *pflag.InvalidValueError
	)
	switch {
	case errors.As(err, &unknown):
		var flags []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) { flags = append(flags, "--"+f.Name) })
		given := "--" + unknown.GetSpecifiedName()
		if short := unknown.GetSpecifiedShortnames(); short != "" {
			given = "-" + short
		}
		return fmt.Errorf("%s has no flag %s: %s", strings.TrimPrefix(cmd.CommandPath(), "footfall "), given, nearest.Advice(given, flags))
	case errors.As(err, &bare):
		return fmt.Errorf("--%s needs a value: %s", bare.GetFlag().Name, bare.GetFlag().Usage)
	case errors.As(err, &invalid):
		want := "another value"
		switch f := invalid.GetFlag(); f.Value.Type() {
		case "float64":
			want = "a number"
		case "int":
			want = "a whole number"
		case "uint64":
			want = "a whole number from 0"
		case "bool":
			want = "true or false"
		case "duration":
			want = "a time such as 20s or 2m"
		}
		return fmt.Errorf("--%s %s: give %s", invalid.GetFlag().Name, invalid.GetValue(), want)
	}
	return err
}

// nothingEmpty reports an argument or the value of a flag that is given and empty.
func nothingEmpty(cmd *cobra.Command, args []string) error {
	if strings.HasPrefix(cmd.Name(), "__") {
		return nil // the shell completes what is empty still
	}
	for i, a := range args {
		if a == "" {
			return badInput(fmt.Errorf("argument %d is empty; write: %s", i+1, cmd.UseLine()))
		}
	}
	var err error
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Value.Type() == "string" && f.Value.String() == "" && err == nil {
			err = badInput(fmt.Errorf("--%s is empty; give %s, or leave it out", f.Name, f.Usage))
		}
	})
	return err
}

// oneOf reports flags of which only one can be given and two are.
func oneOf(cmd *cobra.Command, flags ...string) error {
	var given []string
	for _, f := range flags {
		if cmd.Flags().Changed(f) {
			given = append(given, "--"+f)
		}
	}
	if len(given) < 2 {
		return nil
	}
	return badInput(fmt.Errorf("%s do not go together: give one of them", strings.Join(given, " and ")))
}

// noCommand says that cmd has no command of the name, and which it has.
func noCommand(cmd *cobra.Command, name string) error {
	names := commandNames(cmd)
	if len(names) == 0 {
		return fmt.Errorf("%s has no command %q", cmd.CommandPath(), name)
	}
	return fmt.Errorf("no command is called %q: %s", name, nearest.Advice(name, names))
}

// commandNames returns the names of the commands below cmd.
func commandNames(cmd *cobra.Command) (names []string) {
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return names
}

// completeFlag lets the shell complete a flag's value from a list of words.
func completeFlag(cmd *cobra.Command, flag string, words []string) {
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)))
}

// addKeyFlag adds --key, with all keys to complete it.
func addKeyFlag(cmd *cobra.Command, key *string, usage string) {
	cmd.Flags().StringVar(key, "key", "", usage)
	var names []string
	for fifths := -6; fifths <= 6; fifths++ {
		names = append(names, harmony.KeyOf(fifths, false).String(), harmony.KeyOf(fifths, true).String())
	}
	completeFlag(cmd, "key", names)
}

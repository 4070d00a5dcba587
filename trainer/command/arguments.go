package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
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
				cmd.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
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
				if len(args) > 0 {
					found = fmt.Sprintf("%q is not what it takes", strings.Join(args, " "))
				}
				return fmt.Errorf("%s; write: %s", found, cmd.UseLine())
			}
		}
		for _, sub := range cmd.Commands() {
			each(sub)
		}
	}
	each(root)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		var invalid *pflag.InvalidValueError
		if !errors.As(err, &invalid) {
			return err
		}
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
	})
}

// noCommand says that cmd has no command of the name, and which it has.
func noCommand(cmd *cobra.Command, name string) error {
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	if len(names) == 0 {
		return fmt.Errorf("%s has no command %q", cmd.CommandPath(), name)
	}
	return fmt.Errorf("no command is called %q: use %s", name, strings.Join(names, ", "))
}

// completeFlag lets the shell complete a flag's value from a list of words.
func completeFlag(cmd *cobra.Command, flag string, words []string) {
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)))
}

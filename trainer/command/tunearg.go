package command

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/trainer/tunebook"
)

// maxTuneBytes bounds what is read as a tune; a 500-bar tune takes a hundredth.
const maxTuneBytes = 4 << 20

// readTune reads a TUNE argument: the name of a tune, the player's own or
// built in, the path of a file, or - for standard input. Faults of the text and arguments that name no
// tune are bad input.
func readTune(cmd *cobra.Command, arg string) (*tune.Tune, error) {
	text, err := tuneText(cmd, arg)
	if err != nil {
		return nil, err
	}
	t, faults := tune.Read(text)
	if len(faults) > 0 {
		return nil, badInput(fmt.Errorf("%s is no tune yet:\n%w", tuneSource(arg), faults))
	}
	return t, nil
}

// tuneText returns the text that a TUNE argument names.
func tuneText(cmd *cobra.Command, arg string) (string, error) {
	from := arg
	if path := tunePath(cmd, arg); path != "" {
		from = path
	} else if text, ok := content.TuneText(arg); ok {
		return text, nil
	}
	data, err := readInput(cmd, from, maxTuneBytes)
	if errors.Is(err, os.ErrNotExist) && !strings.ContainsAny(arg, `/\.`) {
		return "", badInput(fmt.Errorf("%q is neither a tune nor a file; `footfall tune list` names the tunes: %s",
			arg, strings.Join(tuneNames(cmd), ", ")))
	}
	return string(data), err
}

// tunePath returns the file that a TUNE argument names: one of the player's own
// tunes, which stand before built-in ones of the same name, or a file; "" for a
// built-in tune and standard input.
func tunePath(cmd *cobra.Command, arg string) string {
	if arg == "-" {
		return ""
	}
	if !strings.ContainsAny(arg, `/\`) {
		path := ownTunes(cmd).Path(arg)
		if _, err := os.Stat(path); err == nil {
			return path
		}
		if _, ok := content.TuneText(arg); ok {
			return ""
		}
	}
	return arg
}

// ownTunes are the player's own.
func ownTunes(cmd *cobra.Command) tunebook.Book {
	data, _ := cmd.Flags().GetString("data")
	return bookIn(data)
}

// tuneNames returns the names of the tunes there are, in alphabetical order.
func tuneNames(cmd *cobra.Command) []string {
	names := content.TuneNames()
	own, _ := ownTunes(cmd).Tunes()
	for _, t := range own {
		names = append(names, t.Name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// readInput reads the file of an argument, or standard input for -. A file that
// cannot be read or is longer than most bytes is bad input.
func readInput(cmd *cobra.Command, arg string, most int64) ([]byte, error) {
	in := cmd.InOrStdin()
	if arg != "-" {
		f, err := os.Open(arg)
		if err != nil {
			return nil, badInput(err)
		}
		defer f.Close()
		if info, err := f.Stat(); err == nil && info.IsDir() {
			return nil, badInput(fmt.Errorf("%s is a folder; name a file", arg))
		}
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, most+1))
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > most {
		return nil, badInput(fmt.Errorf("%s is longer than %d MB; name a smaller file", tuneSource(arg), most>>20))
	}
	return data, nil
}

// tuneSource names where a TUNE argument's text comes from.
func tuneSource(arg string) string {
	if arg == "-" {
		return "standard input"
	}
	return arg
}

// tuneName names a TUNE argument's tune for lists and files: the built-in name,
// or the file's name without its folder and ending.
func tuneName(arg string) string {
	if _, ok := content.TuneText(arg); ok || arg == "-" {
		return tuneSource(arg)
	}
	base := filepath.Base(arg)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// completeTunes completes a TUNE argument: names, then files.
func completeTunes(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	return tuneNames(cmd), cobra.ShellCompDirectiveDefault
}

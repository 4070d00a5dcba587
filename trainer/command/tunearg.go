package command

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/harmony/tune"
)

// maxTuneBytes bounds what is read as a tune; a 500-bar tune takes a hundredth.
const maxTuneBytes = 4 << 20

// readTune reads a TUNE argument: the name of a built-in tune, the path of a
// file, or - for standard input. Faults of the text and arguments that name no
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
	if text, ok := content.TuneText(arg); ok {
		return text, nil
	}
	data, err := readInput(cmd, arg, maxTuneBytes)
	if errors.Is(err, os.ErrNotExist) && !strings.ContainsAny(arg, `/\.`) {
		return "", badInput(fmt.Errorf("%q is neither a built-in tune nor a file; `footfall tune list` names the tunes: %s",
			arg, strings.Join(content.TuneNames(), ", ")))
	}
	return string(data), err
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

// completeTunes completes a TUNE argument: built-in names, then files.
func completeTunes(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return content.TuneNames(), cobra.ShellCompDirectiveDefault
}

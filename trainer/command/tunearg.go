package command

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/trainer/nearest"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// maxTuneBytes bounds what is read as a tune: as many bars as there may be, with all their
// rows, take less.
const maxTuneBytes = 2 << 20

// readTune reads a TUNE argument: the name or title of a tune, the player's own or
// built in, the path of a file, or - for standard input. Faults of the text and
// arguments that name no tune are bad input.
func readTune(cmd *cobra.Command, arg string) (*tune.Tune, error) {
	return readTuneBy(cmd, arg, tune.Read)
}

// readTuneBy reads a TUNE argument in one of the ways there are to read its text.
func readTuneBy(cmd *cobra.Command, arg string, read func(string) (*tune.Tune, tune.Faults)) (*tune.Tune, error) {
	text, err := tuneText(cmd, arg)
	if err != nil {
		return nil, err
	}
	t, faults := read(text)
	if len(faults) > 0 {
		return nil, badInput(fileError{arg, fmt.Sprintf("%s is no tune yet:\n%v", source(arg), faults), faults})
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
	} else if t, ok := ofLesson(cmd, arg); ok && arg != "-" {
		return tune.Write(t.Tune), nil
	}
	data, err := readInput(cmd, from, maxTuneBytes)
	if !errors.Is(err, fs.ErrNotExist) {
		return string(data), err
	}
	if name, ok := titled(cmd, arg); ok {
		return tuneText(cmd, name)
	}
	names := tuneNames(cmd)
	if _, near := nearest.Word(arg, names); near || !strings.ContainsAny(arg, `/\.`) {
		err = badInput(fmt.Errorf("%q is neither a tune nor a file: %s", arg, nearest.Advice(arg, names)))
	}
	return "", err
}

// tunePath returns the file that a TUNE argument names: one of the player's own
// tunes, which stand before built-in ones of the same name, or a file; "" for a
// built-in tune, that of a lesson and standard input.
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
		if _, err := os.Stat(arg); err != nil {
			if name, ok := titled(cmd, arg); ok {
				return tunePath(cmd, name)
			}
			if _, ok := ofLesson(cmd, arg); ok {
				return ""
			}
		}
	}
	return arg
}

// titled returns the name of the tune with a title, in any case.
func titled(cmd *cobra.Command, title string) (string, bool) {
	own, _ := ownTunes(cmd).Tunes()
	for _, t := range own {
		if strings.EqualFold(t.Tune.Title, title) {
			return t.Name, true
		}
	}
	for _, name := range content.TuneNames() {
		if t, ok := content.Tune(name); ok && strings.EqualFold(t.Title, title) {
			return name, true
		}
	}
	return "", false
}

// ofLesson finds the tune of a lesson by its name or title.
func ofLesson(cmd *cobra.Command, arg string) (session.Tune, bool) {
	data, _ := cmd.Flags().GetString("data")
	for _, t := range session.LessonTunes(data) {
		if strings.EqualFold(t.Name, arg) || strings.EqualFold(t.Tune.Title, arg) {
			return t, true
		}
	}
	return session.Tune{}, false
}

// ownTunes are the player's own.
func ownTunes(cmd *cobra.Command) tunebook.Book {
	data, _ := cmd.Flags().GetString("data")
	return session.Book(data)
}

// tuneNames returns the names of the tunes there are, in alphabetical order.
func tuneNames(cmd *cobra.Command) []string {
	names := content.TuneNames()
	own, _ := ownTunes(cmd).Tunes()
	for _, t := range own {
		names = append(names, t.Name)
	}
	data, _ := cmd.Flags().GetString("data")
	for _, t := range session.LessonTunes(data) {
		names = append(names, t.Name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// tuneName names a TUNE argument's tune for lists and files: the name of the one
// with that name or title, or the file's name without its folder and ending.
func tuneName(cmd *cobra.Command, arg string) string {
	if _, ok := content.TuneText(arg); ok || arg == "-" {
		return source(arg)
	}
	if name, ok := titled(cmd, arg); ok {
		return name
	}
	if t, ok := ofLesson(cmd, arg); ok && tunePath(cmd, arg) == "" {
		return t.Name
	}
	base := filepath.Base(arg)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// completeSections completes the name of a section of the TUNE argument.
func completeSections(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	var names []string
	if len(args) == 1 && args[0] != "-" {
		if t, err := readTune(cmd, args[0]); err == nil {
			for _, s := range t.Sections {
				names = append(names, s.Name)
			}
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// completeTunes completes a TUNE argument: names, then files.
func completeTunes(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	return tuneNames(cmd), cobra.ShellCompDirectiveDefault
}

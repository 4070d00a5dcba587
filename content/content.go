// Package content holds what comes with Footfall: tunes and lessons, invented
// here, in the text that their format readers take. It knows nothing of screens,
// drills or settings, and reads no files but its own.
package content

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

//go:embed tunes/*.tune
var files embed.FS

const tuneEnding = ".tune"

// TuneNames returns the names of the built-in tunes, in alphabetical order.
func TuneNames() []string {
	entries, err := fs.ReadDir(files, "tunes")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), tuneEnding))
	}
	slices.Sort(names)
	return names
}

// TuneText returns the text of a built-in tune; false if none has the name.
func TuneText(name string) (string, bool) {
	text, err := files.ReadFile(path.Join("tunes", name+tuneEnding))
	return string(text), err == nil
}

// Tune returns a built-in tune, a new value each time; false if none has the
// name.
func Tune(name string) (*tune.Tune, bool) {
	text, ok := TuneText(name)
	if !ok {
		return nil, false
	}
	t, faults := tune.Read(text)
	if len(faults) > 0 {
		panic(fmt.Sprintf("built-in tune %s: %v", name, faults)) // a test reads them all
	}
	return t, true
}

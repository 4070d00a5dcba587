// Package content holds what comes with Footfall: tunes and lessons, invented
// here, in the text that their format readers take. It knows nothing of screens,
// drills or settings, and reads no files but its own.
package content

import (
	"embed"
	"fmt"
	"path"
	"strings"

	"footfall/harmony/tune"
)

//go:embed tunes/*.tune
var files embed.FS

//go:embed tunes/order.txt
var order string

const tuneEnding = ".tune"

// TuneNames returns the names of the built-in tunes, from easy to hard: by what
// they ask of a player at their tempo.
func TuneNames() []string {
	var names []string
	for line := range strings.Lines(order) {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
			names = append(names, line)
		}
	}
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

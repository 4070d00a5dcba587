//go:build !windows

package command

import (
	"os"
	"path/filepath"
	"strings"
)

// readerGone tells nothing: a reader that goes away has ended the program.
func readerGone(error) bool { return false }

// setZone keeps Go from reading a pipe or a device for the zone that TZ names: it would
// wait for ever.
func setZone() {
	name := strings.TrimPrefix(os.Getenv("TZ"), ":")
	if info, err := os.Stat(name); filepath.IsAbs(name) && err == nil && !info.Mode().IsRegular() {
		os.Setenv("TZ", "UTC")
	}
}

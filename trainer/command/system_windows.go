package command

import (
	"errors"
	"os"
	"time"

	"golang.org/x/sys/windows"
)

// readerGone tells of an error of writing that the program behind a pipe, such as
// more, ended before it had read everything: elsewhere that ends a program in silence.
func readerGone(err error) bool {
	return errors.Is(err, windows.ERROR_BROKEN_PIPE) || errors.Is(err, windows.ERROR_NO_DATA) || errors.Is(err, windows.ERROR_PIPE_NOT_CONNECTED)
}

// setZone takes the zone that TZ names, as Go does by itself elsewhere.
func setZone() {
	if name := os.Getenv("TZ"); name != "" {
		if zone, err := time.LoadLocation(name); err == nil {
			time.Local = zone
		}
	}
}

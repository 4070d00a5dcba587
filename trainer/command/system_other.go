//go:build !windows

package command

// readerGone tells nothing: a reader that goes away has ended the program.
func readerGone(error) bool { return false }

// setZone does nothing: Go has read TZ.
func setZone() {}

// Package racetest keeps tests away from the race detector that can tell it nothing.
// Only tests use it.
package racetest

import "testing"

// Alone skips a test under the race detector: one that is long and does everything in one
// goroutine, or waits for each that it starts. It runs where the detector does not watch.
func Alone(t testing.TB) {
	t.Helper()
	if watched {
		t.Skip("nothing runs beside it, so there is no race to find")
	}
}

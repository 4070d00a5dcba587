//go:build !windows

package main_test

import (
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The system ends the program, or the terminal is closed: the screen is given
// back and the program ends well.
func TestSignalsEndTheScreensInGoodOrder(t *testing.T) {
	for _, sig := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT} {
		x := onTerminal(t, program(t, t.TempDir()))
		x.wait("Footfall")
		require.NoError(t, x.cmd.Process.Signal(sig))
		x.wait("\x1b[?1049l") // back from the alternate screen
		ended := make(chan error, 1)
		go func() { ended <- x.cmd.Wait() }()
		select {
		case err := <-ended:
			assert.NoError(t, err, sig.String())
		case <-time.After(60 * time.Second):
			t.Fatalf("the program goes on after %s", sig)
		}
	}
}

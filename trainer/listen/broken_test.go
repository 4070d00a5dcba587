package listen

import (
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard"
)

// A fault in an input's own goroutine reaches whoever watches, and the input can
// still be closed.
func TestFaultsOfInputsAreCaught(t *testing.T) {
	told := make(chan any, 100)
	defer guard.Watch(func(fault any, _ []byte) { told <- fault })()
	broken := func() func() time.Duration {
		var asked atomic.Int64
		return func() time.Duration {
			if asked.Add(1) > 1 { // it is opened while all is well
				panic("the clock broke")
			}
			return 0
		}
	}
	for name, open := range map[string]func() Input{
		"device": func() Input {
			nowhere := filepath.Join(t.TempDir(), "nothing")
			return openDevice("nowhere", func() (string, error) { return nowhere, nil }, Options{Now: broken()})
		},
		"driver":     func() Input { return openDriver("nowhere", &plugboard{}, Options{Now: broken()}) },
		"microphone": func() Input { return OpenMicrophone("nowhere", Options{Now: broken()}) },
	} {
		in := open()
		assert.Equal(t, "the clock broke", <-told, name)
		closed := make(chan struct{})
		go func() {
			defer close(closed)
			defer func() { _ = recover() }() // the clock is still broken
			_ = in.Close()
		}()
		require.Eventually(t, func() bool { // a second for the driver
			select {
			case <-closed:
				return true
			default:
				return false
			}
		}, 60*time.Second, time.Millisecond, name)
	}
}

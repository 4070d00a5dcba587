package sound

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard"
)

// A fault on the device's thread, or where the transport moves without a device,
// reaches whoever watches, once in a while at most a callback, and the sound can
// still be closed.
func TestFaultsOfTheSoundAreCaught(t *testing.T) {
	for name, o := range map[string]Options{"device": {}, "wall clock": {Mute: true}} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				told := make(chan any, 1000)
				defer guard.Watch(func(fault any, _ []byte) { told <- fault })()
				p := started(t, &shop{}, o)
				time.Sleep(3 * time.Second)
				require.Eventually(t, func() bool { return p.turn.CompareAndSwap(false, true) }, time.Second, time.Millisecond)
				p.bar.Meter.Upper, p.next.score = 0, nil // no bar can come after this one
				p.turn.Store(false)
				assert.ErrorContains(t, (<-told).(error), "nil pointer")
				p.Close()
			})
		})
	}
}

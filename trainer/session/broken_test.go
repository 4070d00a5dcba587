package session

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/trainer/guard"
	"footfall/trainer/sound"
)

// stopped is a transport that breaks.
type stopped struct{ transport }

func (stopped) Since(uint64) ([]sound.Played, uint64) { panic("the clock broke") }

// A fault while following reaches whoever watches; the events end.
func TestAFaultWhileFollowingIsCaught(t *testing.T) {
	told := make(chan any, 1)
	defer guard.Watch(func(fault any, _ []byte) { told <- fault })()
	s := open(t, two, "100", nil)
	s.mu.Lock()
	s.follower.clock = stopped{}
	s.mu.Unlock()
	s.rouse()
	assert.Equal(t, "the clock broke", <-told)
	for range s.Events() {
	}
	s.Close()
}

package along

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"footfall/drills/take"
	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// stopped is a clock that breaks.
type stopped struct{ Clock }

func (stopped) Since(uint64) ([]sound.Played, uint64) { panic("the clock broke") }

// A fault while following reaches whoever watches; the news end.
func TestAFaultWhileFollowingIsCaught(t *testing.T) {
	told := make(chan any, 1)
	defer guard.Watch(func(fault any, _ []byte) { told <- fault })()
	in := silent{listen.NewFeed("test", listen.Options{}, "waiting")}
	f := Follow(Options{Input: in, Epoch: time.Now(), Clock: stopped{}, Settings: take.DefaultSettings()})
	assert.Equal(t, "the clock broke", <-told)
	_, more := <-f.News()
	assert.False(t, more)
	f.Close()
}

// silent is an input that says nothing.
type silent struct{ *listen.Feed }

func (silent) Close() error { return nil }

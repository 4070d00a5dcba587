package guard

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAPanicIsToldToTheLatestWatcher(t *testing.T) {
	told := make(chan any, 1)
	stopFirst := Watch(func(any, []byte) { t.Error("an older watcher was told") })
	defer stopFirst()
	stop := Watch(func(fault any, stack []byte) {
		assert.Contains(t, string(stack), "guard.TestAPanic")
		told <- fault
	})
	Go(func() { panic("broken") })
	assert.Equal(t, "broken", <-told)
	func() {
		defer Catch() // all is well
	}()
	assert.Empty(t, told)
	stop()
	stopFirst()
	assert.PanicsWithValue(t, "nobody watches", func() {
		defer Catch()
		panic("nobody watches")
	})
}

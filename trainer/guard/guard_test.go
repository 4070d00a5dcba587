package guard

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

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

// What hangs is left to itself when its time is over, and what it brings later is
// handed on; what comes in time is returned.
func TestAwait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		after := func(d time.Duration, err error) func() (string, error) {
			return func() (string, error) { time.Sleep(d); return "a string", err }
		}
		late := make(chan string, 2)
		keep := func(s string) { late <- s }
		wait := func() context.Context {
			ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
			t.Cleanup(cancel)
			return ctx
		}
		got, err := Await(wait(), after(time.Second, nil), keep)
		assert.NoError(t, err)
		assert.Equal(t, "a string", got)
		_, err = Await(wait(), after(time.Second, errors.New("snapped")), keep)
		assert.EqualError(t, err, "snapped")
		began := time.Now()
		for _, err := range []error{nil, errors.New("snapped")} {
			got, err = Await(wait(), after(time.Hour, err), keep)
			assert.ErrorIs(t, err, context.DeadlineExceeded)
			assert.Empty(t, got)
		}
		assert.ErrorIs(t, Within(wait(), func() error { time.Sleep(time.Hour); return nil }), context.DeadlineExceeded)
		assert.Equal(t, 6*time.Second, time.Since(began))
		assert.EqualError(t, Within(wait(), func() error { return errors.New("snapped") }), "snapped")
		assert.Empty(t, late)
		assert.Equal(t, "a string", <-late)
		time.Sleep(2 * time.Hour)
		assert.Empty(t, late)
	})
}

// What does not answer is not asked again before it has, and may be then.
func TestInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var asked atomic.Int32
		ask := func(d time.Duration) error {
			_, err := InTime("the disk", func() (int, error) {
				asked.Add(1)
				time.Sleep(d)
				return 1, nil
			}, func(int) {})
			return err
		}
		began := time.Now()
		assert.NoError(t, ask(time.Second))
		assert.EqualError(t, ask(time.Minute), "the disk does not answer")
		assert.EqualError(t, ask(time.Second), "the disk does not answer")
		assert.Equal(t, 3*time.Second, time.Since(began))
		assert.EqualValues(t, 2, asked.Load())
		time.Sleep(time.Minute)
		assert.NoError(t, ask(time.Second))
	})
}

// Package guard sees to it that a panic in a goroutine of the program, or in a
// call from a device's thread, ends the program in good order: whoever holds the
// terminal watches, puts it back and keeps what is to be kept.
//
// Within, Await and InTime do what may hang where nothing waits for it longer than
// it may.
//
// It must never know what runs in the goroutines, or who watches.
package guard

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"sync"
	"time"
)

// AnswerTime is how long a device, a file or a folder may take to answer before the
// program goes on without it.
const AnswerTime = 2 * time.Second

var (
	mu      sync.Mutex
	watcher *func(fault any, stack []byte)
)

// Watch tells a function of each panic that is caught from now on, with the
// stack it came from, until the function returned is called. The latest watcher
// is the one that is told. It is called from the goroutine that broke.
func Watch(tell func(fault any, stack []byte)) (stop func()) {
	mu.Lock()
	defer mu.Unlock()
	before, mine := watcher, &tell
	watcher = mine
	return func() {
		mu.Lock()
		defer mu.Unlock()
		if watcher == mine {
			watcher = before
		}
	}
}

// Go runs do in a goroutine whose panics are caught.
func Go(do func()) {
	go func() {
		defer Catch()
		do()
	}()
}

// Catch is to be deferred: it hands a panic to the watcher. Where nobody watches the panic
// goes on, and ends the program as it is.
func Catch() {
	fault := recover()
	if fault == nil {
		return
	}
	mu.Lock()
	told := watcher
	mu.Unlock()
	if told == nil {
		panic(fault)
	}
	(*told)(fault, debug.Stack())
}

// Within does what may hang in a goroutine of its own, whose panics are caught, and
// returns its error, or the context's where that ends first: do is then left to
// itself.
func Within(ctx context.Context, do func() error) error {
	_, err := Await(ctx, func() (struct{}, error) { return struct{}{}, do() }, func(struct{}) {})
	return err
}

// Await is Within for what has a result. late gets one that came without an error
// after the context's end.
func Await[T any](ctx context.Context, do func() (T, error), late func(T)) (T, error) {
	type outcome struct {
		result T
		err    error
	}
	done := make(chan outcome)
	Go(func() {
		result, err := do()
		select {
		case done <- outcome{result, err}:
		case <-ctx.Done():
			if err == nil {
				late(result)
			}
		}
	})
	select {
	case o := <-done:
		return o.result, o.err
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	}
}

// ErrSilent is in the errors of what does not answer in time.
var ErrSilent = errors.New("does not answer")

// silent holds what did not answer in time and still does not.
var silent sync.Map

// InTime is Await for AnswerTime. Its error names what does not answer, which is
// said at once where the last call has not come back yet.
func InTime[T any](what string, do func() (T, error), late func(T)) (T, error) {
	var none T
	unanswered := fmt.Errorf("%s %w", what, ErrSilent)
	if _, still := silent.Load(what); still {
		return none, unanswered
	}
	ctx, cancel := context.WithTimeout(context.Background(), AnswerTime)
	defer cancel()
	back := make(chan struct{})
	got, err := Await(ctx, func() (T, error) {
		defer close(back)
		return do()
	}, late)
	if !errors.Is(err, context.DeadlineExceeded) {
		return got, err
	}
	silent.Store(what, true)
	Go(func() {
		<-back
		silent.Delete(what)
	})
	return none, unanswered
}

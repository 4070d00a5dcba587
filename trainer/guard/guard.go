// Package guard sees to it that a panic in a goroutine of the program, or in a
// call from a device's thread, ends the program in good order: whoever holds the
// terminal watches, puts it back and keeps what is to be kept.
//
// It must never know what runs in the goroutines, or who watches.
package guard

import (
	"runtime/debug"
	"sync"
)

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

package listen

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func next(t *testing.T, in Input) Note {
	t.Helper()
	select {
	case n, ok := <-in.Notes():
		require.True(t, ok, "the input is closed")
		return n
	case <-time.After(60 * time.Second):
		t.Fatalf("no note came; %+v", in.Status())
		return Note{}
	}
}

func until(t *testing.T, what string, done func() bool) {
	t.Helper()
	for range 12000 {
		if done() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("waited in vain: " + what)
}

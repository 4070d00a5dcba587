package main_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/trainer/sound/soundtest"
)

// A sound server that is stopped, before the program starts or while it plays and
// listens: the play-along goes on by sight and says so, and every way out ends the
// program at once. The sound library alone would wait for half a minute.
func TestASoundServerThatHangs(t *testing.T) {
	if !soundtest.Apart(t) {
		return
	}
	_, err := build() // in the home whose cache of builds is filled
	require.NoError(t, err)
	server := soundtest.Server(t)
	out := append(ends[:len(ends):len(ends)], struct {
		name string
		end  func(*terminal) error
	}{"q", func(x *terminal) error { _, err := x.tty.WriteString("q"); return err }})
	for _, e := range out {
		for _, while := range []string{"starting", "playing"} {
			if e.name != "q" && (testing.Short() || while == "playing" && e.name != "SIGTERM") {
				continue
			}
			t.Run(while+", "+e.name, func(t *testing.T) {
				halt := func() { require.NoError(t, server.Process.Signal(unix.SIGSTOP)) }
				defer func() { require.NoError(t, server.Process.Signal(unix.SIGCONT)) }()
				if while == "starting" {
					halt()
				}
				x := onTerminal(t, program(t, t.TempDir(), "play", "tin-kettle-blues", "--tempo", "300", "--port", "microphone"))
				x.wait("space starts")
				x.press(" ")
				x.wait("pass 1")
				if while == "playing" {
					halt()
					x.wait("the click is seen, not heard")
				}
				began := time.Now()
				require.NoError(t, e.end(x))
				x.ends(e.name == "terminal closed")
				took := time.Since(began)
				t.Logf("ended in %v", took)
				assert.Less(t, took, 5*time.Second)
				assert.Contains(t, x.all.String(), "the click is seen, not heard")
			})
		}
	}
}

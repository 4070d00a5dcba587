//go:build linux

package main_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// busy are screens in the midst of something, and how a player gets there.
var busy = []struct {
	name string
	args []string
	into func(*terminal)
	// kept checks what must be there after the program was ended.
	kept func(t *testing.T, data string)
}{
	{"first screen", nil, func(x *terminal) { x.wait("add a tune") }, nil},
	{"a question", []string{"drill", "find"}, func(x *terminal) {
		x.wait("enter answers")
		x.press("3\r")
		x.wait(" of ")
		x.press("\r")
		x.wait("Play the")
		x.press("5")
	}, func(t *testing.T, data string) { assert.Equal(t, 1, answers(t, data)) }},
	{"a pass", []string{"play", "tin-kettle-blues", "--silent", "--port", "none", "--tempo", "300"}, func(x *terminal) {
		x.wait("space starts")
		x.press(" ")
		x.wait("pass 1")
	}, nil},
	{"unsaved work", nil, func(x *terminal) {
		x.wait("add a tune")
		x.press("\x1b[F")
		x.press("e")
		x.wait("edit · ")
		x.press("b3\r")
		x.wait("not saved")
	}, func(t *testing.T, data string) {
		drafts, err := filepath.Glob(filepath.Join(data, "footfall", "drafts", "*.tune"))
		require.NoError(t, err)
		assert.Len(t, drafts, 1)
	}},
	{"review", nil, func(x *terminal) {
		x.wait("add a tune")
		x.press("r")
		x.wait("look back")
	}, nil},
}

// ends are the ways in which the system ends a program. In the last one the
// terminal is closed over its head.
var ends = []struct {
	name string
	end  func(*terminal) error
}{
	{"SIGTERM", func(x *terminal) error { return x.cmd.Process.Signal(unix.SIGTERM) }},
	{"SIGHUP", func(x *terminal) error { return x.cmd.Process.Signal(unix.SIGHUP) }},
	{"SIGQUIT", func(x *terminal) error { return x.cmd.Process.Signal(unix.SIGQUIT) }},
	{"SIGABRT", func(x *terminal) error { return x.cmd.Process.Signal(unix.SIGABRT) }},
	{"SIGINT", func(x *terminal) error { return x.cmd.Process.Signal(unix.SIGINT) }},
	{"ctrl+c", func(x *terminal) error { _, err := x.tty.WriteString("\x03"); return err }},
	{"terminal closed", (*terminal).close},
}

// However the system ends the program, and in the midst of whatever: the terminal
// is as it was found, what was done is kept, and nothing goes on running.
func TestEndsFromOutside(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program twenty-five times")
	}
	for _, b := range busy {
		for _, e := range ends {
			t.Run(b.name+", "+e.name, func(t *testing.T) {
				t.Parallel()
				data := t.TempDir()
				x := onTerminal(t, program(t, data, b.args...))
				b.into(x)
				require.NoError(t, e.end(x))
				x.ends(e.name == "terminal closed")
				if b.kept != nil {
					b.kept(t, data)
				}
			})
		}
	}
}

// ends waits for the program to end without a fault, and checks that it left the
// terminal as it was found.
func (x *terminal) ends(closed bool) {
	x.t.Helper()
	ended := make(chan error, 1)
	go func() { ended <- x.cmd.Wait() }()
	select {
	case err := <-ended:
		assert.NoError(x.t, err)
	case <-time.After(60 * time.Second):
		x.t.Fatal("the program goes on")
	}
	// Nothing that it started outlives it: its session is empty.
	assert.ErrorIs(x.t, unix.Kill(-x.cmd.Process.Pid, 0), unix.ESRCH)
	if closed {
		return
	}
	<-x.done
	x.restored()
}

// restored checks that the terminal is as a shell wants it: the usual screen, a
// cursor, no reports of mouse and pastes, and whole lines with their echo.
func (x *terminal) restored() {
	x.t.Helper()
	for on, off := range map[string]string{"\x1b[?1049h": "\x1b[?1049l", "\x1b[?25l": "\x1b[?25h", "\x1b[?2004h": "\x1b[?2004l", "\x1b[?1002h": "\x1b[?1002l", "\x1b[?1006h": "\x1b[?1006l"} {
		assert.Less(x.t, x.all.last(on), x.all.last(off), "%q", off)
	}
	state, err := unix.IoctlGetTermios(int(x.tty.Fd()), unix.TCGETS)
	require.NoError(x.t, err)
	assert.NotZero(x.t, state.Lflag&unix.ICANON, "whole lines")
	assert.NotZero(x.t, state.Lflag&unix.ECHO, "echo")
	assert.NotZero(x.t, state.Lflag&unix.ISIG, "ctrl+c is a signal again")
	assert.NotZero(x.t, state.Oflag&unix.OPOST)
}

// A shell that stops the program gets its terminal back, and when it lets the
// program go on all is drawn again, after a SIGSTOP too.
func TestStoppedByAShell(t *testing.T) {
	x := onTerminal(t, underShell(program(t, t.TempDir())))
	x.wait("add a tune")
	pid := x.child()
	for _, how := range []struct {
		name string
		stop func()
	}{
		{"SIGTSTP", func() { require.NoError(t, unix.Kill(pid, unix.SIGTSTP)) }},
		{"ctrl+z", func() { x.press("\x1a") }},
		{"SIGSTOP", func() { require.NoError(t, unix.Kill(pid, unix.SIGSTOP)) }},
	} {
		how.stop()
		require.Eventually(t, func() bool { return stateOf(t, pid) == "T" }, 60*time.Second, time.Millisecond, how.name)
		if how.name != "SIGSTOP" {
			x.wait("\x1b[?1049l")
			x.restored()
		}
		x.mu.Lock()
		x.seen.Reset()
		x.mu.Unlock()
		require.NoError(t, unix.Kill(pid, unix.SIGCONT))
		drawn := x.wait("add a tune")
		if how.name != "SIGSTOP" {
			assert.Contains(t, drawn, "\x1b[?1002h", "the mouse points again")
		}
	}
	x.press("d")
	x.wait("Triads")
	x.press("q")
	x.ends(false)
}

// underShell runs a program as a shell's job: not as the leader of its session.
func underShell(c *exec.Cmd) *exec.Cmd {
	c.Args = append([]string{"sh", "-c", `"$0" "$@"; exit $?`, c.Path}, c.Args[1:]...)
	c.Path = "/bin/sh"
	return c
}

// child is the process that the shell runs.
func (x *terminal) child() int {
	var pid int
	require.Eventually(x.t, func() bool {
		out, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%[1]d/children", x.cmd.Process.Pid))
		if err != nil {
			return false
		}
		pid, err = strconv.Atoi(strings.TrimSpace(string(out)))
		return err == nil
	}, 60*time.Second, time.Millisecond)
	return pid
}

// stateOf is the letter of a process's state; T is stopped.
func stateOf(t *testing.T, pid int) string {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(t, err)
	_, after, _ := strings.Cut(string(stat), ") ")
	return after[:1]
}

//go:build unix

package gate

import (
	"os"

	"golang.org/x/sys/unix"
)

// withoutWaiting has a pipe opened that nobody writes to yet.
const withoutWaiting = unix.O_NONBLOCK

// left reports whether whoever wrote to a pipe has gone: one that nobody has opened yet
// does not hang up.
func left(pipe *os.File) bool {
	gone := false
	raw, err := pipe.SyscallConn()
	if err == nil {
		err = raw.Control(func(fd uintptr) {
			ask := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}
			_, err := unix.Poll(ask, 0)
			gone = err == nil && ask[0].Revents&unix.POLLHUP != 0
		})
	}
	return gone || err != nil
}

// ending are the signals that end a program which does not handle them.
var ending = []os.Signal{unix.SIGINT, unix.SIGTERM, unix.SIGHUP, unix.SIGQUIT, unix.SIGABRT}

// raise sends a signal to the program itself.
func raise(s os.Signal) { _ = unix.Kill(os.Getpid(), s.(unix.Signal)) }

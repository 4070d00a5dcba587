//go:build !unix

package gate

import "os"

// withoutWaiting is nothing: no file's name leads to a pipe.
const withoutWaiting = 0

func left(*os.File) bool { return true }

// ending are the signals that end a program which does not handle them.
var ending = []os.Signal{os.Interrupt}

func raise(os.Signal) { os.Exit(1) }

// Command footfall is a practice trainer for the guitarist who plays the bass
// line and the chords of a tune at the same time.
package main

import (
	"os"
	"runtime/debug"
	_ "time/tzdata" // TZ is understood where the system has no zones

	"footfall/trainer/command"
)

// garbageFrom is the memory in bytes from which garbage is collected more often: a tune
// of thousands of bars then stays below 200 MB.
const garbageFrom = 100 << 20

func main() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(garbageFrom)
	}
	os.Exit(command.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

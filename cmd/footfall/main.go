// Command footfall is a practice trainer for the guitarist who plays the bass
// line and the chords of a tune at the same time.
package main

import (
	"os"
	_ "time/tzdata" // TZ is understood where the system has no zones

	"footfall/trainer/command"
)

func main() { os.Exit(command.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

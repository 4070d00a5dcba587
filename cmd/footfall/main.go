// Command footfall is a practice trainer for the guitarist who plays the bass
// line and the chords of a tune at the same time.
package main

import (
	"fmt"
	"os"

	"footfall/trainer/command"
)

func main() {
	if err := command.New().Execute(); err != nil {
		fmt.Fprintln(os.Stderr, "footfall:", err)
		os.Exit(command.ExitCode(err))
	}
}

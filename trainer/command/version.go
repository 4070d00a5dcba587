package command

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// Version is the release, set by the linker: -ldflags "-X
// footfall/trainer/command.Version=1.2.3".
var Version = "unreleased"

// build is what is known of how the program was built.
type build struct {
	Version  string `json:"version"`
	Revision string `json:"revision,omitempty"`
	Time     string `json:"time,omitempty"`
	Modified bool   `json:"modified"`
	Go       string `json:"go"`
	Platform string `json:"platform"`
	CGO      bool   `json:"cgo"`
}

func buildData() build {
	b := build{Version: Version, Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = s.Value
		case "vcs.time":
			b.Time = s.Value
		case "vcs.modified":
			b.Modified = s.Value == "true"
		case "CGO_ENABLED":
			b.CGO = s.Value == "1"
		}
	}
	return b
}

func newVersionCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which release this is and how it was built",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			b := buildData()
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(b)
			}
			fmt.Fprintf(cmd.OutOrStdout(), "footfall %s\n", b.Version)
			if b.Revision != "" {
				changed := ""
				if b.Modified {
					changed = ", with changes since"
				}
				fmt.Fprintf(cmd.OutOrStdout(), "revision %s of %s%s\n", b.Revision, b.Time, changed)
			}
			sound := "without cgo: the click is seen, not heard"
			if b.CGO {
				sound = "with cgo: the click is heard where there is a sound device"
			}
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s for %s, %s\n", b.Go, b.Platform, sound)
			return err
		},
	}
}

// newManualCommand writes man pages, for those who package the program.
func newManualCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "manual FOLDER",
		Short: "Write a man page for each command into a folder that exists",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			root.DisableAutoGenTag = true
			header := &doc.GenManHeader{Title: "FOOTFALL", Section: "1", Source: "footfall " + Version, Manual: "Footfall"}
			if err := doc.GenManTree(root, header, args[0]); err != nil {
				return unwritten(filepath.Join(args[0], "footfall.1"), err)
			}
			return nil
		},
	}
}

package command

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
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
		Use:     "version",
		Short:   "Say which release this is and how it was built",
		Example: "  footfall version --json",
		Args:    cobra.NoArgs,
		RunE:    func(cmd *cobra.Command, _ []string) error { return p.printVersion(cmd) },
	}
}

func (p *program) printVersion(cmd *cobra.Command) error {
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
}

// jsonManual lists every field of every command's JSON. A test holds it to what the
// commands print.
//
//go:embed json.txt
var jsonManual string

// newManualCommand writes man pages, for those who package the program.
func newManualCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "manual FOLDER | json",
		Short: "Write a man page for each command into a folder, or list all JSON",
		Long: `Write a man page for each command into a folder that exists. With json in its place,
list the JSON that each command prints, field by field.`,
		Example: "  footfall manual /usr/local/share/man/man1\n  footfall manual json",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if args[0] == "json" {
				_, err := io.WriteString(cmd.OutOrStdout(), jsonManual)
				return err
			}
			root := cmd.Root()
			root.DisableAutoGenTag = true
			header := &doc.GenManHeader{Title: "FOOTFALL", Section: "1", Source: "footfall " + Version, Manual: "Footfall"}
			if err := doc.GenManTree(root, header, args[0]); err != nil {
				return unwritten(filepath.Join(args[0], "footfall.1"), err)
			}
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]string{"folder": args[0]})
			}
			return nil
		},
	}
}

package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pkg is what go list tells of a package.
type pkg struct {
	ImportPath string
	Imports    []string
	Deps       []string
}

func packages(t *testing.T) map[string]pkg {
	t.Helper()
	out, err := exec.Command("go", "list", "-deps", "-json=ImportPath,Imports,Deps", "footfall/...").Output()
	require.NoError(t, err)
	all := map[string]pkg{}
	for d := json.NewDecoder(strings.NewReader(string(out))); d.More(); {
		var p pkg
		require.NoError(t, d.Decode(&p))
		all[p.ImportPath] = p
	}
	return all
}

func within(path, room string) bool { return path == room || strings.HasPrefix(path, room+"/") }

// below are the rooms of the trainer that a session stands on: one technology each.
var below = []string{
	"footfall/trainer/clock", "footfall/trainer/gate", "footfall/trainer/guard", "footfall/trainer/hearing", "footfall/trainer/history", "footfall/trainer/listen",
	"footfall/trainer/nearest", "footfall/trainer/quote", "footfall/trainer/settings", "footfall/trainer/sheet", "footfall/trainer/sound", "footfall/trainer/tunebook",
}

// mayImport says for each room, the innermost that holds a package, which rooms
// of ours it may import besides itself.
var mayImport = []struct {
	room string
	may  []string
}{
	{"footfall/harmony/tune", []string{"footfall/harmony"}},
	{"footfall/harmony/walk", []string{"footfall/harmony", "footfall/harmony/tune"}},
	{"footfall/harmony", nil},
	{"footfall/fretboard", []string{"footfall/harmony"}},
	{"footfall/drills", []string{"footfall/harmony", "footfall/fretboard"}},
	{"footfall/content", []string{"footfall/harmony"}},
	{"footfall/trainer/hearing", []string{"footfall/harmony"}},
	{"footfall/trainer/clock", nil},
	{"footfall/trainer/gate", []string{"footfall/trainer/clock", "footfall/trainer/guard"}},
	{"footfall/trainer/session", append(below, "footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/content")},
	{"footfall/trainer/screen", append(below, "footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/trainer/session")},
	{"footfall/trainer/plain", append(below, "footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/trainer/session")},
	{"footfall/trainer/command", []string{"footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/content", "footfall/trainer"}},
	{"footfall/trainer", append(below, "footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/content")},
	{"footfall/cmd", []string{"footfall/trainer"}},
}

// Imports run downward only.
func TestRoomsImportDownward(t *testing.T) {
	seen := map[string]bool{}
	for path, p := range packages(t) {
		if !within(path, "footfall") {
			continue
		}
		for _, rule := range mayImport {
			if !within(path, rule.room) {
				continue
			}
			seen[rule.room] = true
			for _, dep := range p.Imports {
				if !within(dep, "footfall") || within(dep, rule.room) && rule.room != "footfall/harmony" {
					continue
				}
				allowed := false
				for _, room := range rule.may {
					allowed = allowed || within(dep, room)
				}
				assert.True(t, allowed, "%s imports %s", path, dep)
			}
			break
		}
	}
	for _, rule := range mayImport {
		assert.True(t, seen[rule.room], "there is no room %s", rule.room)
	}
}

// The pure rooms reach no screen, no database and no device, and import nothing
// of the operating system themselves. A reader of MIDI files is no device.
func TestPureRoomsStayPure(t *testing.T) {
	all := packages(t)
	forbidden := []string{"github.com/charmbracelet", "modernc.org", "database/sql", "github.com/gen2brain", "gitlab.com/gomidi/midi/v2/drivers/rtmididrv", "os/exec", "net/http"}
	for path, p := range all {
		pure := false
		for _, room := range []string{"footfall/harmony", "footfall/fretboard", "footfall/drills", "footfall/trainer/hearing"} {
			pure = pure || within(path, room)
		}
		if !pure {
			continue
		}
		for _, dep := range p.Deps {
			for _, f := range forbidden {
				assert.False(t, within(dep, f), "%s reaches %s", path, dep)
			}
		}
		for _, dep := range p.Imports {
			assert.NotContains(t, []string{"os", "time/tzdata", "syscall", "log"}, dep, "%s imports %s", path, dep)
		}
	}
}

// A face shows what a session tells: it opens no history, and writes none.
func TestFacesWriteNoHistory(t *testing.T) {
	for path, p := range packages(t) {
		if within(path, "footfall/trainer/screen") || within(path, "footfall/trainer/plain") {
			assert.NotContains(t, p.Imports, "footfall/trainer/history", path)
		}
	}
}

// One place asks the machine for the time: whoever else did would not see the
// clock that is set.
func TestOnePlaceAsksTheTime(t *testing.T) {
	assert.Equal(t, []string{"trainer/clock"}, callers(t, "time", "Now", "Since", "Until"))
}

// Files are read by way of the gate alone, which opens nothing that could hang and reads
// nothing that has no end. What else opens one writes it, or makes a folder's names last.
func TestOneGateIn(t *testing.T) {
	assert.Equal(t, []string{"content/exchange/musicxml", "trainer/gate"}, callers(t, "io", "ReadAll")) // what it unpacks in memory
	assert.Empty(t, callers(t, "os", "ReadFile"))
	assert.Equal(t, []string{"trainer/gate", "trainer/listen"}, callers(t, "os", "Open"))
	assert.Equal(t, []string{"trainer/gate", "trainer/history", "trainer/settings"}, callers(t, "os", "OpenFile"))
}

// callers are the folders in which functions of a package are named.
func callers(t *testing.T, from string, names ...string) []string {
	t.Helper()
	asked := map[string]bool{}
	for _, root := range []string{"cmd", "trainer", "harmony", "fretboard", "drills", "content"} {
		require.NoError(t, filepath.WalkDir(filepath.Join("..", "..", root), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.HasSuffix(filepath.Dir(path), "test") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok {
					x, ok := s.X.(*ast.Ident)
					if ok && x.Name == from && slices.Contains(names, s.Sel.Name) {
						asked[strings.TrimPrefix(filepath.ToSlash(filepath.Dir(path)), "../../")] = true
					}
				}
				return true
			})
			return nil
		}))
	}
	return slices.Sorted(maps.Keys(asked))
}

package screen

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var written = flag.String("strings", "", "write every text that the program may show to this file, to be read aloud")

// foreign are words that the interface does not use: a player here reads American English
// (common practice, no source), half steps and BPM.
var foreign = regexp.MustCompile(`(?i)\b(semitones?|quarter notes a minute|beats a minute|\w*colours?|millimetres?|favou?rites?|neighbours?|practis(e|ed|es|ing)|centred?|for joy|take bars out|listening to nothing)\b`)

// Every text that the program may show, by the file it stands in: go test ./trainer/screen
// -run TestWords -strings FILE. What is no text is left out: what is imported, tags,
// patterns, and words for other programs, which are those without a space or a capital.
func TestWordsOfTheInterface(t *testing.T) {
	var list strings.Builder
	count := 0
	for _, root := range []string{"..", "../../drills", "../../harmony", "../../fretboard", "../../content"} {
		require.NoError(t, filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			files := token.NewFileSet()
			file, err := parser.ParseFile(files, path, nil, 0)
			if err != nil {
				return err
			}
			skip := map[*ast.BasicLit]bool{}
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.ImportSpec:
					skip[n.Path] = true
				case *ast.Field:
					skip[n.Tag] = true
				case *ast.BasicLit:
					text, err := strconv.Unquote(n.Value)
					if n.Kind != token.STRING || skip[n] || err != nil || !regexp.MustCompile(`[A-Za-z]{2}`).MatchString(text) || !regexp.MustCompile(`[A-Z ]`).MatchString(text) {
						return true
					}
					count++
					at := files.Position(n.Pos())
					fmt.Fprintf(&list, "%s:%d\t%s\n", path, at.Line, strings.ReplaceAll(text, "\n", " / "))
					if !strings.HasSuffix(path, filepath.Join("chart", "header.go")) { // which reads what others write
						assert.NotRegexp(t, foreign, text, "%s:%d", path, at.Line)
					}
				}
				return true
			})
			return nil
		}))
	}
	assert.Greater(t, count, 1000)
	if *written != "" {
		require.NoError(t, os.WriteFile(*written, []byte(list.String()), 0o644))
	}
}

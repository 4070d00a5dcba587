package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/quote"
)

// Whatever a tune, a lesson, a chart or a file is called: nothing that a command prints
// or writes to be looked at acts on what shows it, no message has a megabyte in it, and
// no cell of a table is a formula.
func TestNothingForeignActs(t *testing.T) {
	ownFolders(t)
	dir := t.TempDir()
	t.Chdir(dir)
	evil := "=1+1<script>x</script>&\u202eevil\u2066\u2028"
	text := "tune   " + evil + "\nkey    C\nmeter  4/4\ntempo  120\ntrains " + evil + "\n\n[A]\nchords | Cmaj7 | G7 |\nbass   | 1 1 1 1 | 1 1 1 1 |\nwords  | " + evil + " | |\n"
	name := "=\u202ex\u0085.tune"
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	require.NoError(t, os.WriteFile("long", []byte(strings.Repeat("Zq\u202e", 300_000)), 0o600))
	require.NoError(t, os.WriteFile("chart.txt", []byte("title: "+evil+"\n| C | G7 |\n"), 0o600))
	words := strings.Repeat("Zq \u202e", 30_000) // with room between them
	require.NoError(t, os.WriteFile("words", []byte(words), 0o600))
	require.NoError(t, os.WriteFile("words.json", []byte(`{"version":1,"answers":[{"id":"0192f0c1-0000-7000-8000-000000000001","at":"2026-11-01T10:00:00Z","item":"find:7:1:C:6","way":"`+words+`"}]}`), 0o600))
	for _, args := range [][]string{
		{"tune", "show", name}, {"tune", "check", name}, {"tune", "format", name}, {"tune", "import", "chart.txt"}, {"tune", "add", name}, {"tune", "add", "chart.txt"},
		{"tune", "list"}, {"arrange", name}, {"arrange", name, "--plain"}, {"walk", name}, {"sheet", name, "-o", "a.html"}, {"sheet", name, "-o", "a.svg"}, {"sheet", name, "-o", "a.txt"},
		{"sheet", name, "-o", "-.html"}, {"drill", "find", "--tune", name, "--plain"}, {"play", name, "--silent", "--plain", "--passes", "1", "--tempo", "300", "--port", "none"},
		{"score", name, "--take", name}, {"hear", name}, {"log", "import", name}, {"today", "--lesson", name}, {"today", "--tune", name, "--plain"}, {"settings", "check", name},
		{"review"}, {"review", "--csv"}, {"log", "export", "--summary"}, {"listen", "--port", "/" + name, "--ports"},
		{"chord", evil}, {"shape", evil}, {"shapes", evil}, {"shape", strings.Repeat("9-", 50_000)}, {evil}, {"drill", evil}, {"play", evil, "--layer", evil}, {"tune", "show", "long"}, {"tune", "check", "long"},
		{"settings", "check", "long"}, {"today", "--lesson", "long"}, {"chord", strings.Repeat("Q\u202e", 30_000)}, {"drill", "find", "--tune", strings.Repeat("Q", 100_000)},
		{"tune", "show", words}, {"hear", words}, {"log", "import", words}, {"score", name, "--take", words}, {"play", name, "--section", words}, {"chord", words}, {"review", "--since", words},
		{"tune", "check", "words"}, {"tune", "import", "words"}, {"settings", "check", "words"}, {"log", "import", "words"}, {"log", "import", "words.json"},
	} {
		for _, how := range [][]string{nil, {"--json"}} {
			asked := append(append([]string{}, args...), how...)
			out, errs, _ := runOn(strings.NewReader("3\nyes\nquit\n"), asked...)
			for _, said := range []string{out, errs} {
				assert.Equal(t, quote.Harmless(said), said, "%.60q", asked)
			}
			for _, line := range strings.Split(errs, "\n") {
				assert.Less(t, len(line), 4000, "%.60q says %.300q", asked, line)
			}
			for _, never := range []string{"*errors.", "strconv.", "json: cannot", "0xc000", "%!"} {
				assert.NotContains(t, errs, never, "%.60q", asked)
			}
			if args[len(args)-1] == "--csv" && how == nil {
				for _, line := range strings.Split(out, "\n") {
					for _, cell := range strings.Split(line, ",") {
						assert.False(t, strings.HasPrefix(strings.Trim(cell, `"`), "="), line)
					}
				}
			}
		}
	}
	for _, ending := range []string{"html", "svg", "txt"} {
		written, err := os.ReadFile(filepath.Join(dir, "a."+ending))
		require.NoError(t, err)
		assert.Equal(t, quote.Harmless(string(written)), string(written), ending)
		if ending != "txt" {
			assert.NotContains(t, string(written), "<script>")
		}
	}
}

//go:build linux

package main_test

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// seeds are good files of every kind that a command takes, by their endings.
func seeds(t *testing.T) map[string][]byte {
	t.Helper()
	dir := t.TempDir()
	made := map[string][]byte{}
	read := func(name string) []byte {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		return data
	}
	for _, ending := range []string{".mid", ".musicxml"} {
		c := program(t, dir, "sheet", "key-ring", "-o", filepath.Join(dir, "a"+ending))
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
		made[ending] = read(filepath.Join(dir, "a"+ending))
	}
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for name, text := range map[string][]byte{
		"META-INF/container.xml": []byte(`<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>`), "a.xml": made[".musicxml"],
	} {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(text)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	made[".mxl"] = packed.Bytes()
	made[".wav"] = read("../../trainer/hearing/testdata/recorded-notes.wav")[:200_000]
	made[".tune"] = read("../../content/tunes/key-ring.tune")
	made[".txt"] = []byte("Am7 D7 | Gmaj7 | Cmaj7 | F#m7b5 B7 | Em |")
	made[".lesson"] = read("../../content/lessons/01-what-a-degree-is.lesson")
	c := program(t, dir, "drill", "find", "--plain")
	c.Stdin = strings.NewReader("3\n5\n7\n")
	out, err := c.CombinedOutput()
	require.NoError(t, err, string(out))
	made[".db"] = read(filepath.Join(dir, "footfall", "history.db"))
	for ending, args := range map[string][]string{".json": {"log", "export"}, ".csv": {"log", "export", "--csv"}} {
		made[ending], err = program(t, dir, args...).Output()
		require.NoError(t, err)
	}
	require.NoError(t, program(t, dir, "settings", "new").Run())
	made[".toml"] = read(filepath.Join(dir, "footfall", "settings.toml"))
	return made
}

// spoilt is a file with something done to it: bytes changed, cut out, doubled, put in.
func spoilt(data []byte, chance *rand.Rand) []byte {
	data = bytes.Clone(data)
	hostile := []string{"\x1b[2J\x1b]0;x\x07", "\u202e\u2066", "\xff\xfe\xc0", "\x00\x00\x00\x00", "\xff\xff\xff\x7f", "'=HYPERLINK(1)", "<script>", strings.Repeat("9", 400), strings.Repeat("[", 3000), "../../../../etc/passwd"}
	for range 1 + chance.IntN(4) {
		if len(data) == 0 {
			return data
		}
		at := chance.IntN(len(data))
		to := at + min(len(data)-at, 1+chance.IntN(64))
		switch chance.IntN(5) {
		case 0:
			data[at] = byte(chance.Uint32())
		case 1:
			data = append(data[:at:at], data[to:]...)
		case 2:
			data = append(data[:to:to], data[at:]...)
		case 3:
			data = append(data[:at:at], append([]byte(hostile[chance.IntN(len(hostile))]), data[at:]...)...)
		case 4:
			data = data[:at]
		}
	}
	return data
}

// takers are the commands that take a file.
var takers = [][]string{
	{"tune", "show", "FILE"}, {"tune", "check", "FILE", "--json"}, {"tune", "format", "FILE"}, {"tune", "import", "FILE"},
	{"tune", "import", "FILE", "--chords", "key-ring"}, {"tune", "add", "FILE"}, {"arrange", "FILE", "--json"}, {"walk", "FILE"},
	{"score", "key-ring", "--take", "FILE"}, {"score", "key-ring", "--free", "--take", "FILE", "--json"}, {"hear", "FILE", "--json"},
	{"log", "import", "FILE"}, {"today", "--lesson", "FILE", "--plain"}, {"settings", "check", "FILE"}, {"sheet", "FILE", "-o", "-.svg"},
	{"sheet", "FILE", "-o", "-.txt"}, {"drill", "find", "--tune", "FILE", "--plain"}, {"play", "FILE", "--plain", "--silent", "--passes", "1", "--tempo", "300", "--port", "none"},
}

// longestRun is how long a command may take with a small file.
const longestRun = time.Minute

// Whatever a file holds and whichever command gets it, as a file, by standard input, as
// one of the player's own: it ends by itself, within its memory, and says what is wrong
// in words that no terminal acts on.
func TestSoakHostile(t *testing.T) {
	count, chance := soaking(t)
	good := seeds(t)
	var endings []string
	for e := range good {
		endings = append(endings, e)
	}
	most, refused := int64(0), 0
	for round := range count {
		dir := t.TempDir()
		ending := endings[chance.IntN(len(endings))]
		data := spoilt(good[ending], chance)
		name := filepath.Join(dir, "\x1b[31mx\u202e"+ending)
		require.NoError(t, os.WriteFile(name, data, 0o600))
		args := append([]string{}, takers[chance.IntN(len(takers))]...)
		byInput := chance.IntN(3) == 0
		for i := range args {
			if args[i] == "FILE" {
				args[i] = name
				if byInput {
					args[i] = "-"
				}
			}
		}
		own := ""
		switch chance.IntN(6) {
		case 0:
			own = filepath.Join(dir, "footfall", "tunes", "own.tune")
		case 1:
			own = filepath.Join(dir, "footfall", "settings.toml")
		case 2:
			own = filepath.Join(dir, "footfall", "history.db")
		}
		if own != "" {
			require.NoError(t, os.MkdirAll(filepath.Dir(own), 0o700))
			require.NoError(t, os.WriteFile(own, data, 0o600))
		}
		c := program(t, dir, args...)
		ctx, cancel := context.WithTimeout(t.Context(), longestRun)
		timed := exec.CommandContext(ctx, c.Path, args...)
		timed.Env = append(c.Env, "TMPDIR="+dir)
		timed.Stdin = strings.NewReader("3\nquit\n")
		if byInput {
			timed.Stdin = bytes.NewReader(data)
		}
		out, err := timed.CombinedOutput()
		if timed.ProcessState == nil {
			t.Fatal(err)
		}
		cancel()
		what := fmt.Sprintf("round %d, %s, %q, own %q", round, ending, args, own)
		if before := t.Failed(); !before {
			wellEnded(t, out, timed, what)
			if t.Failed() {
				kept := filepath.Join(os.TempDir(), fmt.Sprintf("footfall-hostile-%d%s", round, ending))
				require.NoError(t, os.WriteFile(kept, data, 0o600))
				t.Log("the file is kept as ", kept)
			}
		}
		if err != nil {
			refused++
		}
		most = max(most, resident(timed))
		left, err := filepath.Glob(filepath.Join(dir, "footfall-copy-*"))
		require.NoError(t, err)
		require.Empty(t, left, what)
	}
	t.Logf("SOAK hostile files %d, refused %d, most memory %d kB", count, refused, most)
}

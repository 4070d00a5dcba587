package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
)

// files makes a folder of files of every kind that a player may name by mistake.
func files(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	text, _ := content.TuneText("key-ring")
	binary := make([]byte, 20_000)
	for i := range binary {
		binary[i] = byte(i * i >> 3) // nothing but a run of bytes that no text has
	}
	wide := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	for name, data := range map[string][]byte{
		"good.tune": []byte(text), "binary": binary, "empty": {}, "utf16": wide,
		"crlf.tune": []byte(strings.ReplaceAll(text, "\n", "\r\n")), "bom.tune": []byte("\ufeff" + text),
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o600))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder"), 0o700))
	big, err := os.Create(filepath.Join(dir, "big"))
	require.NoError(t, err)
	require.NoError(t, big.Truncate(100<<20))
	require.NoError(t, big.Close())
	return dir
}

// Whatever is wrong with what a player writes, the answer is one of bad input: code
// 2, a sentence on standard error that says what would do, nothing on standard
// output. With --json it is the same.
func TestBadInputSaysWhatWouldDo(t *testing.T) {
	t.Chdir(files(t))
	for line, want := range map[string]string{
		// Names that are none, and near misses.
		"drll":                                       `no command is called "drll": did you mean drill?`,
		"arrange key-rng":                            `"key-rng" is neither a tune nor a file: did you mean key-ring?`,
		"tune show lantern":                          "did you mean lantern-street?",
		"tune show waltz":                            "use bicycle-bell, ",
		"drill find --tune lantern-stret":            `no tune is called "lantern-stret": did you mean lantern-street?`,
		"drill find --chords trads":                  "did you mean triads?",
		"today --lesson what-a-degree":               "did you mean what-a-degree-is?",
		"today --lesson nope":                        "use what-a-degree-is, roots-on-",
		"tune list --data good.tune":                 "--data good.tune is a file; name a folder",
		"arrange --lyer bass":                        "arrange has no flag --lyer: did you mean --layer?",
		"arrange --nope":                             "arrange has no flag --nope: use --comping, --data, --help, --json, --key",
		"drill -z":                                   "drill has no flag -z: use --chords",
		"arrange key-ring --json --layer":            "--layer needs a value: how much of the arrangement",
		"arrange key-ring --layer all":               "write one of bass, bass+changes, bass+halves",
		"arrange key-ring --key H":                   `--key "H" is no key; write one such as Bb, F#m or D minor`,
		"walk key-ring --style slow":                 `"slow" is no style; write one of approaches`,
		"play key-ring --silent --section Z":         `the tune has no section "Z"; its form is A B C D`,
		"shapes Cm7 --bass 99":                       `"99" is no degree; write one of`,
		"shapes Cm7 --bass 1 --along x-3-5-3-4-x":    "--bass and --along do not go together: give one of them",
		"tune format key-ring --ending 4":            "--ending: there is no place 4 for Gbmaj7: write 1 to 3",
		"shapes Cm7 --along x-3-5":                   `--along "x-3-5": found 3 frets for 6 strings; write 6 frets`,
		"shapes C7 --along x-3-5-4-5-x":              "--along: x-3-5-4-5-x is no shape of C7: the 7 on string 3 is not in C7",
		"play key-ring --silent --tempo 90 --ramp x": "--tempo and --ramp do not go together: give one of them",
		"drill --tune key-ring --chords first":       "--tune and --chords do not go together: give one of them",
		"review --csv --json":                        "--csv and --json do not go together: give one of them",
		"log export --csv --json":                    "--csv and --json do not go together: give one of them",
		// Numbers that are none, or out of bounds.
		"play key-ring --silent --tempo 0":                        "--tempo 0: give 30 to 300 BPM",
		"play key-ring --silent --tempo NaN":                      "--tempo NaN: give 30 to 300 BPM",
		"play key-ring --silent --tempo 1e400":                    "--tempo 1e400: give a number",
		"arrange key-ring --width -5":                             "--width -5: give 40 to 1000 characters",
		"tune import - --tempo 0":                                 "--tempo 0: give 30 to 300 BPM",
		"play key-ring --silent --ramp 60:90+x":                   `--ramp 60:90+x: column 7: found "x"; want a step of`,
		"drill --minutes Inf":                                     "--minutes +Inf: give a number over 0, up to 1440",
		"today --minutes 100000":                                  "--minutes 100000: give 1 to 240",
		"walk key-ring --judge --seed 4":                          "leave out --style, --seed and --from",
		"walk key-ring --seed 1e30":                               "--seed 1e30: give a whole number from 0",
		"review --since 2026-13-40":                               "--since 2026-13-40: write a day like 2026-11-25",
		"review --report week.pdf":                                "--report week.pdf: a report is a page or text; give a file that ends in .html or .txt",
		"review --report w.txt --since 2020-01-01":                "--since 2020-01-01: a report is about the last 31 days at most",
		"review --pupils none":                                    "--pupils none: there is no such folder; name the folder in which the reports lie",
		"review --pupils folder --report p.txt":                   "the page of pupils ends in .html",
		"review --report w.txt --name " + strings.Repeat("n", 61): "--name is longer than 60 characters",
		// Files that are not there, or not what is wanted.
		"tune check none.tune":                 "there is no file none.tune; name one that is there, or - for standard input",
		"arrange folder":                       "folder is a folder; name a file",
		"tune check empty":                     "found no tune line; want the title",
		"tune check binary":                    "in a file that is not text; want a text in UTF-8\nfootfall: 1 fault found\n",
		"tune check utf16":                     "found text in UTF-16; want the same text saved as UTF-8\nfootfall: 1 fault found\n",
		"tune check big":                       "big is longer than 2 MB; name a smaller file",
		"tune import binary":                   "in a file that is not text; want a text in UTF-8",
		"tune import good.tune":                "good.tune: this is a tune already: use it as it is",
		"tune import empty":                    "found no chords; want chord symbols",
		"today --lesson folder":                "folder is a folder; name a file",
		"today --lesson binary":                "in a file that is not text",
		"hear none.wav":                        "there is no file none.wav; name one",
		"hear folder":                          "folder is a folder; name a file",
		"hear big":                             "not with a WAV header; save it as WAV (PCM)",
		"hear -":                               "standard input: the file is empty; a WAV recording would do",
		"score key-ring --take binary":         ", not with a WAV header; save it as WAV (PCM), or give a Standard MIDI File",
		"score - --take -":                     "tune and recording cannot both come from standard input",
		"log import folder":                    "folder is a folder; name a file",
		"log import binary":                    "Nothing was taken",
		"log import -":                         "standard input: line 1: found \"\"; a history is what",
		"log backup none/x.db":                 "there is no folder none; make it first, or name another",
		"log backup good.tune":                 "good.tune is there already and is left as it is; name a new file",
		"sheet key-ring -o none/x.html":        "there is no folder none; make it first, or name another",
		"sheet key-ring -o x":                  "-o x has no ending, which says what is written; give one of .html",
		"sheet key-ring -o x.pdf":              "-o x.pdf: .pdf cannot be written; give one of .html",
		"tune export key-ring -o none/x.mxl":   "there is no folder none; make it first, or name another",
		"manual none":                          "there is no folder none; make it first, or name another",
		"manual good.tune":                     "there is no folder good.tune; make it first, or name another",
		"settings check none.toml":             "there is no file none.toml; name one",
		"settings check folder":                "folder is a folder; name a file",
		"settings check binary":                "want the file saved as text in UTF-8; until then the defaults hold\nfootfall: 1 fault found\n",
		"settings check big":                   "big is longer than 64 kB; name a smaller file",
		"shape x-3":                            "found 2 frets for 6 strings; write 6 frets low string to high",
		"shape 8-x-8-9-8-x --over H":           "want a root, A to G, or N.C. for no chord",
		"chord H":                              "want a root, A to G, or N.C. for no chord",
		"play - --silent":                      "standard input is no tune yet",
		"drill --tune -":                       "the tune cannot come from standard input, where your answers come from: name a file",
		"sheet good.tune -o folder":            "-o folder has no ending",
		"arrange good.tune folder":             `"folder" is one argument too many`,
		"sheet lantern-street -o folder/x.htm": "give one of .html",
	} {
		for _, more := range [][]string{nil, {"--json"}} {
			out, errs, code := runOn(strings.NewReader(""), append(more, strings.Fields(line)...)...)
			assert.Equal(t, ExitBadInput, code, line)
			command, _, _ := strings.Cut(line, " ")
			answers := more != nil && (command == "chord" || command == "shape" || strings.Contains(line, " check ")) // faults are their answers
			if more != nil {
				var one fault
				dec := json.NewDecoder(strings.NewReader(errs))
				dec.DisallowUnknownFields()
				if assert.NoError(t, dec.Decode(&one), "%s: %s", line, errs) {
					assert.Equal(t, ExitBadInput, one.Exit, line)
					assert.False(t, dec.More(), "%s: one object, not %s", line, errs)
				}
				errs = one.Error
			}
			if !answers {
				assert.Empty(t, out, line)
				assert.Contains(t, errs, want, line)
			}
			assert.LessOrEqual(t, strings.Count(errs, "\n"), 7, "%s says little: %s", line, errs)
		}
	}
	for _, good := range []string{"tune check crlf.tune", "tune check bom.tune", "tune format crlf.tune", "arrange bom.tune"} {
		_, errs, code := runOn(nil, strings.Fields(good)...)
		assert.Zero(t, code, "%s: %s", good, errs)
	}
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	assert.Len(t, entries, 8, "nothing is written, whole or in part")
}

// fullDisk takes nothing.
type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) {
	return 0, &os.PathError{Op: "write", Path: "/dev/stdout", Err: syscall.ENOSPC}
}

// An answer that cannot be written is a failure, and is told once.
func TestAnswersThatCannotBeWrittenFail(t *testing.T) {
	data := t.TempDir()
	for _, line := range []string{
		"arrange key-ring", "chord C", "drill", "today", "today --plain", "today --json", "review", "log export", "log check", "--plain", "--json",
		"shape 8-x-8-9-8-x", "shapes C", "tune list", "tune show key-ring", "tune check key-ring", "tune format key-ring", "tune export key-ring",
		"walk key-ring", "walk key-ring --judge", "settings", "version", "completion bash", "help", "tune --help", "sheet key-ring -o -",
	} {
		var errs strings.Builder
		code := Main(append(strings.Fields(line), "--data", data), strings.NewReader(""), fullDisk{}, &errs)
		assert.Equal(t, ExitFailure, code, line)
		want := "standard output cannot be written: no space left on device; what you see of the answer is not all of it"
		if strings.Contains(line, "--json") {
			assert.JSONEq(t, `{"error":"`+want+`","exit":1}`, errs.String(), line)
		} else {
			assert.Equal(t, "footfall: "+want+"\n", errs.String(), line)
		}
	}
}

// A command that only holds others answers with its help; a script that asks for JSON
// gets none of it.
func TestOnlyOtherCommandsBelow(t *testing.T) {
	for _, name := range []string{"log", "tune"} {
		out, errs, code := runOn(nil, name, "--json")
		assert.Equal(t, ExitBadInput, code, name)
		assert.Empty(t, out, name)
		var said struct {
			Error string
			Exit  int
		}
		require.NoError(t, json.Unmarshal([]byte(errs), &said), errs)
		assert.Contains(t, said.Error, name+" needs a command: one of ")
		assert.Contains(t, said.Error, "export")
		assert.Equal(t, ExitBadInput, said.Exit)
	}
}

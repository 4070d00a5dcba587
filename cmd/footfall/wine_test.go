//go:build linux

package main_test

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// onWine is the program built for Windows, which .ci/windows makes with a folder
// of Wine's for it.
type onWine struct {
	t        *testing.T
	ctx      context.Context
	exe, dir string // dir is C:\
}

func underWine(t *testing.T) onWine {
	folder := os.Getenv("FOOTFALL_WINE")
	if folder == "" {
		t.Skip("not run by .ci/windows, which builds the program for Windows")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	t.Cleanup(cancel)
	return onWine{t, ctx, filepath.Join(folder, "footfall.exe"), filepath.Join(folder, "prefix", "drive_c")}
}

// command is the program with its data in a folder of C:\.
func (w onWine) command(data string, args ...string) *exec.Cmd {
	c := exec.CommandContext(w.ctx, "wine", append([]string{w.exe, "--data", `C:\` + data}, args...)...)
	c.Env = append(os.Environ(), "CI=", "TERM=xterm-256color", "TZ=UTC", "PULSE_SERVER=unix:/nonexistent")
	c.Stderr = new(bytes.Buffer)
	c.WaitDelay = time.Second
	return c
}

// does runs a command to its end.
func (w onWine) does(c *exec.Cmd, in string) (out, errs string, exit int) {
	w.t.Helper()
	var o bytes.Buffer
	c.Stdin, c.Stdout = strings.NewReader(in), &o
	require.NoError(w.t, c.Start())
	w.ends(c)
	return o.String(), c.Stderr.(*bytes.Buffer).String(), c.ProcessState.ExitCode()
}

// ends waits for the end of a command that was started. Where Wine itself breaks or
// stands still, the test is skipped and says so.
func (w onWine) ends(c *exec.Cmd) {
	w.t.Helper()
	_ = c.Wait() // the exit code tells
	if w.ctx.Err() != nil {
		w.t.Skipf("Wine did not come to an end in two minutes: %v", c.Args)
	}
	if errs, ok := c.Stderr.(*bytes.Buffer); ok && strings.Contains(errs.String(), "wine: ") {
		w.t.Skipf("Wine breaks: %s", errs)
	}
}

// kept is how much a history without faults holds.
func (w onWine) kept(data string) checked {
	w.t.Helper()
	out, errs, exit := w.does(w.command(data, "log", "check", "--json"), "")
	require.Zero(w.t, exit, errs)
	var got checked
	require.NoError(w.t, json.Unmarshal([]byte(out), &got))
	require.Empty(w.t, got.Faults)
	return got
}

// What is worked out is the same, byte for byte, on Windows.
func TestUnderWineAnswersAreThoseOfLinux(t *testing.T) {
	w := underWine(t)
	for _, args := range [][]string{
		{"chord", "Dm7", "B♭7#9", "F#ø", "C6/9/E", "--json"},
		{"chord", "Cfoo"},
		{"shape", "8-x-8-9-8-x", "--over", "C7", "--json"},
		{"shapes", "Am7b5", "--bass", "b5", "--json"},
		{"arrange", "lantern-street", "--why", "--json"},
		{"walk", "harbour-wall-at-six", "--seed", "7"},
		{"tune", "format", "tin-kettle-blues", "--ending", "2"},
		{"drill", "sing", "--plain"},
		{"manual", "json"},
	} {
		ours := program(t, t.TempDir(), args...)
		var want, wantErrs bytes.Buffer
		ours.Stdout, ours.Stderr = &want, &wantErrs
		_ = ours.Run()
		out, errs, exit := w.does(w.command("same", args...), "")
		assert.Equal(t, want.String(), out, "%v", args)
		assert.Contains(t, errs, wantErrs.String(), "%v", args) // Wine may say something of the machine
		assert.Equal(t, ours.ProcessState.ExitCode(), exit, "%v", args)
	}
}

// Handouts are the same too, and go where a path of Windows says.
func TestUnderWineSheets(t *testing.T) {
	w := underWine(t)
	require.NoError(t, os.MkdirAll(filepath.Join(w.dir, "Hand outs"), 0o700))
	for _, ending := range []string{".html", ".svg", ".txt", ".musicxml", ".mid", ".wav"} {
		mine := filepath.Join(t.TempDir(), "sheet"+ending)
		out, err := program(t, t.TempDir(), "sheet", "rope-swing-at-dusk", "-o", mine).CombinedOutput()
		require.NoError(t, err, "%s", out)
		want, err := os.ReadFile(mine)
		require.NoError(t, err)
		_, errs, exit := w.does(w.command("sheets", "sheet", "rope-swing-at-dusk", "-o", `c:/Hand outs\sheet`+ending), "")
		require.Zero(t, exit, errs)
		got, err := os.ReadFile(filepath.Join(w.dir, "Hand outs", "sheet"+ending))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, got), ending)
	}
	_, errs, exit := w.does(w.command("sheets", "sheet", "key-ring", "-o", `C:\not there\a.svg`), "")
	assert.Equal(t, 2, exit)
	assert.Contains(t, errs, `there is no folder C:\not there`)
}

// days sits in for the player on seven days in a row, and returns all that was told.
// Each third answer is none.
func days(t *testing.T, ended func(*exec.Cmd), today func() *exec.Cmd) (told []string) {
	for day := range 7 {
		c := today()
		c.Env = append(c.Env, "TZ=UTC", fmt.Sprintf("FOOTFALL_CLOCK=2026-03-%02dT18:00:00Z", day+1))
		in, err := c.StdinPipe()
		require.NoError(t, err)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		for lines := bufio.NewScanner(out); lines.Scan(); {
			told = append(told, lines.Text())
			var e struct {
				Event string
				N     int
				// A list in a question and a verdict of a pass; counts at the end.
				Right, Clean json.RawMessage
			}
			if json.Unmarshal(lines.Bytes(), &e) != nil {
				break // cut off; what was told will not be what was wanted
			}
			var says any
			switch {
			case e.Event == "step":
				says = map[string]bool{"start": true}
			case e.Event == "question" && len(told)%3 == 0:
				says = map[string]any{"answer": "none", "after_s": 4}
			case e.Event == "question":
				var right []string
				require.NoError(t, json.Unmarshal(e.Right, &right))
				says = map[string]any{"answer": right[0], "after_s": 2}
			case e.Event == "pass" && string(e.Clean) == "null":
				says = map[string]any{"clean": e.N%2 == 0}
			default:
				continue
			}
			if json.NewEncoder(in).Encode(says) != nil {
				break // it has ended, and ended tells why
			}
		}
		ended(c)
	}
	return told
}

// Seven days by events are those of Linux, event for event.
func TestUnderWineSevenDays(t *testing.T) {
	w := underWine(t)
	data := t.TempDir()
	args := []string{"today", "--events", "--minutes", "10"}
	want := days(t, func(c *exec.Cmd) { require.NoError(t, c.Wait()) }, func() *exec.Cmd { return program(t, data, args...) })
	require.Greater(t, len(want), 300)
	got := days(t, w.ends, func() *exec.Cmd { return w.command("days", args...) })
	assert.Equal(t, want, got)
	assert.Equal(t, answers(t, data), w.kept("days").Answers)
}

// A play-along counts its passes, with its sound off and with whatever there is.
func TestUnderWinePlayAlong(t *testing.T) {
	w := underWine(t)
	require.NoError(t, os.WriteFile(filepath.Join(w.dir, "short.tune"), []byte("\ufefftune Short\r\nkey C\r\nmeter 2/4\r\ntempo 300\r\n\r\n[A]\r\nchords | C |\r\nbass | 1 5 |\r\n"), 0o600))
	for n, silent := range []bool{true, false} {
		out, errs, exit := w.does(w.command("play", "play", `C:\short.tune`, "--plain", "--passes", "2", "--port", "none", fmt.Sprintf("--silent=%v", silent)), "")
		assert.Zero(t, exit)
		assert.NotContains(t, errs, "footfall")
		assert.Contains(t, out, "Pass 2 at 300 BPM.")
		assert.NotContains(t, out, "miniaudio")
		assert.Equal(t, 2*n+2, w.kept("play").Takes)
	}
}

// Tunes come from and go to paths of Windows; names that it keeps for devices are
// left to it.
func TestUnderWineTunes(t *testing.T) {
	w := underWine(t)
	require.NoError(t, os.WriteFile(filepath.Join(w.dir, "aux one.txt"), []byte("\ufefftune Aux\r\nkey C\r\nmeter 4/4\r\ntempo 100\r\n\r\n[A]\r\nchords | C | F |\r\n"), 0o600))
	out, errs, exit := w.does(w.command("tunes", "tune", "add", `C:\aux one.txt`), "")
	require.Zero(t, exit, errs)
	assert.Contains(t, out, `C:\tunes\tunes\aux-tune.tune`)
	out, _, exit = w.does(w.command("tunes", "tune", "show", "aux-tune"), "")
	assert.Zero(t, exit)
	assert.Contains(t, out, "key C, 4/4, tempo 100")
	_, errs, exit = w.does(w.command("tunes", "tune", "show", `C:\none\such.tune`), "")
	assert.Equal(t, 2, exit)
	assert.Contains(t, errs, `there is no file C:\none\such.tune`)
}

// Two programs at once lose nothing; one that is killed has kept what it showed; a
// damaged history is told, and mended.
func TestUnderWineHistory(t *testing.T) {
	w := underWine(t)
	drill := func(n int) *exec.Cmd {
		return w.command("history", "drill", "find", "--plain", "--questions", fmt.Sprint(n))
	}
	both := []*exec.Cmd{drill(40), drill(40)}
	for _, c := range both {
		c.Stdin = strings.NewReader(strings.Repeat("3\n", 40))
		require.NoError(t, c.Start())
	}
	for _, c := range both {
		w.ends(c)
	}
	shown := 80
	require.Equal(t, shown, w.kept("history").Answers)

	for range 5 {
		c := drill(100000)
		in, err := c.StdinPipe()
		require.NoError(t, err)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		go func() {
			for {
				if _, err := io.WriteString(in, "3\n"); err != nil {
					return
				}
			}
		}()
		round := 0
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if l := lines.Text(); strings.HasPrefix(l, "Correct") || strings.HasPrefix(l, "Wrong") {
				if round++; round == 10 {
					_ = c.Process.Kill()
				}
			}
		}
		w.ends(c)
		kept := w.kept("history").Answers
		require.GreaterOrEqual(t, kept, shown+round)
		require.LessOrEqual(t, kept, shown+round+1, "one answer may be kept and not shown yet")
		shown = kept
	}

	path := filepath.Join(w.dir, "history", "history.db")
	damageIndex(t, path)
	_, errs, exit := w.does(w.command("history", "log", "check"), "")
	require.Equal(t, 1, exit, errs)
	out, errs, exit := w.does(w.command("history", "log", "check", "--repair"), "")
	require.Zero(t, exit, "%s%s", out, errs)
	assert.Equal(t, shown, w.kept("history").Answers)
	left, err := filepath.Glob(path + ".damaged-*")
	require.NoError(t, err)
	assert.NotEmpty(t, left, "the damaged one is kept")
}

// damageIndex writes over a page of a history that is only an index.
func damageIndex(t *testing.T, path string) {
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	var page, size int64
	require.NoError(t, db.QueryRow("SELECT rootpage, page_size FROM sqlite_schema, pragma_page_size WHERE name = 'answers_of_item'").Scan(&page, &size))
	require.NoError(t, db.Close())
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteAt(bytes.Repeat([]byte("x"), int(size)), (page-1)*size)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

// console runs a command on a terminal, through Wine's console.
type console struct {
	*terminal
	onWine
}

func (w onWine) onConsole(args ...string) console {
	c := w.command("console", args...)
	c.Stderr = nil
	return console{onTerminal(w.t, c), w}
}

// between is what Wine's console puts in between: it breaks lines by the count of
// characters, of escapes too, and hides the cursor for each piece that it writes.
var between = regexp.MustCompile(`\r*\n|\r|\x1b\[\?25[hl]`)

// shown is all that was drawn.
func (c console) shown() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return between.ReplaceAllString(c.all.String(), "")
}

// until waits until a text was drawn. Where it is not, whether the program or Wine's
// console is to blame cannot be told.
func (c console) until(text string) {
	c.onWine.t.Helper()
	for !strings.Contains(c.shown(), text) {
		if c.ctx.Err() != nil {
			c.onWine.t.Skipf("Wine's console did not show %q", text)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// On a console: colours, the neck, ctrl+c, and a window that is closed in the midst
// of unsaved work. Wine 8 hands on no change of size.
func TestUnderWineConsole(t *testing.T) {
	w := underWine(t)
	x := w.onConsole("drill", "find")
	x.until("Answer")
	x.press("3\r")
	x.until("go on")
	x.press("\x03")
	w.ends(x.cmd)
	drawn := x.shown()
	if strings.Contains(drawn, "wine: ") {
		t.Skip("Wine breaks on its console")
	}
	assert.Equal(t, 0, x.cmd.ProcessState.ExitCode())
	assert.Contains(t, drawn, "┿━━━┿")
	assert.Contains(t, drawn, "\x1b[38;2;", "colours")
	assert.Less(t, strings.LastIndex(drawn, "\x1b[?1049h"), strings.LastIndex(drawn, "\x1b[?1049l"), "the usual screen is back")
	assert.Equal(t, 1, w.kept("console").Answers)

	x = w.onConsole()
	x.until("add a tune")
	x.press("\x1b[F")
	x.press("e")
	x.until("edit · ")
	x.press("b3\r")
	x.until("not saved")
	require.NoError(t, x.close())
	w.ends(x.cmd)
	drafts, err := filepath.Glob(filepath.Join(w.dir, "console", "drafts", "*.tune"))
	require.NoError(t, err)
	assert.Len(t, drafts, 1)
}

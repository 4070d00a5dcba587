//go:build !windows

package main_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/harmony"
	"footfall/trainer/history"
)

var build = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "footfall")
	if err != nil {
		return "", err
	}
	exe := filepath.Join(dir, "footfall")
	out, err := exec.Command("go", "build", "-o", exe, ".").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return exe, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if exe, err := build(); err == nil && code >= 0 {
		os.RemoveAll(filepath.Dir(exe))
	}
	os.Exit(code)
}

// program is the real binary with a history of its own. The screens find a settings file,
// so that nothing is asked as at a first start.
func program(t testing.TB, data string, args ...string) *exec.Cmd {
	exe, err := build()
	require.NoError(t, err)
	if len(args) == 0 || args[0] == "--data" {
		require.NoError(t, os.MkdirAll(filepath.Join(data, "footfall"), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(data, "footfall", "settings.toml"), nil, 0o600))
	}
	c := exec.Command(exe, args...)
	c.Env = append(os.Environ(), "TERM=xterm-256color", "COLORTERM=truecolor", "XDG_DATA_HOME="+data, "XDG_CONFIG_HOME="+data)
	return c
}

// A terminal that never answers: the program must not ask it for its background,
// since waiting for the answer costs seconds.
func TestCommandsDoNotAskTheTerminal(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"drill", "--help"}, {"chord", "C"}} {
		c := program(t, t.TempDir(), args...)
		tty, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
		require.NoError(t, err)
		out, _ := io.ReadAll(tty) // ends in an error when the program does
		require.NoError(t, c.Wait())
		assert.NotEmpty(t, out)
		assert.NotContains(t, string(out), "\x1b", "%v", args)
		tty.Close()
	}
}

// A first start asks three things, each of which enter answers, and then never again; a
// right answer is not far.
func TestAFirstStart(t *testing.T) {
	data := t.TempDir()
	c := program(t, data)
	require.NoError(t, os.Remove(filepath.Join(data, "footfall", "settings.toml")))
	x := onTerminal(t, c)
	x.wait("What do you play?")
	x.press("\r\r\r")
	x.wait("Find your level")
	text, err := os.ReadFile(filepath.Join(data, "footfall", "settings.toml"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "minutes = 20")
	x.press("\r")
	x.wait("enter answers")
	x.press("q")
	require.NoError(t, x.cmd.Wait())
	again := exec.Command(c.Path)
	again.Env = c.Env
	x = onTerminal(t, again)
	x.wait("add a tune")
	x.press("q")
	require.NoError(t, again.Wait())
	<-x.done
	assert.NotContains(t, x.all.String(), "What do you play?")
}

// terminal is the program on a terminal, and what it has drawn.
type terminal struct {
	t    *testing.T
	tty  *os.File
	cmd  *exec.Cmd
	mu   sync.Mutex
	seen bytes.Buffer // since the last wait
	all  output
	done chan struct{}
}

// output is all that a program wrote.
type output struct{ bytes.Buffer }

// last is where a text was last written, -1 for nowhere.
func (o *output) last(text string) int { return bytes.LastIndex(o.Bytes(), []byte(text)) }

func onTerminal(t *testing.T, c *exec.Cmd) *terminal {
	tty, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
	require.NoError(t, err)
	x := &terminal{t: t, tty: tty, cmd: c, done: make(chan struct{})}
	go func() {
		defer close(x.done)
		b := make([]byte, 4096)
		for {
			n, err := tty.Read(b)
			x.mu.Lock()
			x.seen.Write(b[:n])
			x.all.Write(b[:n])
			x.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() {
		c.Process.Kill()
		c.Wait()
		tty.Close()
	})
	return x
}

// wait waits until what was drawn since the last wait holds a text, the looks of its
// letters aside: without colors each letter may be underlined on its own.
func (x *terminal) wait(text string) string {
	x.t.Helper()
	var drawn string
	require.Eventually(x.t, func() bool {
		x.mu.Lock()
		defer x.mu.Unlock()
		drawn = x.seen.String()
		return strings.Contains(drawn, text) || strings.Contains(ansi.Strip(drawn), text)
	}, 60*time.Second, 5*time.Millisecond, "waiting for %q", text)
	x.mu.Lock()
	x.seen.Reset()
	x.mu.Unlock()
	return drawn
}

// close closes the terminal over the program's head. A file that is read from is not
// closed: the reading ends first.
func (x *terminal) close() error {
	if err := x.tty.SetReadDeadline(time.Now()); err != nil {
		return err
	}
	<-x.done
	return x.tty.Close()
}

func (x *terminal) press(keys string) {
	_, err := io.WriteString(x.tty, keys)
	require.NoError(x.t, err)
}

// The first five keys of a stranger: enter, a fret, enter, and the way out; the
// terminal is left as it was found.
func TestScreensOnATerminal(t *testing.T) {
	data := t.TempDir()
	x := onTerminal(t, program(t, data))
	first := x.wait("add a tune")
	assert.Equal(t, 1, strings.Count(first, "\x1b]11;?"), "the terminal is asked for its background, once, and not waited for")
	x.press("d\r")
	x.wait("Play the")
	x.press("3\r")
	x.wait(" s\x1b") // the time of the verdict
	x.press("\x1b")
	x.wait("How it went")
	x.press("q")
	require.NoError(t, x.cmd.Wait())
	<-x.done
	assert.Contains(t, x.seen.String(), "\x1b[?1049l")
	assert.Equal(t, 1, answers(t, data))
}

// A note written as MIDI bytes into a named pipe, which the settings name as the
// input, answers the question on the screen.
func TestMIDIFromAPipeAnswers(t *testing.T) {
	data := t.TempDir()
	fifo := filepath.Join(data, "guitar")
	require.NoError(t, unix.Mkfifo(fifo, 0o600))
	require.NoError(t, os.MkdirAll(filepath.Join(data, "footfall"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(data, "footfall", "settings.toml"), []byte("[listen]\nport = \""+fifo+"\"\n"), 0o600))
	x := onTerminal(t, program(t, data, "drill", "find"))
	q := x.wait("enter answers")
	fret, err := strconv.Atoi(rightFret(t, q))
	require.NoError(t, err)
	str := prompt.FindStringSubmatch(q)[3]
	w, err := os.OpenFile(fifo, os.O_WRONLY, 0) // opens when the program listens
	require.NoError(t, err)
	defer w.Close()
	note := map[string]byte{"6": 40, "5": 45}[str] + byte(fret)
	_, err = w.Write([]byte{0x90, note, 100, 0x80, note, 0})
	require.NoError(t, err)
	x.wait(" of ") // the reason of the verdict
	x.press("\x1b")
	summary := x.wait("How it went")
	x.press("q")
	require.NoError(t, x.cmd.Wait())
	assert.Contains(t, summary, "1 right of 1")
	assert.Equal(t, 1, answers(t, data))
}

// Ended from outside, the program puts the terminal back and has kept the answer.
func TestTerminatedOnATerminal(t *testing.T) {
	data := t.TempDir()
	x := onTerminal(t, program(t, data, "drill", "find"))
	x.wait("enter answers")
	x.press("3\r")
	x.wait(" of ")
	require.NoError(t, x.cmd.Process.Signal(unix.SIGTERM))
	x.cmd.Wait()
	<-x.done
	assert.Contains(t, x.seen.String(), "\x1b[?1049l")
	assert.Equal(t, 1, answers(t, data))
}

func answers(t testing.TB, data string) int { return counted(t, data).Answers }

func counted(t testing.TB, data string) history.Checked {
	s, err := history.Read(history.Path(filepath.Join(data, "footfall")), nil, nil)
	require.NoError(t, err)
	defer s.Close()
	c, err := s.Check(t.Context())
	require.NoError(t, err)
	return c
}

var prompt = regexp.MustCompile(`Play the (\S+) of (\S+) on string (\d)\.`)

// rightFret is the right answer to a find question.
func rightFret(t testing.TB, line string) string {
	m := prompt.FindStringSubmatch(line)
	require.NotNil(t, m, "%q", line)
	c, err := harmony.ParseChord(m[2])
	require.NoError(t, err)
	d, err := harmony.ParseDegree(m[1])
	require.NoError(t, err)
	open := map[string]int{"6": 40, "5": 45}[m[3]] // E2 and A2, MIDI 1.0
	return fmt.Sprint(((d.Of(c.Root).Semitone()-open)%12 + 12) % 12)
}

func TestPipedSittingEndsWithItsSummary(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"3\n5\n", "right of 2."},
		{"3\n5\nquit\n7\n", "right of 2."},
		{"3", "right of 1."},
		{"", "Nothing was asked."},
	} {
		p := program(t, t.TempDir(), "drill", "--plain", "--seed", "1")
		p.Stdin = strings.NewReader(c.in)
		out, err := p.Output()
		require.NoError(t, err, "%q", c.in)
		assert.Contains(t, string(out), c.want)
		assert.NotContains(t, string(out), "\x1b")
	}
	// Without a terminal the bare program lists and reads, and ends with its input.
	p := program(t, t.TempDir())
	p.Stdin = strings.NewReader("sing\nfind triads\n3\nquit\n")
	out, err := p.Output()
	require.NoError(t, err)
	assert.Contains(t, string(out), `no drill is called "sing"`)
	assert.Contains(t, string(out), "find it, Triads.")
	assert.Contains(t, string(out), "right of 1.")
	assert.NotContains(t, string(out), "\x1b")
}

func TestDrillJSON(t *testing.T) {
	p := program(t, t.TempDir(), "drill", "spell", "--json", "--seed", "1", "--questions", "2")
	p.Stdin = strings.NewReader("C\nD\nE\n")
	out, err := p.Output()
	require.NoError(t, err)
	var got struct {
		Asked, Right, Missed int
		MedianMS             int                   `json:"median_ms"`
		WeakestDegree        struct{ Name string } `json:"weakest_degree"`
		Seed                 int
		Answers              []struct{ Item, Prompt, Given, Verdict string }
	}
	require.NoError(t, json.Unmarshal(out, &got))
	assert.Equal(t, 2, got.Asked)
	assert.Equal(t, 1, got.Seed)
	assert.Len(t, got.Answers, 2)
	assert.NotEmpty(t, got.WeakestDegree.Name)
}

func TestBadInputIsExitCode2(t *testing.T) {
	for want, args := range map[string][]string{
		`no drill is called "sing": use find, name, spell, line`: {"drill", "sing"},
		`no tune is called "Nope"`:                               {"drill", "--tune", "Nope"},
		`no set of chords is called "nope": use first, triads`:   {"drill", "--chords", "nope"},
		`chord "Cfoo"`:                        {"drill", "--chords", "C7 Cfoo"},
		`--minutes -1: give a number over 0`:  {"drill", "--minutes", "-1"},
		`--questions 0: give a number from 1`: {"drill", "--questions", "0"},
		`is one argument too many; a name with spaces goes in quotation marks; write: footfall drill`: {"drill", "find", "name"},
		`First chords is no tune: pick a tune`:                                                        {"drill", "line"},
		`no command is called "sing"`:                                                                 {"sing"},
	} {
		p := program(t, t.TempDir(), append(args, "--plain")...)
		var errs bytes.Buffer
		p.Stderr = &errs
		out, err := p.Output()
		var exit *exec.ExitError
		require.ErrorAs(t, err, &exit, want)
		assert.Equal(t, 2, exit.ExitCode(), want)
		assert.Contains(t, errs.String(), want)
		assert.Empty(t, out, want)
	}
}

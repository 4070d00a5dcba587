//go:build linux

package main_test

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/trainer/history"
)

// soaking skips a trial that .ci/soak runs alone, and returns how often it is to be done
// and the chance that it is done with.
func soaking(t *testing.T) (count int, chance *rand.Rand) {
	t.Helper()
	count, err := strconv.Atoi(os.Getenv("FOOTFALL_SOAK"))
	if err != nil {
		t.Skip(".ci/soak runs it")
	}
	seed, err := strconv.ParseUint(os.Getenv("FOOTFALL_SOAK_SEED"), 10, 64)
	require.NoError(t, err, "FOOTFALL_SOAK_SEED")
	return count, rand.New(rand.NewPCG(seed, 1))
}

// killing is how a soak ends the program.
var killing = []unix.Signal{unix.SIGKILL, unix.SIGTERM, unix.SIGHUP, unix.SIGQUIT, unix.SIGABRT, unix.SIGINT}

// modes are the ways to answer: each answers until the program is gone, and counts the
// verdicts that were shown.
var modes = []struct {
	name string
	args []string
	run  func(t *testing.T, x *soaked)
}{
	{"drill, whole lines", []string{"drill", "find", "--plain", "--questions", "100000"}, func(t *testing.T, x *soaked) {
		x.converse(t, func(line string, say func(string)) {
			switch {
			case strings.HasPrefix(line, "Correct"), strings.HasPrefix(line, "Wrong"):
				x.told()
			}
		}, "3\n")
	}},
	{"drill, events", []string{"drill", "find", "--events", "--questions", "100000"}, func(t *testing.T, x *soaked) { x.events(t) }},
	{"today, events", []string{"today", "--events"}, func(t *testing.T, x *soaked) { x.events(t) }},
	{"play, events", []string{"play", "key-ring", "--events", "--passes", "100000"}, func(t *testing.T, x *soaked) { x.events(t) }},
	{"play, whole lines", []string{"play", "SHORT", "--plain", "--silent", "--passes", "1000", "--port", "none"}, func(t *testing.T, x *soaked) {
		x.converse(t, func(line string, say func(string)) {
			switch {
			case strings.HasPrefix(line, "Was pass"):
				say("yes\n")
			case strings.HasSuffix(line, ": clean."):
				x.told()
			}
		}, "")
	}},
	{"drill, screen", []string{"drill", "find", "--questions", "100000"}, func(t *testing.T, x *soaked) {
		x.onScreen(t, func(s *terminal) bool {
			return s.pressed("3\r") && s.saw(" of ", x) && s.pressed("\r") && s.saw("Play the", nil)
		})
	}},
}

// soaked is one run of the program that is ended from outside.
type soaked struct {
	cmd    *exec.Cmd
	signal unix.Signal
	after  time.Duration
	shown  int
	ending bool
	raw    bool
}

// told counts a verdict that was shown. The first sets the clock of the end.
func (x *soaked) told() {
	x.shown++
	if !x.ending {
		x.ending = true
		time.AfterFunc(x.after, func() { _ = x.cmd.Process.Signal(x.signal) })
	}
}

// converse hands each line that comes to heard, and says the same over and over.
func (x *soaked) converse(t *testing.T, heard func(line string, say func(string)), over string) {
	in, err := x.cmd.StdinPipe()
	require.NoError(t, err)
	out, err := x.cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, x.cmd.Start())
	say := func(text string) { _, _ = io.WriteString(in, text) } // the program may be gone
	if over != "" {
		go func() {
			for {
				if _, err := io.WriteString(in, over); err != nil {
					return
				}
			}
		}()
	}
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		heard(lines.Text(), say)
	}
	_ = x.cmd.Wait()
}

// events sits in for the player: every question is answered by the first right text, or
// by a wrong one.
func (x *soaked) events(t *testing.T) {
	n := 0
	x.converse(t, func(line string, say func(string)) {
		var e struct {
			Event string
			Right json.RawMessage // texts in a question, a number in the end
			Clean json.RawMessage // of a pass, a number in the end
			N     int
		}
		require.NoError(t, json.Unmarshal([]byte(line), &e), line)
		switch e.Event {
		case "step":
			say(`{"start":true}` + "\n")
		case "question":
			var right []string
			require.NoError(t, json.Unmarshal(e.Right, &right), line)
			text := "nothing"
			if n++; n%3 > 0 {
				text = right[0]
			}
			b, err := json.Marshal(map[string]any{"answer": text, "after_s": 2})
			require.NoError(t, err)
			say(string(b) + "\n")
		case "judged":
			x.told()
		case "pass":
			x.told()
			if string(e.Clean) == "null" {
				say(fmt.Sprintf(`{"clean":true,"pass":%d}`+"\n", e.N))
			}
		}
	}, "")
}

// onScreen answers on a terminal until the program is gone, and looks at what is left of
// that.
func (x *soaked) onScreen(t *testing.T, answer func(*terminal) bool) {
	s := onTerminal(t, x.cmd)
	if !s.saw("Play the", nil) {
		return
	}
	for answer(s) {
	}
	<-s.done
	_ = x.cmd.Wait()
	if x.signal == unix.SIGKILL {
		return // nothing can put the terminal back then
	}
	state, err := unix.IoctlGetTermios(int(s.tty.Fd()), unix.TCGETS)
	require.NoError(t, err)
	x.raw = state.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG) != unix.ICANON|unix.ECHO|unix.ISIG ||
		s.all.last("\x1b[?1049h") > s.all.last("\x1b[?1049l") || s.all.last("\x1b[?25l") > s.all.last("\x1b[?25h")
}

// pressed reports whether the program was there to be given keys.
func (x *terminal) pressed(keys string) bool {
	_, err := io.WriteString(x.tty, keys)
	return err == nil
}

// saw waits until a text is drawn, and reports whether it was before the program ended.
// Then it is told to the one that counts.
func (x *terminal) saw(text string, counts *soaked) bool {
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		x.mu.Lock()
		there := strings.Contains(x.seen.String(), text)
		if there {
			x.seen.Reset()
		}
		x.mu.Unlock()
		if there {
			if counts != nil {
				counts.told()
			}
			return true
		}
		select {
		case <-x.done:
			return false
		case <-time.After(time.Millisecond):
		}
	}
	return false
}

// Ended at random moments in every mode and way: every answer whose verdict was shown, and
// every pass, is in the history, at most one a round more, the history is sound, and no terminal is left
// raw. The modes take turns at once, since each mostly waits.
func TestSoakKills(t *testing.T) {
	count, chance := soaking(t)
	seed := chance.Uint64()
	var lost, raw, shown atomic.Int64
	t.Run("modes", func(t *testing.T) {
		for i, mode := range modes {
			t.Run(mode.name, func(t *testing.T) {
				t.Parallel()
				chance := rand.New(rand.NewPCG(seed, uint64(i)))
				data, kept := t.TempDir(), 0
				short := filepath.Join(data, "short.tune")
				require.NoError(t, os.WriteFile(short, []byte(shortTune), 0o600))
				args := slices.Clone(mode.args)
				if at := slices.Index(args, "SHORT"); at >= 0 {
					args[at] = short
				}
				for round := i; round < count; round += len(modes) {
					x := &soaked{cmd: program(t, data, args...), signal: killing[chance.IntN(len(killing))], after: time.Duration(chance.IntN(400)) * time.Millisecond}
					x.cmd.Env = append(x.cmd.Env, "FOOTFALL_CLOCK="+time.Date(2026, 12, 1+round, 18, 0, 0, 0, time.UTC).Format(time.RFC3339)) // a plan of each day
					mode.run(t, x)
					now := rows(t, data)
					shown.Add(int64(x.shown))
					if now < kept+x.shown || x.shown == 0 && mode.name != "today, events" {
						lost.Add(1)
						t.Errorf("round %d, %v: %d verdicts shown, %d answers and passes kept", round, x.signal, x.shown, now-kept)
					}
					if x.raw {
						raw.Add(1)
						t.Errorf("round %d, %v: the terminal is left raw", round, x.signal)
					}
					assert.LessOrEqual(t, now, kept+x.shown+1, "round %d: one answer may be kept and not shown yet", round)
					kept = now
				}
				sound(t, data)
			})
		}
	})
	t.Logf("SOAK kills %d, verdicts shown %d, rounds that lost one %d, terminals left raw %d", count, shown.Load(), lost.Load(), raw.Load())
}

// rows counts the answers and passes of a history, and no more: that it is sound is seen at
// the end, which takes longer the more there are.
func rows(t *testing.T, data string) (n int) {
	db, err := sql.Open("sqlite", "file:"+history.Path(filepath.Join(data, "footfall"))+"?_pragma=busy_timeout(3000)")
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.QueryRow(`SELECT (SELECT count(*) FROM answers) + (SELECT count(*) FROM takes)`).Scan(&n))
	return n
}

// So many hours of answers by the clock, with a day's jump now and then and times that
// make no sense: memory and descriptors stay what they are.
func TestSoakHours(t *testing.T) {
	hours, chance := soaking(t)
	c := program(t, t.TempDir(), "drill", "find", "--events", "--questions", "1000000")
	c.Env = append(c.Env, "FOOTFALL_CLOCK=2026-12-01T18:00:00Z")
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	defer func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	}()
	present := func() (kB, descriptors int) {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", c.Process.Pid))
		require.NoError(t, err)
		for _, l := range strings.Split(string(text), "\n") {
			if rest, ok := strings.CutPrefix(l, "VmRSS:"); ok {
				kB, err = strconv.Atoi(strings.Fields(rest)[0])
				require.NoError(t, err)
			}
		}
		open, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", c.Process.Pid))
		require.NoError(t, err)
		return kB, len(open)
	}
	spent, judged, jumps, faults := 0.0, 0, 0, 0
	var early, files int
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 1<<20)
	for spent < float64(hours)*3600 && lines.Scan() {
		var e struct {
			Event string
			Right []string
		}
		require.NoError(t, json.Unmarshal(lines.Bytes(), &e))
		switch e.Event {
		case "question":
			after := 1 + 6*chance.Float64()
			spent += after
			switch chance.IntN(500) {
			case 0:
				after += 24 * 3600
				jumps++
			case 1:
				_, err = io.WriteString(in, `{"answer":"5","after_s":-86400}`+"\n"+`{"answer":"5","after_s":1e308}`+"\n"+"\x1b[2J\n")
				require.NoError(t, err)
				jumps++
			}
			b, err := json.Marshal(map[string]any{"answer": e.Right[0], "after_s": after})
			require.NoError(t, err)
			_, err = in.Write(append(b, '\n'))
			require.NoError(t, err)
		case "judged":
			judged++
		case "error":
			faults++
		}
		if early == 0 && spent > float64(hours)*360 {
			early, files = present()
		}
	}
	late, filesLate := present()
	assert.LessOrEqual(t, late, early+early/10+2048)
	assert.LessOrEqual(t, filesLate, files)
	t.Logf("SOAK hours %d, answers %d, jumps of the clock %d, lines refused %d, resident %d kB, then %d kB, descriptors %d, then %d",
		hours, judged, jumps, faults, early, late, files, filesLate)
}

// A disk that fills up, at one size after the other: the program ends well, says what it
// could not keep, and what is on the disk is sound once there is room.
func TestSoakFullDisk(t *testing.T) {
	count, chance := soaking(t)
	if os.Getuid() != 0 {
		t.Skip("mounts a small disk, which only root may")
	}
	told := 0
	short := filepath.Join(t.TempDir(), "short.tune") // passes take the time they take
	require.NoError(t, os.WriteFile(short, []byte(shortTune), 0o600))
	for round := range count {
		disk := t.TempDir()
		size := 40 + chance.IntN(400)
		require.NoError(t, unix.Mount("tmpfs", disk, "tmpfs", 0, fmt.Sprintf("size=%dk", size)))
		func() {
			defer func() { require.NoError(t, unix.Unmount(disk, unix.MNT_DETACH)) }()
			for _, args := range [][]string{
				{"drill", "find", "--plain", "--questions", "30"}, {"sheet", "lantern-street", "-o", filepath.Join(disk, "a.html")},
				{"settings", "new"}, {"log", "backup", filepath.Join(disk, "b.db")}, {"play", short, "--plain", "--silent", "--passes", "1", "--tempo", "300", "--port", "none"},
			} {
				c := program(t, disk, args...)
				c.Env = append(c.Env, "TMPDIR="+t.TempDir(), "XDG_CONFIG_HOME="+disk)
				c.Stdin = strings.NewReader(strings.Repeat("3\n", 30))
				out, err := c.CombinedOutput()
				wellEnded(t, out, c, fmt.Sprintf("round %d, %d kB, %v", round, size, args))
				if err != nil {
					told++
				}
			}
			require.NoError(t, unix.Mount("tmpfs", disk, "tmpfs", unix.MS_REMOUNT, "size=50m"))
			c := program(t, disk, "log", "check", "--json")
			out, err := c.CombinedOutput()
			require.NoError(t, err, "round %d, %d kB: %s", round, size, out)
			parts, err := filepath.Glob(filepath.Join(disk, "*.part"))
			require.NoError(t, err)
			assert.Empty(t, parts)
		}()
	}
	t.Logf("SOAK full disks %d, commands that told of it %d", count, told)
}

// mostResident is what a command may take at its peak, in kB.
const mostResident = 200_000

// wellEnded checks that a command ended by itself with one of its own codes, within its
// memory, and printed neither a fault of Go's nor what a terminal acts on.
func wellEnded(t *testing.T, out []byte, c *exec.Cmd, what string) {
	t.Helper()
	code := c.ProcessState.ExitCode()
	text := string(out)
	bad := code < 0 || code > 2 || resident(c) > mostResident
	for _, never := range []string{"\x1b", "\u202e", "panic:", "goroutine ", "*errors.", "0xc000", "%!", "runtime error", "unexpected type"} {
		bad = bad || strings.Contains(text, never)
	}
	if bad {
		t.Errorf("%s: code %d, %d kB: %.600q", what, code, resident(c), text)
	}
}

// resident is what a command took at its peak, in kB.
func resident(c *exec.Cmd) int64 { return c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss }

//go:build linux

package main_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/trainer/history"
)

// aYear makes a history of a year in a data folder: a hundred answers on each day.
func aYear(b *testing.B, data string) {
	s, err := history.Open(history.Path(filepath.Join(data, "footfall")), nil, nil)
	require.NoError(b, err)
	defer s.Close()
	var text bytes.Buffer
	id := func(n int) uuid.UUID { return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Append(nil, n)) }
	first := time.Now().AddDate(-1, 0, 0)
	at := func(day int) string { return first.AddDate(0, 0, day).Format("2006-01-02T15:04:05.000Z07:00") }
	fmt.Fprintf(&text, `{"version":1,"sittings":[{"id":%q,"began":%q,"last":%q,"drill":"find","tune":""}],"answers":[`, id(0), at(0), at(364))
	comma := ""
	for day := range 365 {
		for i := range 100 {
			n := 1 + day*100 + i
			item := fmt.Sprintf("find:%s:%s:%s:%d", []string{"m7", "7", "maj7"}[n%3], []string{"1", "5", "3"}[n%3/2], []string{"C", "D", "Eb", "F", "G", "A", "Bb"}[n%7], 5+n%2)
			fmt.Fprintf(&text, `%s{"id":%q,"sitting":%q,"at":%q,"item":%q,"way":"typed","verdict":"sure","grade":3,"took_ms":%d,"string":6,"fret":3,"given":"string 6 fret 3"}`,
				comma, id(n), id(0), at(day), item, 900+n%700)
			comma = ","
		}
	}
	text.WriteString(`],"takes":[]}`)
	_, err = s.Import(b.Context(), &text)
	require.NoError(b, err)
}

// BenchmarkFirstFrame starts the real program on a terminal, with a year of
// history, and waits for the first screen. Budget: 60 ms at the median.
func BenchmarkFirstFrame(b *testing.B) {
	data := b.TempDir()
	aYear(b, data)
	var took []time.Duration
	for b.Loop() {
		c := program(b, data)
		began := time.Now()
		tty, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
		require.NoError(b, err)
		seen, buf := "", make([]byte, 1<<16)
		for !strings.Contains(seen, "add a tune") {
			n, err := tty.Read(buf)
			require.NoError(b, err)
			seen += string(buf[:n])
		}
		took = append(took, time.Since(began))
		b.StopTimer()
		c.Process.Kill()
		c.Wait()
		tty.Close()
		b.StartTimer()
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms/median")
	b.ReportMetric(float64(took[0].Microseconds())/1000, "ms/best")
}

// BenchmarkIdle leaves screens alone and asks the system what they used. Budget:
// 0.2 % of a core.
func BenchmarkIdle(b *testing.B) {
	const rest = 8 * time.Second
	for name, keys := range map[string][]string{"home": nil, "drill": {"d", "\r"}, "review": {"r"}, "shapes": {"s"}, "inputs": {"i"}, "today": {"t"}, "play": {"\x1b[F", "p"}, "edit": {"\x1b[F", "e"}} {
		b.Run(name, func(b *testing.B) {
			used := 0.0
			for b.Loop() {
				c := program(b, b.TempDir())
				tty, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
				require.NoError(b, err)
				go func() {
					buf := make([]byte, 1<<16)
					for {
						if _, err := tty.Read(buf); err != nil {
							return
						}
					}
				}()
				time.Sleep(time.Second)
				for _, k := range keys {
					_, err := tty.WriteString(k)
					require.NoError(b, err)
					time.Sleep(time.Second)
				}
				time.Sleep(2 * time.Second) // devices have been looked for, and rest
				before := processorTime(b, c)
				time.Sleep(rest)
				used += (processorTime(b, c) - before).Seconds() / rest.Seconds()
				c.Process.Signal(unix.SIGTERM)
				c.Wait()
				tty.Close()
			}
			b.ReportMetric(100*used/float64(b.N), "%core")
		})
	}
}

// BenchmarkNotes plays 2,000 MIDI notes a second, with their ends, to a play-along on the
// screen. Budget: 10 % of a core.
func BenchmarkNotes(b *testing.B) {
	const each, lasting = time.Second / 2000, 10 * time.Second
	used := 0.0
	for b.Loop() {
		pipe := filepath.Join(b.TempDir(), "midi")
		require.NoError(b, unix.Mkfifo(pipe, 0o600))
		c := program(b, b.TempDir(), "play", "tin-kettle-blues", "--silent", "--port", pipe)
		tty, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
		require.NoError(b, err)
		go io.Copy(io.Discard, tty)
		cable, err := os.OpenFile(pipe, os.O_WRONLY, 0) // opens when the program listens
		require.NoError(b, err)
		_, err = tty.WriteString(" ")
		require.NoError(b, err)
		before, began := time.Duration(0), time.Now().Add(3*time.Second) // the count-in is over
		for at := time.Now(); at.Before(began.Add(lasting)); at = at.Add(each) {
			time.Sleep(time.Until(at))
			if before == 0 && at.After(began) {
				before = processorTime(b, c)
			}
			_, err = cable.Write([]byte{0x90, byte(40 + at.UnixNano()/1000%30), 90, 0x80, 40, 0})
			require.NoError(b, err)
		}
		used += (processorTime(b, c) - before).Seconds() / lasting.Seconds()
		c.Process.Signal(unix.SIGTERM)
		c.Wait()
		cable.Close()
		tty.Close()
	}
	b.ReportMetric(100*used/float64(b.N), "%core")
}

// processorTime is what all threads of a process have used, to the microsecond
// (/proc/PID/task/TID/schedstat, in nanoseconds: proc(5)).
func processorTime(b *testing.B, c *exec.Cmd) time.Duration {
	files, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/schedstat", c.Process.Pid))
	require.NoError(b, err)
	sum := time.Duration(0)
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			continue // a thread that has ended
		}
		var ns int64
		_, err = fmt.Sscan(string(text), &ns)
		require.NoError(b, err)
		sum += time.Duration(ns)
	}
	return sum
}

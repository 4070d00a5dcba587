//go:build unix

package listen

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func newPipe(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "midi")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	return path
}

func writer(t *testing.T, path string) *os.File {
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	return w
}

func TestPipeComesAndGoes(t *testing.T) {
	path := newPipe(t)
	start := time.Now()
	now := func() time.Duration { return time.Since(start) }
	in, err := Open(path, Options{Now: now})
	require.NoError(t, err)
	assert.Equal(t, path, in.Name())
	until(t, "waiting", func() bool { return in.Status().Line == path+": nothing is sending; waiting for it" })
	assert.Equal(t, Waiting, in.Status().State)

	w := writer(t, path)
	until(t, "hearing", func() bool { return in.Status().State == Hearing })
	came := now()
	sent := now()
	_, err = w.Write([]byte{0x90, 40, 100})
	require.NoError(t, err)
	n := next(t, in)
	assert.GreaterOrEqual(t, n.At, sent)
	assert.Equal(t, 40, n.MIDI)

	require.NoError(t, w.Close())
	until(t, "waiting again", func() bool { return in.Status().State == Waiting })
	gone := now()
	time.Sleep(30 * time.Millisecond)
	w = writer(t, path)
	back := now()
	// A note that comes with the writer ends the gap.
	_, err = w.Write([]byte{0x90, 41, 100})
	require.NoError(t, err)
	n = next(t, in)
	assert.Equal(t, 41, n.MIDI)
	assert.GreaterOrEqual(t, n.At, back)

	gaps := in.Absent(came, now())
	require.Len(t, gaps, 1)
	assert.LessOrEqual(t, gaps[0].From, gone)
	assert.LessOrEqual(t, gaps[0].To, n.At)
	assert.GreaterOrEqual(t, gaps[0].To, gone+30*time.Millisecond)
	assert.Empty(t, in.Absent(n.At, now()))

	// The pipe is deleted and made anew: the input finds the new one.
	require.NoError(t, w.Close())
	require.NoError(t, os.Remove(path))
	until(t, "missing", func() bool { return in.Status().Line == path+": no such file or directory; waiting for it" })
	require.NoError(t, unix.Mkfifo(path, 0o600))
	w = writer(t, path)
	_, err = w.Write([]byte{0x90, 42, 100})
	require.NoError(t, err)
	assert.Equal(t, 42, next(t, in).MIDI)

	require.NoError(t, in.Close())
	require.NoError(t, in.Close())
	_, ok := <-in.Notes()
	assert.False(t, ok)
	assert.Equal(t, Closed, in.Status().State)
	require.NoError(t, w.Close())
}

// Two thousand messages in a second, read only at the end.
func TestNothingIsDroppedUnderAThousandASecond(t *testing.T) {
	path := newPipe(t)
	in, err := Open(path, Options{})
	require.NoError(t, err)
	defer in.Close()
	w := writer(t, path)
	defer w.Close()
	const notes = 2000
	start := time.Now()
	for i := range notes {
		_, err := w.Write([]byte{0x90, byte(i % 128), 1 + byte(i/128)})
		require.NoError(t, err)
		time.Sleep(time.Until(start.Add(time.Duration(i) * time.Millisecond / 2)))
	}
	for i := range notes {
		n := next(t, in)
		require.Equal(t, i%128, n.MIDI)
		require.InDelta(t, float64(1+i/128)/127, n.Velocity, 1e-9)
	}
	assert.Zero(t, in.Status().Dropped)
	assert.Equal(t, uint64(notes), in.Status().Messages)
}

func TestBacklogIsBoundedAndCounted(t *testing.T) {
	f := NewFeed("x", Options{}, "")
	for range Backlog + 10 {
		f.Hand(Note{On: true})
	}
	assert.Equal(t, uint64(10), f.Status().Dropped)
	assert.Equal(t, uint64(Backlog), f.Status().Messages)
	f.Shut()
	f.Hand(Note{On: true})
	assert.Len(t, f.Notes(), Backlog)
}

func TestAbsences(t *testing.T) {
	at := time.Duration(0)
	f := NewFeed("x", Options{Now: func() time.Duration { return at }}, "")
	assert.Equal(t, []Span{{0, 5}}, f.Absent(0, 5))
	f.Found(10, "")
	f.Lost(20, "")
	f.Lost(25, "still away")
	f.Found(30, "")
	f.Lost(50, "")
	assert.Equal(t, []Span{{5, 10}, {20, 30}, {50, 60}}, f.Absent(5, 60))
	assert.Equal(t, []Span{{22, 24}}, f.Absent(22, 24))
	assert.Nil(t, f.Absent(30, 50))
	for i := range 2 * AbsencesKept {
		f.Found(time.Duration(100+2*i), "")
		f.Lost(time.Duration(101+2*i), "")
	}
	assert.Len(t, f.absences, AbsencesKept)
}

func TestWhatCanNeverBeAPort(t *testing.T) {
	_, err := Open(" ", Options{})
	assert.EqualError(t, err, "the name of the input is empty: pick one of those that are listed, or give the path of a named pipe")
	file := filepath.Join(t.TempDir(), "take.mid")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err = Open(file, Options{})
	assert.EqualError(t, err, file+" is a file or folder, not an input: give a MIDI device or a named pipe")
}

// A made-up /dev/snd and /proc/asound, with pipes for devices.
func TestRawPortsByName(t *testing.T) {
	dev, proc := t.TempDir(), t.TempDir()
	plug := func(file, info, name string) {
		require.NoError(t, unix.Mkfifo(filepath.Join(dev, file), 0o600))
		if name != "" {
			require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(proc, info)), 0o700))
			require.NoError(t, os.WriteFile(filepath.Join(proc, info), []byte(name+"\n\nInput 0\n  Rx bytes : 0\n"), 0o600))
		}
	}
	plug("midiC1D0", "card1/midi0", "Hex Pickup")
	plug("midiC2D0", "card2/midi0", "Hex Pickup")
	plug("midiC3D1", "card3/midi1", "Keys A/B")
	plug("midiC4D0", "", "")
	names := func() (out []string) {
		for _, p := range rawPorts(dev, proc) {
			out = append(out, p.Name)
		}
		return out
	}
	assert.Equal(t, []string{"Hex Pickup", "Hex Pickup (2)", "Keys A B", "midiC4D0"}, names())

	in := openDevice("Keys A B", func() (string, error) { return findRaw(dev, proc, "Keys A B") }, Options{})
	defer in.Close()
	w := writer(t, filepath.Join(dev, "midiC3D1"))
	_, err := w.Write([]byte{0x90, 50, 1})
	require.NoError(t, err)
	assert.Equal(t, 50, next(t, in).MIDI)

	// Unplugged, and plugged in again under another number.
	require.NoError(t, os.Remove(filepath.Join(dev, "midiC3D1")))
	require.NoError(t, w.Close())
	until(t, "unplugged", func() bool {
		return in.Status().Line == "Keys A B: not plugged in; waiting for it" ||
			in.Status().Line == "Keys A B: no such file or directory; waiting for it"
	})
	plug("midiC7D1", "card7/midi1", "Keys A/B")
	w = writer(t, filepath.Join(dev, "midiC7D1"))
	defer w.Close()
	_, err = w.Write([]byte{0x90, 51, 1})
	require.NoError(t, err)
	assert.Equal(t, 51, next(t, in).MIDI)
}

// From the write of the bytes to the note in the reader's hands. Budget: p99
// under 5 ms, half of the 10 ms from note to mark.
func BenchmarkPipeToNote(b *testing.B) {
	path := filepath.Join(b.TempDir(), "midi")
	if err := unix.Mkfifo(path, 0o600); err != nil {
		b.Fatal(err)
	}
	in, err := Open(path, Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer in.Close()
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		b.Fatal(err)
	}
	defer func() { err = errors.Join(err, w.Close()) }()
	var took []time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := w.Write([]byte{0x90, 40, 1}); err != nil {
			b.Fatal(err)
		}
		<-in.Notes()
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
}

// A cable carries 3,125 bytes a second: more, all through a tenth of one, is left to
// gather; a chord, however fast, is not.
func TestCrowdsOfBytes(t *testing.T) {
	var c crowd
	at := time.Duration(0)
	for range 50 { // a chord of eight strings every tenth of a second, struck and damped
		at += 100 * time.Millisecond
		assert.False(t, c.add(48, at))
	}
	thick := 0
	for range 1000 { // 2,000 notes a second
		at += 500 * time.Microsecond
		if c.add(3, at) {
			thick++
		}
	}
	assert.InDelta(t, 700, thick, 200, "after a tenth of a second or two")
	assert.False(t, c.add(3, at+time.Second), "over")
}

//go:build cgo && linux

package listen

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/listen/listentest"
	"footfall/trainer/sound/soundtest"
)

// A recording played into a sound server's null sink and captured from its
// monitor holds the same bass notes, at the same times but for the constant
// delay of the way, as the file read at once. Nothing is judged where the machine was
// too busy to keep the server going.
func TestCaptureThroughASoundServer(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for ten seconds")
	}
	if !soundtest.Apart(t) {
		return
	}
	const take = "../hearing/testdata/clean-line.wav"
	f, err := os.Open(take)
	require.NoError(t, err)
	defer f.Close()
	fromFile, err := ReadRecording(f)
	require.NoError(t, err)
	want := bassBegun(fromFile.Notes)
	require.Len(t, want, 24)
	soundtest.Server(t, "paplay")

	stalls := listentest.WatchStalls()
	got := bassBegun(captured(t, take))
	missing, spread := compareTakes(want, got)
	t.Logf("file %d notes, captured %d, missing %d, spread %d ms", len(want), len(got), missing, spread)
	wrong := missing > 0 || spread > 10 || len(got) != len(want)
	if stood := stalls.Stop(); wrong && stood > 5*time.Millisecond { // half of what the spread may be
		t.Skipf("this machine is too busy to capture: it stood still for %v", stood)
	}
	assert.False(t, wrong)
}

// A sound server that is stopped: no microphone is listed, one that is picked is
// waited for, closes at once, and hears when the server goes on.
func TestAMicrophoneThatHangs(t *testing.T) {
	if !soundtest.Apart(t) {
		return
	}
	server := soundtest.Server(t)
	require.NoError(t, server.Process.Signal(syscall.SIGSTOP))
	quick := func(what string, do func()) {
		t.Helper()
		began := time.Now()
		do()
		assert.Less(t, time.Since(began), 5*time.Second, what) // the library waits for half a minute
	}
	quick("listing", func() { assert.Empty(t, MicrophonePorts()) })
	var in *Microphone
	open := func() { in = OpenMicrophone("", Options{}) }
	quick("opening", open)
	quick("closing at once", func() { assert.NoError(t, in.Close()) })
	quick("opening again", open)
	until(t, "the line that says why", func() bool { return in.Status().Line == "microphone: the sound server does not answer; waiting for it" })
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
	until(t, "the microphone to listen", func() bool { return in.Status().State == Hearing })
	require.NoError(t, server.Process.Signal(syscall.SIGSTOP))
	quick("closing", func() { _ = in.Close() })
	_, more := <-in.Notes()
	assert.False(t, more)
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
}

// A microphone is heard again by itself after its server stood still while it was
// listened to, after that died and was started again, and when its device was unplugged
// and another is there.
func TestAMicrophoneComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for some seconds")
	}
	if !soundtest.Apart(t) {
		return
	}
	server := soundtest.Server(t)
	in := OpenMicrophone("", Options{})
	defer in.Close()
	is := func(state State, what string) {
		t.Helper()
		until(t, what, func() bool { return in.Status().State == state })
	}
	is(Hearing, "the microphone to listen")
	require.NoError(t, server.Process.Signal(syscall.SIGSTOP))
	is(Waiting, "word that it is silent")
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
	is(Hearing, "the microphone to go on")
	require.NoError(t, server.Process.Kill())
	_ = server.Wait()
	is(Waiting, "word that it died")
	soundtest.Again(t)
	is(Hearing, "the microphone of the server that was started again")
	require.NoError(t, exec.Command("pactl", "load-module", "module-null-sink", "sink_name=other").Run())
	before := len(in.Absent(0, in.Now()))
	require.NoError(t, exec.Command("pactl", "unload-module", "0").Run(), "its device is unplugged")
	until(t, "another to be found", func() bool {
		return in.Status().State == Hearing && len(in.Absent(0, in.Now())) > before
	})
}

// captured plays a file into the sink and returns what the microphone heard.
func captured(t *testing.T, file string) []Note {
	t.Helper()
	in, err := Open(MicrophonePort, Options{})
	require.NoError(t, err)
	defer in.Close()
	until(t, "the microphone to listen", func() bool { return in.Status().State == Hearing })
	time.Sleep(500 * time.Millisecond) // silence before the take
	require.NoError(t, exec.Command("nice", "-n", "-11", "paplay", "--device=probe", "--latency-msec=2000", file).Run())
	time.Sleep(time.Second) // what is still on its way
	require.NoError(t, in.Close())
	var notes []Note
	for n := range in.Notes() {
		notes = append(notes, n)
	}
	assert.Zero(t, in.Status().Broken, "sound was let go")
	return notes
}

// bassBegun returns the sure beginnings of notes.
func bassBegun(notes []Note) []Note {
	return slices.DeleteFunc(slices.Clone(notes), func(n Note) bool { return !n.On || n.Confidence < Sure })
}

// compareTakes counts the notes of want that got does not hold in their order,
// and returns the widest difference of their times, less the middle one, in ms.
func compareTakes(want, got []Note) (missing, spread int) {
	var late []float64
	j := 0
	for _, w := range want {
		k := slices.IndexFunc(got[j:], func(n Note) bool { return n.MIDI == w.MIDI })
		if k < 0 {
			missing++
			continue
		}
		j += k + 1
		late = append(late, float64(got[j-1].At-w.At)/float64(time.Millisecond))
	}
	if len(late) == 0 {
		return missing, math.MaxInt
	}
	slices.Sort(late)
	middle := late[len(late)/2]
	return missing, int(math.Max(middle-late[0], late[len(late)-1]-middle))
}

func TestReadRecordingHoldsTheNotesOfTheOracle(t *testing.T) {
	f, err := os.Open("../hearing/testdata/clean-line.wav")
	require.NoError(t, err)
	defer f.Close()
	rec, err := ReadRecording(f)
	require.NoError(t, err)
	require.Empty(t, rec.Warnings)
	notes := rec.Notes
	text, err := os.ReadFile("../hearing/testdata/clean-line.json")
	require.NoError(t, err)
	var truth struct{ Notes []struct{ MIDI int } }
	require.NoError(t, json.Unmarshal(text, &truth))
	begun := bassBegun(notes)
	require.Len(t, begun, len(truth.Notes))
	for i, n := range begun {
		require.Equal(t, truth.Notes[i].MIDI, n.MIDI)
		require.Zero(t, n.String)
	}
	for i := 1; i < len(notes); i++ {
		require.LessOrEqual(t, notes[i-1].At, notes[i].At)
	}
}

//go:build cgo && linux

package sound

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/gen2brain/malgo"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
	"footfall/trainer/listen/listentest"
	"footfall/trainer/sound/soundtest"
)

// recording listens to what the sink receives, until stop has waited for so many
// clicks, whose onsets it returns.
func recording(t testing.TB) (stop func(clicks int64) []int64) {
	t.Helper()
	recorder := soundtest.Hurried("parec", "--device=probe.monitor", "--raw", "--format=float32le", "--rate=48000", "--channels=1", "--latency-msec=20")
	pipe, err := recorder.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, recorder.Start())
	found, done := newOnsets(), make(chan struct{})
	var count atomic.Int64
	go func() {
		defer close(done)
		r := bufio.NewReaderSize(pipe, 1<<16)
		var word [4]byte
		for {
			if _, err := io.ReadFull(r, word[:]); err != nil {
				return
			}
			_ = found.feed([]float32{math.Float32frombits(binary.LittleEndian.Uint32(word[:]))})
			count.Store(int64(len(found.found)))
		}
	}()
	return func(clicks int64) []int64 {
		// The recorder hands on what it has in large pieces.
		for deadline := time.Now().Add(20 * time.Second); count.Load() < clicks && time.Now().Before(deadline); {
			time.Sleep(100 * time.Millisecond)
		}
		_ = recorder.Process.Signal(os.Interrupt)
		<-done
		_ = recorder.Wait()
		return found.found
	}
}

// redrawing is a screen that asks the clock and draws 60 times a second.
type redrawing struct {
	player *Player
	frames int
}

type frameTick struct{}

func nextFrame() tea.Cmd {
	return tea.Tick(time.Second/60, func(time.Time) tea.Msg { return frameTick{} })
}

func (r *redrawing) Init() tea.Cmd { return nextFrame() }

func (r *redrawing) Update(m tea.Msg) (tea.Model, tea.Cmd) {
	if _, ok := m.(frameTick); ok {
		r.frames++
		return r, nextFrame()
	}
	return r, nil
}

func (r *redrawing) View() string {
	now := r.player.Now()
	line := fmt.Sprintf("pass %d bar %d beat %d part %.3f frame %d ", now.Pass, now.Point.Bar, now.Beat, float64(now.Part)/harmony.Parts, r.frames)
	return strings.Repeat(line+strings.Repeat("·", 20)+"\n", 24)
}

// What a real sound server's sink received: every interval between clicks within
// 1 ms of 60/173 s while a screen redraws at 60 Hz. Nothing is judged where the
// machine was too busy to keep the server and the recorder going.
func TestClicksThroughASoundServer(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for eleven seconds")
	}
	soundtest.Server(t, "parec")
	stalls := listentest.WatchStalls()
	worst := worstInterval(t)
	if stood := stalls.Stop(); worst >= 0.001 && stood > 20*time.Millisecond {
		t.Skipf("this machine is too busy to measure 1 ms: it stood still for %v", stood)
	}
	assert.Less(t, worst, 0.001)
}

// worstInterval plays 14 clicks at 173 and returns by how many seconds the worst
// interval between two of them was off.
func worstInterval(t *testing.T) float64 {
	p, err := Open(clicks(100, fourFour, 173), Options{})
	require.NoError(t, err)
	defer p.Close()
	require.NoError(t, p.SetTime(clicking))
	settle(t, p)
	require.Empty(t, p.Status())
	screen := &redrawing{player: p}
	program := tea.NewProgram(screen, tea.WithOutput(io.Discard), tea.WithInput(nil), tea.WithFPS(60), tea.WithoutSignalHandler())
	drawn := make(chan struct{})
	go func() {
		defer close(drawn)
		_, _ = program.Run()
	}()
	time.Sleep(restAfter + time.Second) // the device is at rest
	stop := recording(t)
	require.NoError(t, p.Play())
	const clicks = 14
	found := stop(clicks)
	program.Quit()
	<-drawn
	assert.Greater(t, screen.frames, 100, "the screen was redrawn")
	require.GreaterOrEqual(t, len(found), clicks)
	worst := 0.0
	for i := 1; i < len(found); i++ {
		worst = max(worst, math.Abs(float64(found[i]-found[i-1])/48000-60.0/173))
	}
	t.Logf("%d clicks, worst interval %.3f ms off", len(found), worst*1000)
	return worst
}

// A server that dies while it plays: one line of status, and the transport goes
// on.
func TestSoundServerDies(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for seven seconds")
	}
	if !soundtest.Apart(t) {
		return
	}
	server := soundtest.Server(t, "parec")
	p, err := Open(clicks(100, fourFour, 173), Options{})
	require.NoError(t, err)
	defer p.Close()
	settle(t, p)
	require.Empty(t, p.Status())
	require.NoError(t, p.Play())
	require.Eventually(t, func() bool { return p.Now().State == Playing }, 60*time.Second, 20*time.Millisecond)
	require.NoError(t, server.Process.Kill())
	began := time.Now()
	before := p.When(began)
	require.Eventually(t, func() bool { return p.Status() == "The sound device has gone: the click is seen, not heard." }, 60*time.Second, 20*time.Millisecond)
	time.Sleep(time.Second)
	ended := time.Now()
	now := p.When(ended)
	assert.InDelta(t, ended.Sub(began).Seconds(), (now.At - before.At).Duration().Seconds(), 0.2)
	assert.Equal(t, Playing, now.State)
}

// What was given up is heard again by itself: a server that died and was started again,
// one that stood still and goes on, another device in the place of the default.
func TestSoundComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for the device to be looked for again, five seconds each time")
	}
	if !soundtest.Apart(t) {
		return
	}
	server := soundtest.Server(t)
	p, err := Open(clicks(1000, fourFour, 173), Options{})
	require.NoError(t, err)
	defer p.Close()
	require.NoError(t, p.Play())
	heard := func(what string) {
		t.Helper()
		require.Eventually(t, func() bool { return p.Status() == "" && p.asked.Load() != 0 }, time.Minute, 20*time.Millisecond, what)
		asked := p.asked.Load()
		require.Eventually(t, func() bool { return p.asked.Load() > asked+int64(time.Second) }, time.Minute, 20*time.Millisecond, what)
	}
	gone := func() {
		t.Helper()
		require.Eventually(t, func() bool { return p.Status() == "The sound device has gone: the click is seen, not heard." }, time.Minute, 20*time.Millisecond)
	}
	heard("at first")
	require.NoError(t, server.Process.Kill())
	_ = server.Wait()
	gone()
	server = soundtest.Again(t)
	heard("from the server that was started again")
	require.NoError(t, server.Process.Signal(syscall.SIGSTOP))
	gone()
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
	heard("when it goes on")
	for _, does := range [][]string{
		{"load-module", "module-null-sink", "sink_name=other", "rate=44100"},
		{"set-default-sink", "other"},
		{"load-module", "module-rescue-streams"},
	} {
		require.NoError(t, exec.Command("pactl", does...).Run(), does)
	}
	heard("when another device is the default")
	require.NoError(t, exec.Command("pactl", "suspend-sink", "probe", "1").Run())
	require.NoError(t, exec.Command("pactl", "unload-module", "0").Run(), "the first device is unplugged")
	heard("through the one that is left")
	assert.Equal(t, Playing, p.Now().State)
}

// No sound server and no card, as in a container or on a bare console.
func TestNoSoundServer(t *testing.T) {
	t.Setenv("PULSE_SERVER", "unix:"+filepath.Join(t.TempDir(), "none"))
	p, err := openWith(clicks(4, fourFour, 120), Options{}, func(_ context.Context, rate int, render func([]float32), gone func()) (output, error) {
		return openBackend(malgo.BackendPulseaudio, rate, render, gone)
	})
	require.NoError(t, err)
	settle(t, p)
	assert.Regexp(t, `^No sound \(.+\): the click is seen, not heard\.$`, p.Status())
	p.Close()
}

// Libraries that look for a device write nothing over the screen: where there is
// none, and where PulseAudio's is led to a server in another user's folder, of which
// it warns. The child process is for what they write past Go.
func TestOpeningWritesNothing(t *testing.T) {
	child := func(env ...string) {
		child := exec.Command(os.Args[0], "-test.run=^TestOpenInAChild$")
		own := slices.DeleteFunc(os.Environ(), func(v string) bool { return strings.HasPrefix(v, "PULSE_") })
		child.Env = append(append(own, "OPEN_IN_A_CHILD=1"), env...)
		out, err := child.CombinedOutput()
		require.NoError(t, err, string(out))
		assert.Regexp(t, `^PASS\n(coverage: .*\n)?$`, string(out))
	}
	child("PULSE_SERVER=unix:" + filepath.Join(t.TempDir(), "none"))
	if os.Getuid() != 0 {
		return // the folder can be given to nobody else
	}
	folder, err := os.MkdirTemp("", "sound")
	require.NoError(t, err)
	defer os.RemoveAll(folder)
	require.NoError(t, os.Mkdir(filepath.Join(folder, "pulse"), 0o700))
	server, err := net.Listen("unix", filepath.Join(folder, "pulse", "native"))
	require.NoError(t, err)
	defer server.Close()
	go func() {
		for {
			c, err := server.Accept()
			if err != nil {
				return
			}
			c.Close()
		}
	}()
	require.NoError(t, os.Chown(folder, 1, -1))
	child("XDG_RUNTIME_DIR=" + folder)
}

func TestOpenInAChild(t *testing.T) {
	if os.Getenv("OPEN_IN_A_CHILD") == "" {
		t.Skip("runs as the child of TestOpeningWritesNothing")
	}
	p, err := Open(clicks(4, fourFour, 120), Options{})
	require.NoError(t, err)
	settle(t, p)
	p.Close()
}

// opened opens the sound a hundred times, and returns how many descriptors that
// left open.
func opened(t *testing.T) int {
	count := func() int {
		open, err := os.ReadDir("/proc/self/fd")
		require.NoError(t, err)
		return len(open)
	}
	before := 0
	for n := range 101 {
		p, err := Open(clicks(4, fourFour, 120), Options{})
		require.NoError(t, err)
		settle(t, p)
		p.Close()
		if n == 0 {
			before = count() // from now on Go has its own for the network
		}
	}
	return count() - before
}

func TestOpeningsLeaveNoDescriptors(t *testing.T) {
	dir := t.TempDir()
	for name, server := range map[string]string{
		"nobody's socket": "unix:" + filepath.Join(dir, "none"),
		"no such host":    "tcp:127.0.0.1:1",
	} {
		t.Setenv("PULSE_SERVER", server)
		assert.Zero(t, opened(t), name)
	}
	t.Setenv("PULSE_SERVER", "")
	t.Setenv("XDG_RUNTIME_DIR", dir)
	assert.Zero(t, opened(t), "no server named")
}

// A server that is stopped takes a call and never answers: nothing waits for it,
// and the sound is there when it goes on.
func TestSoundServerThatIsStopped(t *testing.T) {
	if !soundtest.Apart(t) {
		return
	}
	server := soundtest.Server(t)
	halt := func() { require.NoError(t, server.Process.Signal(syscall.SIGSTOP)) }
	halt()
	quick := func(what string, do func()) {
		t.Helper()
		began := time.Now()
		do()
		assert.Less(t, time.Since(began), 5*time.Second, what) // the library waits for half a minute
	}
	var p *Player
	var err error
	quick("opening", func() { p, err = Open(clicks(100, fourFour, 173), Options{}) })
	require.NoError(t, err)
	settle(t, p)
	assert.Equal(t, "No sound (the sound server does not answer): the click is seen, not heard.", p.Status())
	require.NoError(t, p.Play())
	require.Eventually(t, func() bool { return p.Now().State == Playing }, 60*time.Second, 20*time.Millisecond)
	quick("closing", p.Close)
	quick("a second", func() { p, err = Open(clicks(100, fourFour, 173), Options{}) })
	require.NoError(t, err)
	settle(t, p)
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
	require.NoError(t, p.Play())
	require.Eventually(t, func() bool { return p.asked.Load() != 0 && p.Status() == "" }, 60*time.Second, 20*time.Millisecond)
	halt()
	require.Eventually(t, func() bool { return p.Status() == "The sound device has gone: the click is seen, not heard." }, 60*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool { return p.Now().State == Playing }, 60*time.Second, 20*time.Millisecond)
	quick("closing what played", p.Close)
	quick("a third", func() { p, err = Open(clicks(100, fourFour, 173), Options{}) })
	require.NoError(t, err)
	quick("closing while it hangs", p.Close)
	require.NoError(t, server.Process.Signal(syscall.SIGCONT))
}

// The share of one core that playing eight strings costs, through a real sound
// server, or on miniaudio's null device, which looks up every millisecond.
// Budget: 5 %.
func BenchmarkPlayingCPU(b *testing.B) {
	b.Run("server", func(b *testing.B) {
		soundtest.Server(b, "parec")
		playingCPU(b, openDevice)
	})
	b.Run("null", func(b *testing.B) {
		playingCPU(b, func(_ context.Context, rate int, render func([]float32), gone func()) (output, error) {
			// malgo 0.11.24 counts no custom backend, so its number for the null one is one
			// too low.
			return openBackend(malgo.BackendNull+1, rate, render, gone)
		})
	})
}

func playingCPU(b *testing.B, open opener) {
	p, err := openWith(eightStrings(), Options{}, open)
	require.NoError(b, err)
	defer p.Close()
	settle(b, p)
	require.Empty(b, p.Status())
	require.NoError(b, p.SetCourse(Course{}))
	require.NoError(b, p.Play())
	for p.Now().State != Playing {
		time.Sleep(10 * time.Millisecond)
	}
	var used, passed time.Duration
	for b.Loop() {
		before, start := processorTime(b), time.Now()
		time.Sleep(time.Second)
		used += processorTime(b) - before
		passed += time.Since(start)
	}
	b.ReportMetric(100*used.Seconds()/passed.Seconds(), "%core")
}

func processorTime(tb testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(tb, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Package soundtest starts a sound server of a test's own, that plays to nobody.
// Only tests use it.
package soundtest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Server starts a PulseAudio server of the test's own with one null sink, "probe",
// and makes it the one that this process plays to and captures from, until the
// test ends. It returns the server. Where the server, or one of the further
// programs that the test needs of its package, is not there, the test is skipped.
func Server(t testing.TB, programs ...string) *exec.Cmd {
	t.Helper()
	for _, program := range append([]string{"pulseaudio", "pactl"}, programs...) {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("no %s here (Debian: pulseaudio, pulseaudio-utils)", program)
		}
	}
	dir, err := os.MkdirTemp("", "sound") // t.TempDir may be too long for a socket's path
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	socket := filepath.Join(dir, "native")
	for name, value := range map[string]string{
		"HOME": dir, "XDG_RUNTIME_DIR": dir, "XDG_CONFIG_HOME": dir, "PULSE_RUNTIME_PATH": dir, "PULSE_STATE_PATH": dir,
		"PULSE_SERVER": "unix:" + socket, "PULSE_COOKIE": filepath.Join(dir, "cookie"),
	} {
		t.Setenv(name, value)
	}
	server, log := start(t)
	if server == nil {
		t.Skipf("no PulseAudio server starts here: %s", log)
	}
	return server
}

// Again starts the server again that Server started, after it has died.
func Again(t testing.TB) *exec.Cmd {
	t.Helper()
	server, log := start(t)
	require.NotNil(t, server, log)
	return server
}

// start starts the server where the environment says that it is, nil where none answers.
func start(t testing.TB) (*exec.Cmd, string) {
	server := Hurried("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--system=false", "--exit-idle-time=-1",
		"--disallow-exit=no", "--log-target=stderr", "--log-level=error",
		"--load=module-null-sink sink_name=probe rate=48000 channels=1",
		"--load=module-native-protocol-unix auth-anonymous=1 socket="+strings.TrimPrefix(os.Getenv("PULSE_SERVER"), "unix:"))
	var log strings.Builder
	server.Stderr = &log
	require.NoError(t, server.Start())
	t.Cleanup(func() {
		_ = server.Process.Kill()
		_ = server.Wait()
	})
	for range 100 {
		if out, err := exec.Command("pactl", "info").CombinedOutput(); err == nil && strings.Contains(string(out), "probe") {
			return server, ""
		}
		time.Sleep(50 * time.Millisecond)
	}
	_ = server.Process.Kill()
	_ = server.Wait()
	return nil, log.String()
}

// Hurried gives a program the raised priority that a sound server has on a
// desktop; where that is not allowed, nice runs it without.
func Hurried(name string, arg ...string) *exec.Cmd {
	return exec.Command("nice", append([]string{"-n", "-11", name}, arg...)...)
}

//go:build unix

package command

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/adrg/xdg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/trainer/listen"
	"footfall/trainer/settings"
	"footfall/trainer/sound"
	"footfall/trainer/sound/soundtest"
)

// ownFolders gives a test folders of its own.
func ownFolders(t *testing.T) {
	t.Cleanup(xdg.Reload) // when the folders are the old ones again
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	xdg.Reload()
}

func newPipe(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "midi")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	return path
}

func TestListenSaysWhatIsWrong(t *testing.T) {
	ownFolders(t)
	for want, args := range map[string][]string{
		"--ports and --calibrate do not go together: give one of them": {"--ports", "--calibrate"},
		"--calibrate=tuning: give strings or delay":                    {"--calibrate=tuning"},
		"--for -1s: give a length of time, such as 30s":                {"--for=-1s"},
	} {
		cmd := New(nil)
		cmd.SetArgs(append([]string{"listen"}, args...))
		err := cmd.Execute()
		assert.EqualError(t, err, want)
		assert.Equal(t, ExitBadInput, ExitCode(err))
	}
}

func TestListenShowsWhatComes(t *testing.T) {
	ownFolders(t)
	path := newPipe(t)
	go func() {
		w, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err == nil {
			_, _ = w.Write([]byte{0x91, 46, 127, 0x91, 46, 0})
			time.Sleep(time.Second)
			w.Close()
		}
	}()
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	lines, to := io.Pipe()
	go func() {
		cmd := New(nil)
		cmd.SetArgs([]string{"listen", "--json", "--port", path})
		cmd.SetOut(to)
		cmd.SetErr(io.Discard)
		to.CloseWithError(cmd.ExecuteContext(ctx))
	}()
	answers := json.NewDecoder(lines)
	var notes [2]heardNote
	require.NoError(t, answers.Decode(&notes[0]))
	require.NoError(t, answers.Decode(&notes[1]))
	stop()
	assert.ErrorIs(t, answers.Decode(&heardNote{}), io.EOF)
	for i := range notes {
		notes[i].At = 0
	}
	assert.Equal(t, heardNote{On: true, MIDI: 46, Note: "Bb2", Channel: 2, Velocity: 1, Confidence: 1}, notes[0])
	assert.Equal(t, heardNote{MIDI: 46, Note: "Bb2", Channel: 2, Confidence: 1}, notes[1])

	// The port is remembered: without --port it is listened to again.
	var out, errs bytes.Buffer
	cmd := New(nil)
	cmd.SetArgs([]string{"listen", "--for", "1ms"})
	cmd.SetOut(&out)
	cmd.SetErr(&errs)
	require.NoError(t, cmd.Execute())
	assert.Contains(t, errs.String(), path)
}

// calibrate runs a calibration against a player who strikes what play returns
// at each beat he is told.
func calibrate(t *testing.T, kind string, play func(prompt string) (channel, midi byte)) (path string, err error) {
	path = newPipe(t)
	set := settings.Default()
	set.Neck.Tuning = []string{"E1", "A1", "D2", "G2"}
	lines, to := io.Pipe()
	go func() {
		l := &listening{program: &program{json: true, settings: set}, tempo: 300, bars: 1, sound: sound.Options{Mute: true}}
		cmd := l.command()
		cmd.SetArgs([]string{"--calibrate=" + kind, "--port", path})
		cmd.SetIn(strings.NewReader(strings.Repeat("\n", 6)))
		cmd.SetOut(io.Discard)
		cmd.SetErr(to)
		to.CloseWithError(cmd.Execute())
	}()
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer w.Close()
	said := bufio.NewScanner(lines)
	prompt := ""
	for said.Scan() {
		line := said.Text()
		if strings.HasPrefix(line, "  beat") {
			channel, midi := play(prompt)
			_, err := w.Write([]byte{0x90 + channel - 1, midi, 90, 0x80 + channel - 1, midi, 0})
			require.NoError(t, err)
		} else if !strings.HasPrefix(line, "  count") {
			prompt = line
		}
	}
	return path, said.Err()
}

func TestCalibrateDelay(t *testing.T) {
	if !soundtest.Apart(t) {
		return
	}
	ownFolders(t)
	path, err := calibrate(t, "delay", func(string) (byte, byte) { return 1, 60 })
	require.NoError(t, err)
	c, err := listen.StoreIn(filepath.Join(xdg.DataHome, "footfall")).Calibration(path)
	require.NoError(t, err)
	assert.Equal(t, 4, c.Delay.Taps)
	assert.Less(t, c.Delay.Median, 100*time.Millisecond, "half a beat")
	assert.Empty(t, c.Strings)
}

func TestCalibrateStrings(t *testing.T) {
	if testing.Short() {
		t.Skip("clicks for seven seconds")
	}
	if !soundtest.Apart(t) {
		return
	}
	ownFolders(t)
	opens := map[int]byte{4: 28, 3: 33, 2: 38, 1: 43}
	path, err := calibrate(t, "strings", func(prompt string) (byte, byte) {
		var str int
		_, err := fmt.Sscanf(prompt, "String %d,", &str)
		require.NoError(t, err, prompt)
		return byte(17 - str), opens[str] - 12
	})
	require.NoError(t, err)
	c, err := listen.StoreIn(filepath.Join(xdg.DataHome, "footfall")).Calibration(path)
	require.NoError(t, err)
	assert.True(t, c.StringsKnown())
	require.Len(t, c.Strings, 4)
	for i, s := range c.Strings {
		assert.Equal(t, 4-i, s.String)
		assert.Equal(t, 17-s.String, s.Channel)
		assert.Equal(t, -12, s.Transpose)
		assert.Equal(t, 4, s.Delay.Taps)
	}
}

// What is picked on the screens is what drills and play-alongs open from then on,
// over what the settings and the flag name, and at the next start.
func TestPickedInputIsListenedTo(t *testing.T) {
	ownFolders(t)
	first, second := newPipe(t), newPipe(t)
	set := settings.Default()
	pl := &playing{program: &program{settings: set}, port: first}
	g := pl.gear(nil)
	assert.Equal(t, first, g.Current())
	require.NoError(t, g.Pick(second))
	assert.Equal(t, second, g.Current())
	in, err := pl.input(time.Now())
	require.NoError(t, err)
	assert.Equal(t, second, in.Name())
	require.NoError(t, in.Close())
	next := &playing{program: &program{settings: set}}
	assert.Equal(t, second, next.current())
	next.settings.Listen.Port = first
	assert.Equal(t, first, next.current())
	next.port = "none"
	assert.Empty(t, next.current())
}

//go:build unix

package listen

import (
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestKnownInputs(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, unix.Mkfifo(pipe, 0o600))
	s := StoreIn(t.TempDir())
	strings := Calibration{Delay: Delay{Median: 12 * time.Millisecond, Spread: 3 * time.Millisecond, Taps: 8}}
	require.NoError(t, s.Learn("Pickup", strings))
	require.NoError(t, s.Learn("Piano", strings))
	require.NoError(t, s.Use(pipe))
	there := []Port{{Name: "Pickup", Path: "/dev/a"}, {Name: "Drum"}, {Name: MicrophonePort}, {Name: MicrophonePort + ": Desk"}}
	known, err := s.Known(func() ([]Port, error) { return there, nil })
	require.NoError(t, err)
	assert.Equal(t, []Known{
		{Port: there[0], There: true, Calibration: strings},
		{Port: there[1], There: true},
		{Port: Port{Name: pipe, Path: pipe}, There: true, Last: true},
		{Port: Port{Name: "Piano"}, Calibration: strings},
		{Port: there[2], There: true},
		{Port: there[3], There: true},
	}, known)

	require.NoError(t, s.Use(MicrophonePort))
	require.NoError(t, unix.Unlink(pipe))
	require.NoError(t, s.Learn(pipe, Calibration{}))
	known, err = s.Known(func() ([]Port, error) { return there[2:], nil })
	require.NoError(t, err)
	require.Len(t, known, 5)
	assert.Equal(t, Known{Port: there[2], There: true, Last: true}, known[0])
	for _, k := range known[1:4] {
		assert.False(t, k.There, k.Name)
	}
	_, err = s.Known(func() ([]Port, error) { return nil, errors.New("no driver") })
	assert.EqualError(t, err, "no driver")
}

func TestReportOfACalibration(t *testing.T) {
	d := Delay{Median: 12_340 * time.Microsecond, Spread: 3 * time.Millisecond, Taps: 8}
	c := FromStrings([]StringCalibration{{String: 6, Channel: 1, Transpose: -12, Delay: &d}, {String: 5, Channel: 1, Delay: &d}})
	assert.Equal(t, []string{
		"String 6: channel 1, transposed by -12, delay 12.3 ms, spread 3.0 ms.",
		"String 5: channel 1, transposed by +0, delay 12.3 ms, spread 3.0 ms.",
		"Delay of the port: 12.3 ms, spread 3.0 ms.",
		"Strings share a channel: which string is played cannot be told, and nothing will be said of it.",
	}, c.Report())
}

package listen

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const ms = time.Millisecond

func clicks(n int) (beats []time.Duration) {
	for i := range n {
		beats = append(beats, time.Duration(i+1)*500*ms)
	}
	return beats
}

func TestLearnDelay(t *testing.T) {
	d, err := LearnDelay([]time.Duration{520 * ms, 1022 * ms, 1518 * ms, 2020 * ms, 2300 * ms, 2500 * ms, 3170 * ms}, clicks(6))
	require.NoError(t, err)
	// 20, 22, 18, 20, 0 (nearer than −200) and 170: one stray note moves the spread,
	// not the median.
	assert.Equal(t, 20*ms, d.Median)
	assert.Equal(t, 6, d.Taps)
	assert.InDelta(t, float64(58*ms), float64(d.Spread), float64(2*ms))

	_, err = LearnDelay([]time.Duration{500 * ms, 501 * ms, 502 * ms, 503 * ms}, clicks(6))
	assert.EqualError(t, err, "1 notes came with the click; play at least 4")
	_, err = LearnDelay([]time.Duration{ms}, nil)
	assert.Error(t, err)
}

func pluck(channel, midi int, late time.Duration, beats []time.Duration) (notes []Note) {
	for i, b := range beats {
		at := b + late + time.Duration(i%3-1)*2*ms
		notes = append(notes, Note{At: at, On: true, MIDI: midi, Channel: channel}, Note{At: at + 300*ms, MIDI: midi, Channel: channel})
	}
	return notes
}

// A pickup on channels 11 to 16 that reports everything an octave high, its low
// strings later than its high ones.
func TestLearnStrings(t *testing.T) {
	beats := clicks(8)
	opens := map[int]int{6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}
	var learned []StringCalibration
	for str := 1; str <= 6; str++ {
		notes := pluck(17-str, opens[str]+12, time.Duration(str*5)*ms, beats)
		notes = append(notes, Note{At: 900 * ms, On: true, MIDI: 80, Channel: 3}) // a stray
		s, err := LearnString(str, opens[str], notes, beats)
		require.NoError(t, err)
		assert.Equal(t, 17-str, s.Channel)
		assert.Equal(t, 12, s.Transpose)
		assert.Equal(t, time.Duration(str*5)*ms, s.Delay.Median)
		learned = append(learned, s)
	}
	c := FromStrings(learned)
	assert.True(t, c.StringsKnown())
	assert.Equal(t, 17500*time.Microsecond, c.Delay.Median)

	n := c.Apply(Note{At: time.Second, On: true, MIDI: 57, Channel: 12})
	assert.Equal(t, Note{At: 975 * ms, On: true, MIDI: 45, Channel: 12, String: 5}, n)
	n = c.Apply(Note{At: time.Second, On: true, MIDI: 57, Channel: 1}) // a channel not learned
	assert.Equal(t, Note{At: time.Second - 17500*time.Microsecond, On: true, MIDI: 57, Channel: 1}, n)
}

// On one channel the string is not known, whatever was plucked.
func TestOneChannelKnowsNoStrings(t *testing.T) {
	beats := clicks(8)
	var learned []StringCalibration
	for str, open := range map[int]int{6: 40, 5: 45, 4: 50} {
		s, err := LearnString(str, open, pluck(1, open-12, 10*ms, beats), beats)
		require.NoError(t, err)
		learned = append(learned, s)
	}
	c := FromStrings(learned)
	assert.False(t, c.StringsKnown())
	n := c.Apply(Note{At: time.Second, On: true, MIDI: 33, Channel: 1})
	assert.Equal(t, Note{At: 990 * ms, On: true, MIDI: 45, Channel: 1}, n)
	assert.Equal(t, Note{MIDI: 40}, Calibration{}.Apply(Note{MIDI: 40}))
}

func TestLearnStringSaysWhatCame(t *testing.T) {
	beats := clicks(8)
	_, err := LearnString(6, 40, pluck(1, 40, 0, beats)[:6], beats)
	assert.EqualError(t, err, "string 6: 3 notes came; pluck it at least 4 times")
	_, err = LearnString(6, 40, append(pluck(1, 40, 0, beats), pluck(2, 45, 0, beats)...), beats)
	assert.EqualError(t, err, "string 6: notes came on several channels; pluck this string alone")
	_, err = LearnString(6, 40, append(pluck(1, 40, 0, beats), pluck(1, 45, 0, beats)...), beats)
	assert.EqualError(t, err, "string 6: several pitches came; pluck the open string alone")
}

func TestStore(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "new", "folder")
	s := StoreIn(folder)
	last, err := s.Last()
	require.NoError(t, err)
	assert.Empty(t, last)
	_, err = os.Stat(folder)
	assert.ErrorIs(t, err, os.ErrNotExist, "reading writes nothing")

	want := Calibration{
		Strings: []StringCalibration{{String: 6, Channel: 1, Transpose: -12, Delay: &Delay{Median: 5 * ms, Spread: ms, Taps: 8}}},
		Delay:   Delay{Median: 4 * ms, Taps: 8},
	}
	require.NoError(t, s.Learn("Pickup (2)", want))
	require.NoError(t, s.Use("Keys"))
	again := StoreIn(folder)
	got, err := again.Calibration("Pickup (2)")
	require.NoError(t, err)
	assert.Equal(t, want, got)
	last, err = again.Last()
	require.NoError(t, err)
	assert.Equal(t, "Keys", last)
	none, err := again.Calibration("Keys")
	require.NoError(t, err)
	assert.Zero(t, none)
	require.NoError(t, s.Later("Pickup (2)", 20*ms, 30, 0))
	got, err = again.Calibration("Pickup (2)")
	require.NoError(t, err)
	assert.Equal(t, []time.Duration{24 * ms, 25 * ms}, []time.Duration{got.Delay.Median, got.Strings[0].Delay.Median})
	require.NoError(t, s.Later("Keys", -20*ms, 30, 5*ms))
	got, err = again.Calibration("Keys")
	require.NoError(t, err)
	assert.Equal(t, Delay{Median: -15 * ms, Taps: 30}, got.Delay)
	files, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, files, 1)
	if runtime.GOOS != "windows" {
		info, err := files[0].Info()
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}

	path := filepath.Join(folder, "inputs.json")
	require.NoError(t, os.WriteFile(path, []byte("{oops"), 0o600))
	assert.ErrorContains(t, s.Use("Pickup"), path+" is damaged")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "{oops", string(text))
}

// A name that was never there is not remembered, one that is there is.
func TestOnlyAPortThatIsThereIsRemembered(t *testing.T) {
	s := StoreIn(t.TempDir())
	now := func() time.Duration { return 0 }
	for _, c := range []struct{ name, remembered string }{{"no such port", ""}, {os.DevNull, os.DevNull}} {
		in, err := s.Open(c.name, now, 0)
		require.NoError(t, err)
		require.NoError(t, in.Close())
		last, err := s.Last()
		require.NoError(t, err)
		assert.Equal(t, c.remembered, last)
	}
}

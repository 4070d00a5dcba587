package plain

import (
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// A bar is said in fewer words the less time there is.
func TestABarIsSaidInTheTimeThereIs(t *testing.T) {
	tn, ok := content.Tune("lantern-street")
	require.True(t, ok)
	form := tn.Unroll()
	for seconds, want := range map[float64]string{
		6:   "Bar 6, E diminished seven: up one, up flat three, up flat five, down two.",
		4.9: "E diminished seven: up one, up flat three, up flat five, down two.",
		3:   "E diminished seven: one, flat three, flat five, two.",
		1.7: "Bar 6, E diminished seven.",
		1:   "E diminished seven.",
		0.8: "E.",
	} {
		assert.Equal(t, want, callOf(form, 6, 5, time.Duration(seconds*float64(time.Second))), "%g s", seconds)
	}
	assert.Equal(t, "B flat, G.", callOf(form, 7, 6, time.Second))
	same, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | % | F |\nbass | 1 3 5 3 | % | 1 3 5 3 |\n")
	require.Empty(t, faults)
	assert.Equal(t, "The same again.", callOf(same.Unroll(), 2, 1, time.Second))
	assert.Equal(t, "C major.", callOf(same.Unroll(), 1, 3, time.Second))
}

func TestWordsOnPasses(t *testing.T) {
	for line, want := range map[string]struct {
		clean bool
		n     int
	}{
		"yes": {true, 0}, "N": {false, 0}, "yes 3": {true, 3}, "3 no": {false, 3}, "the last three were clean": {true, 3}, "The last two were not clean.": {false, 2}, "clean": {true, 0},
	} {
		clean, n, ok := verdictIn(line)
		assert.True(t, ok, line)
		assert.Equal(t, want.clean, clean, line)
		assert.Equal(t, want.n, n, line)
	}
	for _, line := range []string{"", "three", "yes please", "last"} {
		_, _, ok := verdictIn(line)
		assert.False(t, ok, line)
	}
}

// Each bar is said before it begins, and while the one before it sounds; each line can be
// said before its bar is over; and what is asked is asked between passes. The ramp goes
// to its end with nobody answering, and a late answer counts.
func TestBarsAreSaidAheadAndQuestionsBetweenPasses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tn, ok := content.Tune("tin-kettle-blues")
		require.True(t, ok)
		d := &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Sounding: session.Sounding{
			Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
		}}
		p := session.Passage{Tune: session.Tune{Name: "tin-kettle-blues", Tune: tn}, Ramp: "120:160+20"}.ToItsEnd()
		require.Equal(t, 3, p.Passes)
		s, err := d.PlayAlong(p)
		require.NoError(t, err)
		in, keys := io.Pipe()
		type line struct {
			text string
			at   sound.Now
		}
		var said []line
		f := New(in, writer(func(text string) { said = append(said, line{text, s.Now()}) }), time.Now)
		done := make(chan struct{})
		go func() { defer close(done); f.Play(s) }()
		for len(s.Results()) < 3 {
			time.Sleep(10 * time.Millisecond)
		}
		_, err = io.WriteString(keys, "the last three were clean\n")
		require.NoError(t, err)
		<-done
		keys.Close()
		next, bars, asked := 1, 0, 0
		for _, l := range said[1:] {
			switch {
			case strings.HasPrefix(l.text, "Was pass"):
				asked++
				if l.at.State == sound.Playing { // the last instant of the bar
					assert.Equal(t, 12, l.at.Point.Bar)
					assert.Equal(t, 4, l.at.Beat)
				}
			case strings.HasPrefix(l.text, "Pass "):
				assert.Contains(t, l.text, ": clean.")
			case l.text == "Then rest.":
				assert.Equal(t, 12, l.at.Point.Bar)
			case strings.Contains(l.text, "sound is off"), bars == 36:
			default:
				bars++
				assert.Equal(t, next, l.at.Point.Bar%12+1, l.text)
				assert.Equal(t, 1, l.at.Beat, l.text)
				beat := 60 / l.at.Bar.Tempo
				assert.LessOrEqual(t, float64(len(strings.Fields(l.text)))/wordsPerSecond, 4*beat, l.text)
				next = next%12 + 1
			}
		}
		assert.Equal(t, 36, bars)
		assert.Equal(t, 3, asked)
		assert.Equal(t, 3, s.Sum().Clean)
		assert.Equal(t, 160.0, s.Sum().Fastest)
	})
}

// writer is told each line.
type writer func(string)

func (w writer) Write(b []byte) (int, error) {
	w(strings.TrimSuffix(string(b), "\n"))
	return len(b), nil
}

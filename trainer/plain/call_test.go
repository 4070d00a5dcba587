package plain

import (
	"fmt"
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

func noneStruck(int) (hits, shapes string) { return "", "" }

func said(form []tune.FormBar, bar, before int, in time.Duration) string {
	words, _ := callOf(form, noneStruck, bar, before, in)
	return words
}

// What is struck in a bar is said with its shapes where there is time, else without, and
// what is left out in some bar is said once, before it begins.
func TestWhatIsStruckIsSaid(t *testing.T) {
	tn, ok := content.Tune("lantern-street")
	require.True(t, ok)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	form, strikes := tn.Unroll(), struckIn(a)
	hits, shapes := strikes(6)
	require.Regexp(t, `^hits on [0-9]`, hits)
	require.Regexp(t, `^hits on [0-9].* from string 6: .*muted`, shapes)
	words, without := callOf(form, strikes, 6, 5, time.Minute)
	assert.Equal(t, "Bar 6, E diminished seven: up one, up flat three, up flat five, down two; "+shapes+".", words)
	assert.Empty(t, without)
	words, without = callOf(form, strikes, 6, 5, 7*time.Second)
	assert.Equal(t, "Bar 6, E diminished seven: up one, up flat three, up flat five, down two; "+hits+".", words)
	assert.Equal(t, "the shapes", without)
	words, _ = callOf(form, strikes, 6, 5, 4*time.Second)
	assert.Equal(t, "Bar 6, E diminished seven; "+hits+".", words)
	words, _ = callOf(form, strikes, 6, 5, time.Second/3)
	assert.Equal(t, "E.", words)
	assert.Empty(t, leftOut(form, strikes, take.Bars{}, 1))
	assert.Regexp(t, `^At 120 BPM there is no time to say the bass line, the hits and the shapes in every bar; arrange and the tune tells all, bar by bar\.$`, leftOut(form, strikes, take.Bars{}, 120))
}

// A pause is acknowledged and ends nothing, in the last pass either; the bar that was
// paused in is said anew and counted in, and the one behind it follows.
func TestPauseAndGo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tn, ok := content.Tune("tin-kettle-blues")
		require.True(t, ok)
		d := &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Sounding: session.Sounding{
			Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
		}}
		s, err := d.PlayAlong(session.Passage{Tune: session.Tune{Name: "tin-kettle-blues", Tune: tn}, Layer: "bass", Ramp: "120", Passes: 1})
		require.NoError(t, err)
		in, keys := io.Pipe()
		var said []string
		f := New(in, writer(func(text string) { said = append(said, text) }), time.Now)
		done := make(chan struct{})
		go func() { defer close(done); f.Play(s) }()
		press := func(line string) {
			_, err := io.WriteString(keys, line+"\n")
			require.NoError(t, err)
		}
		wait := func(bar, beat int) {
			for n := s.Now(); n.State != sound.Playing || n.Point.Bar != bar || n.Beat != beat; n = s.Now() {
				time.Sleep(10 * time.Millisecond)
			}
		}
		for range 2 {
			wait(2, 3)
			press("pause")
			time.Sleep(5 * time.Second)
			press("pause")
			select {
			case <-done:
				t.Fatal("a pause ended the pass")
			default:
			}
			press("go")
		}
		wait(4, 2)
		press("go")
		time.Sleep(10 * time.Millisecond)
		press("quit")
		<-done
		keys.Close()
		var short []string
		for _, l := range said[1:] {
			words, _, _ := strings.Cut(l, ",")
			short = append(short, words)
		}
		all := strings.Join(short, "\n")
		paused := "Bar 3\nPaused. go counts in and goes on.\nIt is not playing: go begins.\nIt goes on: a bar is counted in.\nB flat seven.\n3\n4\nBar 3\n"
		assert.Equal(t, 2, strings.Count(all, paused[len("Bar 3\n"):]), all)
		assert.Contains(t, all, "Bar 2\n"+paused)
		assert.Contains(t, short, "It is playing.")
	})
}

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
		assert.Equal(t, want, said(form, 6, 5, time.Duration(seconds*float64(time.Second))), "%g s", seconds)
	}
	assert.Equal(t, "B flat, G.", said(form, 7, 6, time.Second))
	same, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | % | F |\nbass | 1 3 5 3 | % | 1 3 5 3 |\n")
	require.Empty(t, faults)
	assert.Equal(t, "The same again.", said(same.Unroll(), 2, 1, time.Second))
	assert.Equal(t, "C major.", said(same.Unroll(), 1, 3, time.Second))
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
			case len(l.text) == 1: // of the count-in
				assert.Equal(t, sound.Counting, l.at.State)
				assert.Equal(t, l.text, fmt.Sprint(l.at.Beat))
			case strings.HasPrefix(l.text, "At 120 BPM there is no time to say "):
				assert.Zero(t, bars)
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

// A bar may be named with the word that a pass was not clean.
func TestABarInAWord(t *testing.T) {
	for line, want := range map[string]int{"no, bar 7": 7, "No bar 12.": 12, "not clean, bar 3": 3, "no": 0, "no bar": 0, "bar none": 0} {
		rest, bar := barIn(line)
		assert.Equal(t, want, bar, line)
		if want > 0 {
			clean, n, ok := verdictIn(rest)
			assert.True(t, ok && !clean && n == 0, "%s: %s", line, rest)
		}
	}
}

package sound

import (
	"math"
	"math/big"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// clicks is a score of bars with nothing but the click.
func clicks(bars int, meter tune.Meter, tempo float64) *playing.Score {
	s := &playing.Score{Title: "Clicks", Tempo: tempo, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}}, Strings: 6, Bars: make([]playing.Bar, bars)}
	for i := range s.Bars {
		s.Bars[i].Meter = meter
	}
	return s
}

// clicking clicks on every beat.
var clicking = playing.Timekeeping{Background: playing.ClickSound}

// onsets finds the samples at which a click begins: the first loud one after
// some silence. It is fed piece by piece.
type onsets struct {
	at, quiet int64
	found     []int64
}

func (o *onsets) feed(piece []float32) error {
	for _, x := range piece {
		switch {
		case x > 0.05 || x < -0.05:
			if o.quiet > 300 {
				o.found = append(o.found, o.at)
			}
			o.quiet = 0
		default:
			o.quiet++
		}
		o.at++
	}
	return nil
}

func newOnsets() *onsets { return &onsets{quiet: 1000} }

// A rendered hour at 173: the onset of beat k at k·60/173 s, worked out in unbounded
// rationals, whether the click is on every beat or the hi-hat on two and four.
func TestHourOfClicks(t *testing.T) {
	bars := 173 * 60 / 4
	if testing.Short() {
		bars = 173
	}
	for background, beats := range map[playing.Background][]int{playing.ClickSound: {0, 1, 2, 3}, playing.HiHat: {1, 3}} {
		found := newOnsets()
		x := Export{Time: playing.Timekeeping{Background: background}, Mix: DefaultMix}
		require.NoError(t, Perform(clicks(bars, fourFour, 173), FileRate, x, found.feed))
		require.Len(t, found.found, bars*len(beats), background.String())
		for k, at := range found.found {
			beat := k/len(beats)*4 + beats[k%len(beats)]
			exact := big.NewRat(int64(beat)*60*FileRate, 173)
			off, _ := new(big.Rat).Sub(exact, new(big.Rat).SetInt64(at)).Float64()
			require.LessOrEqual(t, math.Abs(off), 0.5, "%s, beat %d", background, beat)
		}
	}
}

// listener renders an engine and finds the clicks.
type listener struct {
	*Engine
	*onsets
}

func listen(t *testing.T, s *playing.Score) *listener {
	e, err := NewEngine(48000, s)
	require.NoError(t, err)
	require.NoError(t, e.SetTime(clicking))
	return &listener{e, newOnsets()}
}

func (l *listener) hear(seconds float64) {
	buf := make([]float32, int(seconds*float64(l.rate)))
	l.Render(buf)
	_ = l.feed(buf)
}

// intervals returns the times between clicks in samples.
func (l *listener) intervals() (gaps []int64) {
	for i := 1; i < len(l.found); i++ {
		gaps = append(gaps, l.found[i]-l.found[i-1])
	}
	return gaps
}

func TestTempoChangesOnTheBarLine(t *testing.T) {
	l := listen(t, clicks(8, fourFour, 120))
	require.NoError(t, l.SetCourse(Course{CountIn: 1}))
	require.NoError(t, l.Play())
	l.hear(0.1 + 2 + 0.7) // the lead, a count-in and a beat more
	require.NoError(t, l.SetTempo(240))
	l.hear(4)
	gaps := l.intervals()
	assert.Equal(t, []int64{24000, 24000, 24000, 24000, 24000, 24000, 24000, 24000, 12000, 12000, 12000, 12000}, gaps[:12])
	assert.EqualValues(t, 4800+l.Delay(), l.found[0])
}

func TestPassesLoopsAndCountIns(t *testing.T) {
	l := listen(t, clicks(6, tune.Meter{Upper: 2, Lower: 4}, 300))
	require.NoError(t, l.SetCourse(Course{CountIn: 2, CountEach: true, First: 2, Last: 3, Passes: 2}))
	require.NoError(t, l.SetPassTempo(150))
	require.NoError(t, l.Play())
	l.hear(0.2)
	require.NoError(t, l.SetPassTempo(200))
	l.hear(10)
	bars, next := l.Since(0)
	assert.EqualValues(t, len(bars), next)
	type step struct {
		state        State
		pass, number int
		tempo        float64
	}
	var got []step
	for _, b := range bars {
		got = append(got, step{b.State, b.Pass, b.Number, b.Bar.Tempo})
	}
	assert.Equal(t, []step{
		{Counting, 1, -1, 150}, {Counting, 1, 0, 150}, {Playing, 1, 2, 150}, {Playing, 1, 3, 150},
		{Counting, 2, -1, 200}, {Counting, 2, 0, 200}, {Playing, 2, 2, 200}, {Playing, 2, 3, 200},
		{Finished, 2, 3, 200},
	}, got)
	more, _ := l.Since(next)
	assert.Empty(t, more)
	assert.Len(t, l.found, 16)
	for i := 1; i < len(bars); i++ {
		assert.InDelta(t, 2*60/bars[i-1].Bar.Tempo, (bars[i].Start - bars[i-1].Start).Duration().Seconds(), 1e-4)
	}
}

func TestLoopAndNextPassWhileItRuns(t *testing.T) {
	l := listen(t, clicks(8, tune.Meter{Upper: 2, Lower: 4}, 300)) // a bar is 0.4 s
	require.NoError(t, l.SetCourse(Course{}))
	require.NoError(t, l.Play())
	l.hear(0.1 + 0.2)
	require.NoError(t, l.NextPass())
	l.hear(0.4 + 0.4) // in bar 2 of pass 2
	require.NoError(t, l.SetCourse(Course{First: 5, Last: 6}))
	l.hear(1.3)
	bars, _ := l.Since(0)
	var got [][2]int
	for _, b := range bars {
		got = append(got, [2]int{b.Pass, b.Number})
	}
	assert.Equal(t, [][2]int{{1, 1}, {2, 1}, {2, 2}, {3, 5}, {3, 6}, {4, 5}}, got)
}

func TestPauseGoesOnFromItsBar(t *testing.T) {
	l := listen(t, clicks(8, fourFour, 240))
	require.NoError(t, l.SetCourse(Course{CountIn: 1}))
	require.NoError(t, l.Play())
	l.hear(0.1 + 1 + 1 + 0.5) // in the middle of bar 2
	require.NoError(t, l.Pause())
	l.hear(1)
	clicked := len(l.found)
	l.hear(1)
	assert.Len(t, l.found, clicked, "no click in a pause")
	now := l.At(harmony.InstantOfSample(l.frames, l.rate))
	assert.Equal(t, Paused, now.State)
	assert.Equal(t, 2, now.Point.Bar)
	require.NoError(t, l.Play())
	l.hear(0.1 + 1.1)
	now = l.At(harmony.InstantOfSample(l.frames, l.rate))
	assert.Equal(t, Playing, now.State)
	assert.Equal(t, harmony.Point{Bar: 2, Beat: 1}, harmony.Point{Bar: now.Point.Bar, Beat: now.Beat})
	require.NoError(t, l.Stop())
	l.hear(0.1)
	require.NoError(t, l.Play())
	l.hear(0.1 + 1.1)
	now = l.At(harmony.InstantOfSample(l.frames, l.rate))
	assert.Equal(t, 1, now.Point.Bar)
	assert.Equal(t, 1, now.Pass)
}

func TestChoiceOfBeats(t *testing.T) {
	// At 240 a bar of 4/4 is a second; clicks are told by the quarter they fall on.
	for c, want := range map[playing.Click][]int64{
		playing.ClickAll:       {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15},
		playing.ClickTwoFour:   {0, 1, 2, 3, 5, 7, 9, 11, 13, 15},
		playing.ClickFirst:     {0, 1, 2, 3, 4, 8, 12},
		playing.ClickAlternate: {0, 1, 2, 3, 4, 5, 6, 7, 12, 13, 14, 15},
	} {
		l := listen(t, clicks(3, fourFour, 240))
		require.NoError(t, l.SetTime(playing.Timekeeping{Background: playing.ClickSound, Click: c}))
		require.NoError(t, l.Play())
		l.hear(0.1 + 4)
		var got []int64
		for _, at := range l.found {
			got = append(got, (at-l.found[0]+6000)/12000)
		}
		assert.Equal(t, want, got, c.String())
		again, err := playing.ClickOf(c.String())
		assert.NoError(t, err)
		assert.Equal(t, c, again)
	}
	_, err := playing.ClickOf("3")
	assert.Error(t, err)
}

// energy renders so long and returns the root mean square.
func (l *listener) energy(seconds float64) float64 {
	buf := make([]float32, int(seconds*float64(l.rate)))
	l.Render(buf)
	sum := 0.0
	for _, x := range buf {
		sum += float64(x) * float64(x)
	}
	return math.Sqrt(sum / float64(len(buf)))
}

func TestMutesTakeEffectAtTheBarLine(t *testing.T) {
	s := clicks(4, fourFour, 240)
	for i := range s.Bars {
		for beat := 1; beat <= 4; beat++ {
			s.Bars[i].Notes = append(s.Bars[i].Notes, playing.Note{Beat: beat, Halves: 2, Part: playing.PartBass, String: 6, MIDI: 40, Velocity: 114})
		}
	}
	l := listen(t, s)
	require.NoError(t, l.SetCourse(Course{}))
	m := DefaultMix
	m.MuteClick = true
	require.NoError(t, l.SetMix(m))
	require.NoError(t, l.Play())
	l.energy(0.6)
	m.MuteBass = true
	require.NoError(t, l.SetMix(m))
	assert.Greater(t, l.energy(0.4), 0.02, "the bar is played to its end")
	l.energy(0.2)
	assert.Less(t, l.energy(0.5), 1e-4, "and the next one is mute")
	m.MuteBass = false
	require.NoError(t, l.SetMix(m))
	l.energy(0.5)
	assert.Greater(t, l.energy(0.5), 0.02)
}

func TestANewNoteOnAStringStopsTheOld(t *testing.T) {
	s := clicks(2, fourFour, 60)
	s.Bars[0].Notes = []playing.Note{
		{Beat: 1, Part: playing.PartBass, String: 6, MIDI: 40, Velocity: 127},
		{Beat: 2, Part: playing.PartBass, String: 6, MIDI: 47, Velocity: 127},
		{Beat: 3, Halves: 1, Part: playing.PartBass, String: 6, MIDI: 43, Velocity: 127},
	}
	l := listen(t, s)
	m := DefaultMix
	m.MuteClick = true
	require.NoError(t, l.SetMix(m))
	require.NoError(t, l.SetCourse(Course{}))
	require.NoError(t, l.Play())
	l.hear(0.1 + 0.5)
	heard := func() (low, high float64) {
		buf := make([]float32, 16384)
		l.Render(buf)
		return cmplx.Abs(bin(buf, l.rate, frequency(40))), cmplx.Abs(bin(buf, l.rate, frequency(47)))
	}
	low, high := heard()
	assert.Greater(t, low, 10*high)
	l.hear(0.5)
	low, high = heard()
	assert.Greater(t, high, 10*low)
	l.hear(1.2)
	assert.Less(t, l.energy(0.2), 1e-4, "a note ends after its length")
}

// Eight strings struck at once, as loud as can be, again and again, with the
// click: nothing passes −1 dBFS, and nothing but the mix's own gain bends it.
func TestPeakStaysUnderCeiling(t *testing.T) {
	assert.InDelta(t, 0.8912509, Ceiling, 1e-6)
	rapid.Check(t, func(t *rapid.T) {
		s := clicks(2, fourFour, float64(rapid.IntRange(120, 300).Draw(t, "tempo")))
		s.Strings = 8
		for i := range s.Bars {
			for beat := 1; beat <= 4; beat++ {
				for _, off := range []bool{false, true} {
					for str := range rapid.IntRange(0, 8).Draw(t, "strings") {
						s.Bars[i].Notes = append(s.Bars[i].Notes, playing.Note{
							Beat: beat, Off: off, Part: playing.Part(rapid.IntRange(1, 2).Draw(t, "part")), String: str + 1,
							MIDI: rapid.IntRange(28, 90).Draw(t, "midi"), Velocity: 127,
						})
					}
				}
			}
		}
		err := Perform(s, 22050, Export{}, func(piece []float32) error {
			for _, x := range piece {
				if !(x <= Ceiling && x >= -Ceiling) {
					t.Fatalf("a sample of %g", x)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}

// The limiter turns a loud tone down without bending it: what comes out is still
// a sine, its third harmonic under −60 dB of it.
func TestLimiterDoesNotClip(t *testing.T) {
	const rate, hz = 48000, 187.5
	l := newLimiter(rate)
	x := make([]float32, rate)
	for i := range x {
		x[i] = float32(3 * math.Sin(2*math.Pi*hz*float64(i)/rate))
	}
	l.process(x)
	steady := x[rate/2 : rate/2+16384]
	first, third := bin(steady, rate, hz), bin(steady, rate, 3*hz)
	assert.Less(t, cmplx.Abs(third), 0.001*cmplx.Abs(first))
	quiet := []float32{0.5, -0.25, Ceiling, 0.1}
	l = newLimiter(rate)
	buf := make([]float32, l.delay+len(quiet))
	copy(buf, quiet)
	l.process(buf)
	assert.Equal(t, quiet, buf[l.delay:], "what is low enough passes unchanged")
}

func TestSoftStart(t *testing.T) {
	l := listen(t, clicks(1, fourFour, 60))
	l.Render(make([]float32, 480))
	assert.InDelta(t, 0.2, l.soft, 0.001)
}

// eightStrings is a score that strikes eight strings on every beat.
func eightStrings() *playing.Score {
	s := clicks(64, fourFour, 120)
	s.Strings = 8
	for i := range s.Bars {
		for beat := 1; beat <= 4; beat++ {
			for str := 1; str <= 8; str++ {
				s.Bars[i].Notes = append(s.Bars[i].Notes, playing.Note{Beat: beat, Part: playing.PartShapes, String: str, MIDI: 40 + 4*str, Velocity: 127})
			}
		}
	}
	return s
}

// busy is an engine with eight strings ringing and the click.
func busy(tb testing.TB) *Engine {
	e, err := NewEngine(48000, eightStrings())
	require.NoError(tb, err)
	require.NoError(tb, e.SetMix(Mix{}))
	require.NoError(tb, e.SetCourse(Course{}))
	require.NoError(tb, e.Play())
	return e
}

func TestRenderAllocatesNothing(t *testing.T) {
	e := busy(t)
	buf := make([]float32, 480)
	n := 0
	allocs := testing.AllocsPerRun(2000, func() {
		if n++; n%50 == 0 {
			_ = e.SetTempo(float64(100 + n%50))
			_ = e.SetCourse(Course{First: 1, Last: 1 + n%3})
			_ = e.NextPass()
		}
		e.Render(buf)
		e.Advance(480)
	})
	assert.Zero(t, allocs)
}

func TestFaultsOfAScore(t *testing.T) {
	for want, spoil := range map[string]func(*playing.Score){
		"no bars to play":                          func(s *playing.Score) { s.Bars = nil },
		"bar 1: tempo 20: give 30 to 300 BPM":      func(s *playing.Score) { s.Tempo = 20 },
		"bar 2 beat 5: the bar has beats 1 to 4":   func(s *playing.Score) { s.Bars[1].Notes[0].Beat = 5 },
		"bar 2 beat 1: string 7, there are 1 to 6": func(s *playing.Score) { s.Bars[1].Notes[0].String = 7 },
		"bar 2 beat 1: comes after a later note":   func(s *playing.Score) { s.Bars[1].Notes[0].Off = true },
		"bar 2 beat 1: note {Beat:1 Off:false Late:0s Halves:0 Clip:1 Part:1 String:6 MIDI:40 Velocity:127 Dead:false} cannot be played": func(s *playing.Score) { s.Bars[1].Notes[0].Clip = 1 },
		"9 strings: an instrument may have up to 8": func(s *playing.Score) { s.Strings = 9 },
	} {
		s := clicks(2, fourFour, 100)
		note := playing.Note{Beat: 1, Part: playing.PartBass, String: 6, MIDI: 40, Velocity: 127}
		s.Bars[1].Notes = []playing.Note{note, note}
		require.NoError(t, s.Check())
		spoil(s)
		_, err := NewEngine(48000, s)
		assert.EqualError(t, err, want)
	}
	e, err := NewEngine(48000, clicks(4, fourFour, 100))
	require.NoError(t, err)
	assert.ErrorContains(t, e.SetTempo(301), "30 to 300")
	assert.ErrorContains(t, e.SetCourse(Course{CountIn: 3}), "count-in of 3 bars")
	assert.ErrorContains(t, e.SetCourse(Course{First: 3, Last: 2}), "bars 3 to 2")
	for range 64 {
		require.NoError(t, e.Play())
	}
	assert.ErrorIs(t, e.Play(), ErrBusy)
}

// Budget: 10 ms of eight voices under 0.3 ms.
func BenchmarkRender10msEightVoices(b *testing.B) {
	e := busy(b)
	buf := make([]float32, 480)
	b.ReportAllocs()
	for b.Loop() {
		e.Render(buf)
	}
}

// How much faster than real time a file is made: seconds of music a second.
func BenchmarkPerformClicks(b *testing.B) {
	s := clicks(30, fourFour, 120)
	for b.Loop() {
		require.NoError(b, Perform(s, FileRate, Export{Mix: DefaultMix}, func([]float32) error { return nil }))
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "music-s/s")
}

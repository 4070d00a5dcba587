//go:build unix

package session

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/listen/listentest"
	"footfall/trainer/sound"
)

const ms = time.Millisecond

const fourBars = `tune   Four Bars
key    C
meter  4/4
tempo  120
swing  2:1

[A]
chords | C6          | Am7           | Dm7           | G7           |
bass   | 1 /3 /5 /6  | \1 /b3 /5 /b7 | \1 /b3 /5 \b3 | \1 /3 /5 /b7 |
hits   | on . and .  | %             | %             | %            |
`

func arrangement(t testing.TB) *fretboard.Arrangement {
	tn, faults := tune.Read(fourBars)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	return a
}

// reel is a sound whose bars a test writes down: musical time is the time since
// its opening.
type reel struct {
	opened time.Time
	bars   []sound.Played
}

func (r *reel) When(t time.Time) sound.Now {
	return sound.Now{At: harmony.InstantOf(t.Sub(r.opened))}
}
func (r *reel) Since(n uint64) ([]sound.Played, uint64) {
	return r.bars[n:], uint64(len(r.bars))
}
func (r *reel) add(state sound.State, pass, number int, tempo float64, at time.Duration) {
	r.bars = append(r.bars, sound.Played{State: state, Pass: pass, Number: number, Start: harmony.InstantOf(at), Bar: harmony.Bar{
		Meter: tune.Meter{Upper: 4, Lower: 4}, Tempo: tempo, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 2, Short: 1}},
	}})
}

type silence struct{ *listen.Feed }

func (s silence) Close() error { s.Shut(); return nil }

// A loop of bars 2 and 3, counted in, the tempo changed for the second pass, the
// third broken off by a pause. Bars are known 30 ms before they are heard.
func TestPassesOfALoop(t *testing.T) {
	opened := time.Now()
	clock := &reel{opened: opened}
	feed := listen.NewFeed("silence", listen.Options{Now: func() time.Duration { return 0 }}, "")
	feed.Found(0, "")
	s := newFollower(silence{feed}, opened, clock, task{arrangement: arrangement(t), bars: take.Bars{First: 2, Last: 3}}, take.DefaultSettings())
	line := map[int][]int{2: {45, 48, 52, 55}, 3: {50, 53, 57, 53}}
	type entry struct {
		at time.Duration
		do func() []Event
	}
	var script []entry
	log := func(state sound.State, pass, number int, tempo float64, at time.Duration) {
		script = append(script, entry{at - 30*ms, func() []Event { clock.add(state, pass, number, tempo, at); return nil }})
	}
	play := func(bar int, start, beat, late time.Duration) {
		for i, midi := range line[bar] {
			at := start + time.Duration(i)*beat + late
			script = append(script, entry{at, func() []Event {
				return s.hear(listen.Note{Confidence: 1, At: at, On: true, MIDI: midi})
			}})
		}
	}
	const sec = time.Second
	log(sound.Counting, 1, 0, 120, 1*sec)
	script = append(script, entry{1500 * ms, func() []Event { return s.hear(listen.Note{Confidence: 1, At: 1500 * ms, On: true, MIDI: 60}) }})
	log(sound.Playing, 1, 2, 120, 3*sec)
	play(2, 3*sec, 500*ms, -40*ms) // the first note before its bar is known
	log(sound.Playing, 1, 3, 120, 5*sec)
	play(3, 5*sec, 500*ms, 45*ms)
	log(sound.Playing, 2, 2, 60, 7*sec) // half the tempo
	play(2, 7*sec, 1*sec, -40*ms)
	log(sound.Playing, 2, 3, 60, 11*sec)
	// bar 3 is not played in pass 2
	log(sound.Playing, 3, 2, 60, 15*sec)
	play(2, 15*sec, 1*sec, 0)
	log(sound.Playing, 3, 3, 60, 19*sec)
	script = append(script, entry{20500 * ms, func() []Event { clock.add(sound.Paused, 3, 3, 60, 20500*ms); return nil }})
	for at := time.Duration(0); at < 23*sec; at += look {
		script = append(script, entry{at, func() []Event { return s.look(opened.Add(at)) }})
	}
	slices.SortStableFunc(script, func(a, b entry) int { return int(a.at - b.at) })

	var marked []Marked
	var missed []Missed
	var graded []ended
	for _, e := range script {
		for _, n := range e.do() {
			switch n := n.(type) {
			case Marked:
				marked = append(marked, n)
			case Missed:
				missed = append(missed, n)
				assert.Less(t, e.at-n.Expected.Time, 51*ms+2*look, "told late")
			case ended:
				graded = append(graded, n)
			}
		}
	}
	require.Len(t, marked, 4+4+4+4) // and nothing of the note in the count-in
	for i, m := range marked {
		assert.False(t, m.Extra)
		assert.Equal(t, take.Matched, m.Verdict)
		assert.Equal(t, []int{1, 1, 2, 3}[i/4], m.Pass)
		assert.Equal(t, []time.Duration{-40 * ms, 45 * ms, -40 * ms, 0}[i/4], m.Offset)
	}
	require.Len(t, missed, 4+2) // bar 3 of pass 2, and of pass 3 up to the pause
	require.Len(t, graded, 3)
	assert.Equal(t, take.Counts{Expected: 8, Matched: 8}, graded[0].score.Counts)
	assert.Equal(t, take.Counts{Expected: 8, Matched: 4, Missed: 4}, graded[1].score.Counts)
	assert.Equal(t, take.Counts{Expected: 6, Matched: 4, Missed: 2}, graded[2].score.Counts)
	assert.Equal(t, []bool{true, true, false}, []bool{graded[0].whole, graded[1].whole, graded[2].whole})
	assert.Equal(t, []float64{120, 60, 60}, []float64{graded[0].tempo, graded[1].tempo, graded[2].tempo})
	assert.Equal(t, []time.Duration{4 * sec, 8 * sec, 5500 * ms}, []time.Duration{graded[0].length, graded[1].length, graded[2].length})
}

// The running program: the transport on the wall clock, a pipe played into in
// real time with the pipe closed in bar 3, and news of it.
func TestFollowInRealTime(t *testing.T) {
	if testing.Short() {
		t.Skip("plays two passes in real time")
	}
	t.Parallel()
	path := filepath.Join(t.TempDir(), "midi")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	s := open(t, fourBars, "300", func(p *Passage, g *Sounding) {
		p.Passes, g.Input = 2, piped(path)
		g.Score.Window, g.Score.BeatShare = 90*ms, 0 // for busy machines: what is tried here is what follows what
	})
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer func() { w.Close() }()
	stalls := listentest.WatchStalls()
	require.NoError(t, s.Play())
	line := []byte{48, 52, 55, 57, 45, 48, 52, 55, 50, 53, 57, 53, 43, 47, 50, 53}
	played := 0
	var passes []Pass
	notHeard := 0
	over := time.After(60 * time.Second)
	for len(passes) < 2 {
		select {
		case <-over:
			t.Fatal("no score came")
		case n := <-s.Events():
			switch n := n.(type) {
			case Missed:
				if n.Verdict == take.NotHeard {
					notHeard++
				}
			case Pass:
				passes = append(passes, n)
			}
		case <-time.After(ms):
			// The player looks at the clock and plays what is due.
			now := s.Now()
			if now.State != sound.Playing {
				continue
			}
			due := (now.Pass-1)*16 + (now.Point.Bar-1)*4 + now.Beat - 1
			if due < played {
				continue
			}
			played = due + 1
			switch {
			case now.Pass == 1 && now.Point.Bar == 3 && now.Beat == 1:
				require.NoError(t, w.Close())
			case now.Pass == 1 && now.Point.Bar == 3:
			case now.Pass == 1 && now.Point.Bar == 4 && now.Beat == 1:
				w, err = os.OpenFile(path, os.O_WRONLY, 0)
				require.NoError(t, err)
				fallthrough
			default:
				midi := line[due%16]
				_, err := w.Write([]byte{0x90, midi, 90, midi, 0})
				require.NoError(t, err)
			}
		}
	}
	if worst := stalls.Stop(); worst > 60*ms {
		t.Skipf("this machine is too busy to play in time: it stood still for %v", worst)
	}
	assert.Equal(t, take.Counts{Expected: 16, Matched: 12, NotHeard: 4}, passes[0].Result.Score.Counts)
	assert.Equal(t, take.Counts{Expected: 16, Matched: 16}, passes[1].Result.Score.Counts)
	assert.Equal(t, 4, notHeard)
	s.Close()
	for range s.Events() { // to its end
	}
}

// piped opens a pipe as the input.
func piped(path string) func(time.Time) (listen.Input, error) {
	return func(epoch time.Time) (listen.Input, error) {
		return listen.Open(path, listen.Options{Now: func() time.Duration { return time.Since(epoch) }})
	}
}

// From the bytes in the pipe to the mark in the screen's hands. Budget: p99 under
// 10 ms.
func BenchmarkPipeToMark(b *testing.B) {
	path := filepath.Join(b.TempDir(), "midi")
	if err := unix.Mkfifo(path, 0o600); err != nil {
		b.Fatal(err)
	}
	s := open(b, fourBars, "30", func(_ *Passage, g *Sounding) { g.Input = piped(path) })
	clock := &reel{opened: s.epoch}
	clock.add(sound.Playing, 1, 1, 30, 0)
	s.mu.Lock()
	s.follower.clock = clock
	s.mu.Unlock()
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		b.Fatal(err)
	}
	defer w.Close()
	var took []time.Duration
	for b.Loop() {
		time.Sleep(look / crowd * 2) // a note after the other: crowds are heard at the next look
		start := time.Now()
		if _, err := w.Write([]byte{0x90, 48, 90}); err != nil {
			b.Fatal(err)
		}
		for {
			if _, ok := (<-s.Events()).(Marked); ok {
				break
			}
		}
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
}

//go:build unix

package session

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// A pass walked freely over a tune without its line: bar 2 lies a half step off and
// bar 3 is left out. Each bar is judged as it passes, and nothing else is asked for.
func TestAFreePass(t *testing.T) {
	tn, faults := tune.Read(fourBars)
	require.Empty(t, faults)
	bare, err := fretboard.Arrange(unwritten(tn), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	require.Empty(t, bare.Events)
	require.NotEmpty(t, tn.Sections[0].Bars[0].Bass, "the tune itself keeps its line")
	opened := time.Now()
	clock := &reel{opened: opened}
	feed := listen.NewFeed("silence", listen.Options{Now: func() time.Duration { return 0 }}, "")
	feed.Found(0, "")
	s := newFollower(silence{feed}, opened, clock, task{arrangement: bare, bars: take.Bars{First: 1, Last: 4}, free: true}, take.DefaultSettings())
	type entry struct {
		at time.Duration
		do func() []Event
	}
	var script []entry
	const sec = time.Second
	log := func(state sound.State, bar int, at time.Duration) {
		script = append(script, entry{at - 30*ms, func() []Event { clock.add(state, 1, bar, 120, at); return nil }})
	}
	log(sound.Counting, 0, 1*sec)
	for bar, line := range [][]int{{48, 52, 55, 56}, {46, 49, 53, 54}, {}, {43, 47, 50, 53}} {
		start := time.Duration(3+2*bar) * sec
		log(sound.Playing, bar+1, start)
		for i, midi := range line {
			at := start + time.Duration(i)*500*ms + 20*ms
			script = append(script, entry{at, func() []Event { return s.hear(listen.Note{Confidence: 1, At: at, On: true, MIDI: midi}) }})
		}
	}
	script = append(script, entry{11*sec - 30*ms, func() []Event { clock.add(sound.Finished, 1, 0, 120, 11*sec); return nil }})
	for at := time.Duration(0); at < 12*sec; at += look {
		script = append(script, entry{at, func() []Event { return s.look(opened.Add(at)) }})
	}
	slices.SortStableFunc(script, func(a, b entry) int { return int(a.at - b.at) })
	var walked []Walked
	var over []ended
	for _, e := range script {
		for _, n := range e.do() {
			switch n := n.(type) {
			case Walked:
				end := time.Duration(3+2*n.Bar) * sec
				assert.Less(t, (e.at - end).Abs(), 200*ms, "bar %d is judged as it passes", n.Bar)
				walked = append(walked, n)
			case ended:
				over = append(over, n)
			case Marked, Missed:
				t.Errorf("%T: a free pass asks for nothing", n)
			}
		}
	}
	var verdicts []walk.Verdict
	for i, w := range walked {
		assert.Equal(t, i+1, w.Bar)
		assert.NotEmpty(t, w.Says)
		verdicts = append(verdicts, w.Verdict)
	}
	require.Equal(t, []walk.Verdict{walk.Clear, walk.Lost, walk.Silent, walk.Clear}, verdicts)
	require.Len(t, over, 1)
	require.True(t, over[0].whole)
	require.NotNil(t, over[0].walk)
	require.Nil(t, over[0].score)
	assert.Equal(t, 2, over[0].walk.Clear)
	clean, why := over[0].walk.Clean()
	assert.False(t, clean)
	assert.Contains(t, why, "bar 2")
}

// Whoever stops for two beats in the fourth bar is judged where they are from then on,
// while they play too.
func TestAFreePassAfterAStop(t *testing.T) {
	const sec = time.Second
	tn, ok := content.Tune("tin-kettle-blues") // twelve bars of four beats, here of 500 ms
	require.True(t, ok)
	bare, err := fretboard.Arrange(unwritten(tn), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	judged, clear := 0, 0
	for seed := range uint64(10) {
		l, err := walk.Compose(tn, walk.Options{Range: fretboard.StandardNeck().BassRange(), Seed: seed, Fill: func(string, int) bool { return true }})
		require.NoError(t, err)
		opened := time.Now()
		clock := &reel{opened: opened}
		feed := listen.NewFeed("silence", listen.Options{Now: func() time.Duration { return 0 }}, "")
		feed.Found(0, "")
		s := newFollower(silence{feed}, opened, clock, task{arrangement: bare, bars: take.Bars{First: 1, Last: 12}, free: true}, take.DefaultSettings())
		clock.add(sound.Counting, 1, 0, 120, 1*sec)
		bars, notes := 0, l.Notes
		verdicts := map[int]walk.Verdict{}
		for at := time.Duration(0); at < 28*sec; at += look {
			if bars < 12 && at >= time.Duration(3+2*bars)*sec-30*ms {
				bars++
				clock.add(sound.Playing, 1, bars, 120, time.Duration(1+2*bars)*sec)
			}
			for len(notes) > 0 {
				n := notes[0].At
				due := 3*sec + time.Duration(4*(n.Bar-1)+n.Beat-1)*500*ms
				if n.Bar > 4 {
					due += sec
				}
				if due > at {
					break
				}
				s.hear(listen.Note{Confidence: 1, At: due, On: true, MIDI: notes[0].Pitch.MIDI()})
				notes = notes[1:]
			}
			for _, e := range s.look(opened.Add(at)) {
				if w, ok := e.(Walked); ok {
					verdicts[w.Bar] = w.Verdict
				}
			}
		}
		for _, bar := range []int{1, 2, 3, 4, 7, 8, 9, 10, 11} {
			if judged++; verdicts[bar] == walk.Clear {
				clear++
			}
		}
	}
	assert.GreaterOrEqual(t, clear, judged*9/10, "bars clear around the stop")
}

// A passage in the free layer is that: it needs no bass row, and the history has it
// under a layer of its own.
func TestAFreePassage(t *testing.T) {
	const bare = "tune Bare\nkey C\nmeter 2/4\ntempo 200\n\n[A]\nchords | Dm7 | G7 |\n"
	s := open(t, bare, "", func(p *Passage, _ *Sounding) { p.Layer = FreeLayer })
	require.True(t, s.Free())
	require.Empty(t, s.Arrangement().Events)
	assert.Equal(t, FreeLayer, Result{free: true}.layer())
	assert.Equal(t, "bass", Result{}.layer())

	s = open(t, two, "", nil)
	require.False(t, s.Free())
	require.NotEmpty(t, s.Arrangement().Events)
	require.NoError(t, s.SetFree(true))
	require.True(t, s.Free())
	require.Empty(t, s.Arrangement().Events)
	require.NoError(t, s.SetFree(false))
	require.NotEmpty(t, s.Arrangement().Events)
	require.NoError(t, s.SetFree(true))
	require.NoError(t, s.SetLayer(fretboard.Bass))
	require.False(t, s.Free(), "a layer is of the written line")
}

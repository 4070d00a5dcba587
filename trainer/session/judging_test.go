package session

import (
	"context"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// until reads what a play-along tells until done says that it is enough.
func until(t *testing.T, s *PlayAlong, done func(Event) bool) {
	t.Helper()
	late := time.After(60 * time.Second)
	for {
		select {
		case e := <-s.Events():
			if done(e) {
				return
			}
		case <-late:
			t.Fatal("it does not come")
		}
	}
}

// passed is done for until after the pass with a number.
func passed(n int) func(Event) bool {
	return func(e Event) bool { p, ok := e.(Pass); return ok && p.N == n }
}

// Three passes at 300 with no key pressed are in the history with their time; what is
// said of them later counts there. 300 a minute in 2/4 is 0.4 s a bar.
func TestPassesWithoutAWordAreKeptAndJudgedLater(t *testing.T) {
	k, err := history.Keep(filepath.Join(t.TempDir(), "history.db"), time.Now, nil)
	require.NoError(t, err)
	defer k.Close()
	tn, faults := tune.Read(two)
	require.Empty(t, faults)
	d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, History: k, Sounding: Sounding{
		Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
	}}
	s, err := d.PlayAlong(Passage{Tune: Tune{Name: "test", Tune: tn}, Ramp: "300", Layer: "bass", Section: "B", Passes: 3})
	require.NoError(t, err)
	require.NoError(t, s.Play())
	until(t, s, passed(3))
	record := func() []float64 {
		r, err := k.Look(context.Background(), 0, memory.DayOf(time.Now()))
		require.NoError(t, err)
		var sums [3]float64 // passes, seconds, clean
		for _, take := range r.Takes {
			sums[0]++
			sums[1] += take.Length.Seconds()
			if take.Judged && take.Clean {
				sums[2]++
			}
		}
		return sums[:]
	}
	require.Eventually(t, func() bool { return record()[0] == 3 }, 10*time.Second, 10*time.Millisecond)
	assert.InDeltaSlice(t, []float64{3, 3 * 0.4, 0}, record(), 0.01)
	assert.Equal(t, []int{1, 2, 3}, s.Unsaid())
	assert.Equal(t, 3, s.JudgeLast(3, true))
	assert.Empty(t, s.Unsaid())
	s.Close()
	assert.InDeltaSlice(t, []float64{3, 3 * 0.4, 3}, record(), 0.01)
}

// A bar of rest comes after each pass where nobody listens, at the tempo of the next;
// where somebody listens, or never, there is none.
func TestABarOfRestCountsTheNextPassIn(t *testing.T) {
	for _, c := range []struct {
		rest  RestBar
		heard bool
		want  bool
	}{{RestUnheard, false, true}, {RestUnheard, true, false}, {RestAlways, true, true}, {RestNever, false, false}} {
		synctest.Test(t, func(t *testing.T) {
			s := open(t, two, "260:300,alternate", func(p *Passage, g *Sounding) {
				p.Section, g.Rest = "B", c.rest
				if c.heard {
					in := ear{listen.NewFeed("test", listen.Options{}, "waiting")}
					in.Found(0, "hearing")
					g.Input = listening(in)
				}
			})
			require.NoError(t, s.Play())
			counted := map[int]float64{} // the tempo of the bar before a pass
			until(t, s, func(e Event) bool {
				if b, ok := e.(Beat); ok && b.Now.State == sound.Counting {
					counted[b.Now.Pass] = b.Now.Bar.Tempo
					assert.Equal(t, b.Now.Pass > 1, s.Resting() || b.Now.Pass > len(s.Results())+1)
				}
				return passed(3)(e)
			})
			delete(counted, 4)
			if c.want {
				assert.Equal(t, map[int]float64{1: 260, 2: 300, 3: 260}, counted)
			} else {
				assert.Equal(t, map[int]float64{1: 260}, counted)
			}
			assert.Equal(t, c.want, s.Rests())
		})
	}
}

// A ramp that climbs waits for the word on each pass where nobody listens: one that failed
// is played again at its tempo, the second time slower. Without a word it goes on in time.
func TestAClimbGoesByTheWord(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "240:300+20", func(p *Passage, _ *Sounding) { p.Section = "B" })
		require.NoError(t, s.Play())
		var tempos []float64
		words := []bool{true, false, true, false, false, false}
		for i, clean := range words {
			until(t, s, passed(i+1))
			assert.True(t, s.Judging())
			assert.Equal(t, i+1, s.Judge(clean))
		}
		before := clock.Now()
		until(t, s, passed(len(words)+1))
		until(t, s, passed(len(words)+2))
		assert.Greater(t, clock.Now().Sub(before), timeToSay, "it has waited for a word")
		for _, r := range s.Results() {
			tempos = append(tempos, r.Tempo)
		}
		assert.Equal(t, []float64{240, 260, 260, 280, 280, 260, 260, 280}, tempos)
	})
}

// Where the next pass does not wait, a word that the last one failed holds the one after it
// back.
func TestAClimbThatDoesNotWaitIsHeldBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "220:300+20", func(p *Passage, g *Sounding) { p.Section, g.Rest = "B", RestNever })
		require.NoError(t, s.Play())
		for n := 1; n <= 5; n++ {
			until(t, s, passed(n))
			if n == 2 {
				s.Judge(false)
			}
		}
		var tempos []float64
		for _, r := range s.Results() {
			tempos = append(tempos, r.Tempo)
		}
		assert.Equal(t, []float64{220, 240, 260, 260, 280}, tempos)
	})
}

// A ladder on which nobody says a word goes on at its tempo after a bar of rest, and by
// the words that come later.
func TestALadderGoesOnAndCatchesUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "240:300+20,ladder2", func(p *Passage, _ *Sounding) { p.Section = "B" })
		require.NoError(t, s.Play())
		until(t, s, passed(3))
		for _, r := range s.Results() {
			assert.Equal(t, 240.0, r.Tempo)
		}
		assert.Equal(t, []int{1, 2, 3}, s.Unsaid())
		assert.Equal(t, 3, s.Judge(true))
		assert.Equal(t, 2, s.Judge(true), "said again it is on the pass before")
		assert.Equal(t, 260.0, s.Progress().Tempo)
		until(t, s, passed(5))
		assert.Equal(t, 240.0, s.Results()[3].Tempo, "it was counted in already")
		assert.Equal(t, 260.0, s.Results()[4].Tempo)
		assert.True(t, s.JudgePass(2, false), "another word in its place")
		assert.False(t, s.Results()[1].Clean)
		assert.False(t, s.JudgePass(9, true))
		assert.Equal(t, 5, s.Judge(true))
		assert.Equal(t, 4, s.Judge(true))
		assert.Equal(t, 1, s.Judge(true))
		assert.Equal(t, 0, s.Judge(true), "each has its word")
	})
}

// A pedal, and a chosen note in a rest, say that the last pass was clean; once more, that
// it was not. The note is music while a pass is played. The bytes are MIDI 1.0's:
// controller 64 is the sustain pedal, down from 64 on.
func TestAPedalOrANoteAnswers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := ear{listen.NewFeed("test", listen.Options{}, "waiting")}
		in.Found(0, "hearing")
		s := open(t, two, "300", func(p *Passage, g *Sounding) {
			p.Section = "B"
			g.Answer = AnswerBy{Pedal: true, MIDI: 40, Input: listening(in)}
		})
		require.NoError(t, s.Play())
		said := func(clean bool) func(Event) bool {
			return func(e Event) bool { x, ok := e.(Said); return ok && x == Said{1, clean} }
		}
		until(t, s, passed(1))
		in.Tread(true)
		until(t, s, said(true))
		in.Tread(true) // still down
		in.Tread(false)
		in.Tread(true)
		until(t, s, said(false))
		for s.Now().State == sound.Counting {
			time.Sleep(time.Millisecond)
		}
		in.Hand(listen.Note{On: true, MIDI: 40, Confidence: 1})
		until(t, s, passed(2))
		assert.False(t, s.Results()[0].Clean, "a note in a pass is no word")
		for s.Now().State != sound.Counting {
			time.Sleep(time.Millisecond)
		}
		in.Hand(listen.Note{On: true, MIDI: 41, Confidence: 1})
		in.Hand(listen.Note{On: true, MIDI: 40, Confidence: 1})
		until(t, s, func(e Event) bool { _, ok := e.(Said); return ok })
		assert.True(t, s.Results()[1].Judged && s.Results()[1].Clean)
	})
}

// Another ramp is climbed from the next pass on, whatever was played before it.
func TestAnotherRampFromTheNextPassOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "200", func(p *Passage, _ *Sounding) { p.Section = "B" })
		require.NoError(t, s.Play())
		until(t, s, func(e Event) bool { b, ok := e.(Beat); return ok && b.Now.State == sound.Playing && b.Now.Beat == 2 })
		require.NoError(t, s.SetRamp(ramp.Ramp{Floor: 240, Target: 300, Step: 30, Mode: ramp.Up, Rungs: 3}))
		until(t, s, passed(3))
		require.NoError(t, s.SetRamp(ramp.Ramp{Floor: 100, Target: 120, Step: 30, Mode: ramp.Ladder, Rungs: 1}))
		counted := 0.0
		until(t, s, func(e Event) bool {
			if b, ok := e.(Beat); ok && b.Now.State == sound.Counting && len(s.Results()) == 3 {
				counted = b.Now.Bar.Tempo
			}
			return passed(5)(e)
		})
		assert.Equal(t, 100.0, counted, "a pass that was counted in at 300 is counted in anew")
		var tempos []float64
		for _, r := range s.Results() {
			tempos = append(tempos, r.Tempo)
		}
		assert.Equal(t, []float64{200, 240, 270, 100, 100}, tempos, "the pass that had begun is played as it was")
		assert.Error(t, s.SetRamp(ramp.Ramp{Floor: 10, Target: 20}))
	})
}

// The bars that are looped are what the history calls the passage: a section's by its
// name, the whole form's by none, others by their numbers.
func TestPassagesAreCalledByWhatWasPlayed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "200", nil)
		for bars, want := range map[take.Bars]string{{First: 1, Last: 3}: "", {First: 1, Last: 2}: "A", {First: 3, Last: 3}: "B", {First: 2, Last: 3}: "2-3"} {
			assert.Equal(t, want, s.sectionOf(bars))
		}
		assert.Equal(t, []Part{{"A", take.Bars{First: 1, Last: 2}}, {"B", take.Bars{First: 3, Last: 3}}}, s.Parts())
	})
}

func TestSums(t *testing.T) {
	for _, c := range []struct {
		results []Result
		worst   []take.Tally
		want    []string
	}{
		{nil, nil, []string{"No pass was played to its end."}},
		{[]Result{{Tempo: 90, Length: 40 * time.Second}}, nil, []string{
			"1 pass at 90 BPM, in 40 seconds.", "None of them is judged yet."}},
		{[]Result{{Tempo: 80, Length: time.Minute, Judged: true, Clean: true, heard: true}, {Tempo: 84, Length: time.Minute, Judged: true}, {Tempo: 88, Length: time.Minute}},
			[]take.Tally{{Section: "A", Bar: 5, Counts: take.Counts{Expected: 8, Missed: 2}}, {Section: "B", Bar: 9, Counts: take.Counts{Missed: 1}}},
			[]string{"3 passes from 80 to 88 BPM, in 3 minutes.", "1 of 2 clean, the fastest at 80 BPM; 1 not judged yet.", "Worst bars: A 5 (2 missed), B 9."}},
	} {
		sum := sumOf(c.results)
		sum.Worst = c.worst
		assert.Equal(t, c.want, sum.Lines())
	}
}

package drills_test

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

func plan(t require.TestingT, kinds ...string) drills.Plan {
	m, err := drills.OfSet(drills.Sets[0], fretboard.StandardNeck())
	require.NoError(t, err)
	p := drills.Plan{Name: "test", Material: m, Chance: rand.New(rand.NewPCG(1, 2))}
	for _, name := range kinds {
		ks, err := drills.KindsNamed(name)
		require.NoError(t, err)
		p.Kinds = append(p.Kinds, ks...)
	}
	return p
}

func start(t require.TestingT, p drills.Plan) *drills.Sitting {
	s, err := drills.Start(p, noon)
	require.NoError(t, err)
	return s
}

// fret answers the question on its string, right or a fret beside it.
func fret(s *drills.Sitting, q drills.Question, right bool, asked time.Time, took time.Duration) drills.Answer {
	f := q.Ask().Place.Fret
	if !right {
		f = (f + 1) % 12
	}
	s.FirstKey(asked.Add(took))
	_, a := s.Answer(drills.Pointed(fretboard.Place{String: q.Ask().String, Fret: f}), asked.Add(took+time.Minute))
	return a
}

func TestNextWaitsUntilTheAnswerIsKept(t *testing.T) {
	s := start(t, plan(t, "find"))
	q, err := s.Next(noon)
	require.NoError(t, err)
	again, err := s.Next(noon.Add(time.Second))
	require.NoError(t, err)
	assert.Equal(t, q, again, "a waiting question is asked again")

	j, a := s.Answer(drills.Typed(memory.Typed, "what?"), noon)
	assert.Equal(t, drills.Unread, j.Result)
	assert.Zero(t, a)
	assert.Empty(t, s.Answers(), "what cannot be read is no answer")

	a = fret(s, q, true, noon.Add(time.Second), 700*time.Millisecond)
	assert.Equal(t, memory.Sure, a.Verdict)
	assert.Equal(t, 700*time.Millisecond, a.Took, "time ends at the first key")
	_, err = s.Next(noon)
	assert.ErrorIs(t, err, drills.ErrNotKept)
	s.Kept(nil)
	_, err = s.Next(noon)
	assert.NoError(t, err)
	assert.Panics(t, func() { start(t, plan(t, "find")).Answer(drills.Reply{}, noon) })
}

func TestFailedStoreGoesOnInMemory(t *testing.T) {
	s := start(t, plan(t, "find"))
	for i, err := range []error{errors.New("disk full"), errors.New("disk full"), nil} {
		q, e := s.Next(noon)
		require.NoError(t, e)
		fret(s, q, true, noon, time.Second)
		s.Kept(err)
		assert.Equal(t, []int{1, 2, 0}[i], s.Summary(noon).Unkept)
	}
	assert.Len(t, s.Answers(), 3)
}

func TestSittingEnds(t *testing.T) {
	p := plan(t, "find")
	p.Questions = 2
	s := start(t, p)
	for range 2 {
		q, err := s.Next(noon)
		require.NoError(t, err)
		fret(s, q, true, noon, time.Second)
		s.Kept(nil)
	}
	_, err := s.Next(noon)
	assert.ErrorIs(t, err, drills.ErrOver)

	p.Questions, p.Length = 0, time.Minute
	s = start(t, p)
	q, err := s.Next(noon.Add(59 * time.Second))
	require.NoError(t, err)
	fret(s, q, true, noon, time.Second)
	s.Kept(nil)
	_, err = s.Next(noon.Add(time.Minute))
	assert.ErrorIs(t, err, drills.ErrOver)
}

// The pace is the player's own where it is known: eight right answers of one
// second make four seconds slow, which with nothing known is sure.
func TestSlowIsAgainstTheOwnTimes(t *testing.T) {
	p := plan(t, "find")
	p.Pace = func(k memory.Kind, w memory.Way) memory.Pace {
		assert.Equal(t, memory.Find, k)
		pace := memory.Pace{Way: w}
		for range 8 {
			pace = pace.With(memory.Sure, time.Second)
		}
		return pace
	}
	for _, known := range []bool{true, false} {
		want := memory.Slow
		if !known {
			p.Pace, want = nil, memory.Sure
		}
		s := start(t, p)
		q, err := s.Next(noon)
		require.NoError(t, err)
		assert.Equal(t, want, fret(s, q, true, noon, 4*time.Second).Verdict, "known %v", known)
	}
}

func TestSummary(t *testing.T) {
	p := plan(t, "find")
	s := start(t, p)
	assert.Equal(t, []string{"Nothing was asked."}, s.Summary(noon).Lines())
	// Every answer on string 6 is missed, every one on string 5 right.
	missed, right := 0, 0
	now := noon
	for range 20 {
		q, err := s.Next(now)
		require.NoError(t, err)
		ok := q.Ask().String == 5
		a := fret(s, q, ok, now, 2*time.Second)
		now = now.Add(2*time.Second + time.Minute)
		assert.Equal(t, ok, a.Right())
		s.Kept(nil)
		if ok {
			right++
		} else {
			missed++
		}
	}
	m := s.Summary(now)
	assert.Equal(t, 20, m.Asked)
	assert.Equal(t, right, m.Right)
	assert.Equal(t, missed, m.Missed)
	assert.Equal(t, m.Right, m.Sure+m.Slow)
	assert.Equal(t, int64(2000), m.MedianMS)
	assert.Equal(t, 20*62.0, m.Seconds)
	assert.Equal(t, &drills.Weakness{Name: "6", Asked: missed, Right: 0}, m.WeakestString)
	require.NotNil(t, m.WeakestDegree)
	require.NotNil(t, m.WeakestChord)
	assert.Contains(t, m.Lines(), "Half of the right ones came within 2.0 seconds.")
}

// The slow and plain way to the weakest degree: go through every answer for each.
func TestWeakestAgainstThePlainWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := start(t, plan(t, "find"))
		for range rapid.IntRange(1, 30).Draw(t, "answers") {
			q, err := s.Next(noon)
			require.NoError(t, err)
			fret(s, q, rapid.Bool().Draw(t, "right"), noon, time.Duration(rapid.IntRange(1, 9).Draw(t, "s"))*time.Second)
			s.Kept(nil)
		}
		w := s.Summary(noon).WeakestDegree
		if w == nil {
			require.Zero(t, s.Summary(noon).Missed, "only a perfect set has no weakest degree")
			return
		}
		require.Less(t, w.Right, w.Asked)
		for _, a := range s.Answers() {
			asked, right := 0, 0
			for _, b := range s.Answers() {
				if b.Degree == a.Degree {
					asked++
					if b.Right() {
						right++
					}
				}
			}
			if right*w.Asked < w.Right*asked {
				t.Fatalf("%s has %d right of %d, yet %+v is called weakest", a.Degree, right, asked, *w)
			}
		}
	})
}

// The same seed asks the same; a missed item comes back after three others; no
// item comes twice in a row.
func TestRandom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		wrong := rapid.SliceOfN(rapid.Bool(), 24, 24).Draw(t, "wrong")
		run := func() []memory.Item {
			p := plan(t, "find", "name", "spell")
			p.Chance = rand.New(rand.NewPCG(seed, 0))
			s := start(t, p)
			var items []memory.Item
			for i := range wrong {
				q, err := s.Next(noon)
				require.NoError(t, err)
				items = append(items, q.Item())
				text := "0"
				if wrong[i] {
					text = "1"
				}
				if q.Item().Kind != memory.Find {
					text = "C"
					if q.Item().Kind == memory.Name {
						text = "5"
					}
				}
				s.Answer(drills.Typed(memory.Typed, text), noon)
				s.Kept(nil)
			}
			for i, a := range s.Answers() {
				if i+4 < len(items) && a.Verdict == memory.Missed {
					assert.Equal(t, a.Item, items[i+4], "a missed item comes back after three others")
				}
				if i > 0 {
					assert.NotEqual(t, items[i-1], items[i])
				}
			}
			return items
		}
		assert.Equal(t, run(), run())
	})
}

func TestOrderedKindsStandAlone(t *testing.T) {
	_, err := drills.Start(plan(t, "find", "line"), noon)
	assert.EqualError(t, err, "line asks in order and cannot be mixed with other kinds: drill it alone")
	_, err = drills.KindsNamed("sing")
	assert.ErrorContains(t, err, `no drill is called "sing": use find, name, spell, line`)
	ks, err := drills.KindsNamed(drills.Mixed)
	require.NoError(t, err)
	for _, k := range ks {
		assert.False(t, k.Ordered)
	}
	assert.Greater(t, len(ks), 2)
}

// Every kind of every set asks questions that its own right answer answers.
func TestEverySetCanBeAsked(t *testing.T) {
	for _, set := range drills.Sets {
		m, err := drills.OfSet(set, fretboard.StandardNeck())
		require.NoError(t, err, set.Name)
		for _, k := range drills.Kinds {
			if k.Ordered {
				continue
			}
			qs, err := k.Draw(m)
			require.NoError(t, err)
			require.NotEmpty(t, qs)
			for _, q := range qs {
				key := q.Item().Key()
				back, err := memory.ParseKey(key)
				require.NoError(t, err)
				assert.Equal(t, q.Item(), back)
				ask := q.Ask()
				assert.NotEmpty(t, ask.Prompt)
				if k.Name == memory.Find {
					assert.Equal(t, drills.Hit, q.Judge(drills.Pointed(ask.Place)).Result, ask.Prompt)
				}
				if k.Name == memory.Name {
					assert.Equal(t, drills.Hit, q.Judge(drills.Typed(memory.Typed, ask.Degree)).Result, ask.Prompt)
				}
			}
		}
	}
	_, err := drills.OfSymbols("", "", "C7 Hm", fretboard.StandardNeck())
	assert.ErrorContains(t, err, `chord "Hm"`)
}

func BenchmarkNextQuestion(b *testing.B) {
	p := plan(b, "find", "name", "spell")
	p.Questions = 0
	s := start(b, p)
	for b.Loop() {
		q, err := s.Next(noon)
		if err != nil {
			b.Fatal(err)
		}
		_ = q.Ask()
		s.Answer(drills.Typed(memory.Typed, "5"), noon)
		s.Kept(nil)
	}
}

// A question left open while the computer sleeps, or the player goes to lunch,
// counts as a minute: slow, never missed; and neither it nor a clock that is set
// ends a sitting of minutes.
func TestAwayWithAQuestionOpen(t *testing.T) {
	for _, away := range []time.Duration{3 * time.Hour, 72 * time.Hour} {
		p := plan(t, "find")
		p.Length = 10 * time.Minute
		s := start(t, p)
		now := noon
		answer := func(wait time.Duration) drills.Answer {
			q, err := s.Next(now)
			require.NoError(t, err)
			now = now.Add(wait)
			s.FirstKey(now)
			_, a := s.Answer(drills.Pointed(q.Ask().Place), now)
			s.Kept(nil)
			return a
		}
		for range 4 {
			answer(30 * time.Second)
		}
		a := answer(away)
		assert.Equal(t, memory.Longest, a.Took)
		assert.Equal(t, memory.Slow, a.Verdict)
		assert.Equal(t, memory.Hard, a.Grade)
		assert.Equal(t, 3*time.Minute, s.Elapsed(now))
		assert.InDelta(t, 180, s.Summary(now).Seconds, 1e-9)
		assert.Equal(t, memory.Sure, answer(2*time.Second).Verdict)
		now = now.Add(-5 * time.Hour) // the clock is set back
		assert.Equal(t, time.Duration(0), answer(-time.Hour).Took)
		assert.Equal(t, 3*time.Minute+2*time.Second, s.Elapsed(now))
		// All that is left of the ten minutes is practised.
		n := 0
		for ; n < 100; n++ {
			if _, err := s.Next(now); err != nil {
				require.ErrorIs(t, err, drills.ErrOver)
				break
			}
			answer(59 * time.Second)
		}
		assert.Equal(t, 8, n)
	}
}

// The answers of hours hold what was asked and said once.
func TestAnswersOfHoursAreSmall(t *testing.T) {
	s := start(t, plan(t, "find"))
	shared := map[*drills.Exchange]bool{}
	now := noon
	const asked = 2000
	for range asked {
		q, err := s.Next(now)
		require.NoError(t, err)
		now = now.Add(3 * time.Second)
		a := fret(s, q, true, now, time.Second)
		s.Kept(nil)
		shared[a.Exchange] = true
	}
	assert.Len(t, s.Answers(), asked)
	assert.Less(t, len(shared), asked/4)
	assert.LessOrEqual(t, unsafe.Sizeof(drills.Answer{}), uintptr(40))
}

// What is told of an answer: slow only against the player's own times, and not of one that
// was right in another way.
func TestWhatIsToldOfAnAnswer(t *testing.T) {
	of := func(k memory.Kind) *drills.Exchange { return &drills.Exchange{Item: memory.Item{Kind: k}} }
	find, tap := of(memory.Find), of(memory.Hits)
	const six, eight = 6 * time.Second, 8100 * time.Millisecond
	for want, a := range map[string]drills.Answer{
		"Correct · 2.0 s": {Exchange: find, Took: 2 * time.Second, SlowAfter: six, Own: true},
		"Correct, slow · 8.1 s; up to 6.0 is usual for you": {Exchange: find, Verdict: memory.Slow, Took: eight, SlowAfter: six, Own: true},
		"Correct · 8.1 s": {Exchange: find, Verdict: memory.Slow, Took: eight, SlowAfter: six},
		"Nearly · 8.1 s":  {Exchange: find, Verdict: memory.Slow, Near: true, Took: eight, SlowAfter: six, Own: true},
		"Wrong · 8.1 s":   {Exchange: find, Verdict: memory.Missed, Took: eight, SlowAfter: six, Own: true},
		"The way · ":      {Exchange: find, Verdict: memory.Missed, Unknown: true, Took: eight},
		"Nearly · ":       {Exchange: tap, Verdict: memory.Slow},
		"Correct · ":      {Exchange: tap, Verdict: memory.Sure},
	} {
		assert.Equal(t, want, a.Says()+" · "+a.Pace())
	}
}

// A tune of one chord has no change to lead over, and says so; what can be asked of it is
// not in doubt.
func TestMaterialSaysWhatItLacks(t *testing.T) {
	vamp := drills.Material{Title: "Vamp", Chords: []harmony.Chord{mustChord(t, "Dm7")}, Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand()}
	for name, says := range map[string]string{
		"approach": "Vamp has no change from one root to another to ask about",
		"leading":  "Vamp has no change from one root to another to ask about",
		"find":     "",
	} {
		kinds, err := drills.KindsNamed(name)
		require.NoError(t, err)
		err = vamp.Has(kinds[0])
		if says == "" {
			assert.NoError(t, err, name)
			continue
		}
		assert.EqualError(t, err, says)
		_, err = drills.Start(drills.Plan{Name: name, Kinds: kinds, Material: vamp, Questions: 1, Chance: rand.New(rand.NewPCG(1, 1))}, time.Now())
		assert.EqualError(t, err, says)
	}
}

func mustChord(t *testing.T, symbol string) harmony.Chord {
	c, err := harmony.ParseChord(symbol)
	require.NoError(t, err)
	return c
}

package history_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/history"
)

var ctx = context.Background()

// start is the first moment of the histories in these tests.
var start = time.Date(2026, 3, 2, 18, 0, 0, 0, time.FixedZone("", 3600))

// clock is a time that moves only when told.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) Move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// ids makes ids that are the same in every run.
func ids(seed uint64) func() uuid.UUID {
	r := rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8)})
	return func() uuid.UUID {
		id, err := uuid.NewRandomFromReader(r)
		if err != nil {
			panic(err)
		}
		return id
	}
}

func open(t testing.TB, path string) *history.Store {
	t.Helper()
	s, err := history.Open(path, nil, nil)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

func place(t testing.TB) string { return filepath.Join(t.TempDir(), "data", history.FileName) }

// player answers at random but plausibly: some hundred items, a few days.
type player struct {
	rand    *rand.Rand
	newID   func() uuid.UUID
	at      time.Time
	sitting uuid.UUID
	// everyDay ends a day after so many answers, and widens the material to some
	// 3,000 items; 0 ends days at random.
	everyDay, answered int
}

func newPlayer(seed uint64) *player {
	return &player{rand: rand.New(rand.NewPCG(seed, 7)), newID: ids(seed), at: start}
}

func (p *player) item() memory.Item {
	qualities, roots := 4, 7
	if p.everyDay > 0 {
		qualities, roots = 9, 17
	}
	quality := []string{"m7", "7", "maj7", "m7b5", "6", "m6", "9", "dim7", "7b9"}[p.rand.IntN(qualities)]
	degree := []string{"1", "b3", "3", "5", "b7"}[p.rand.IntN(5)]
	root := []string{"C", "D", "Eb", "F", "G", "A", "Bb", "E", "B", "F#", "Gb", "Ab", "G#", "Db", "C#", "D#", "A#"}[p.rand.IntN(roots)]
	switch p.rand.IntN(5) {
	case 0:
		return memory.Item{Kind: memory.Spell, Degree: degree, Root: root}
	case 1:
		return memory.Item{Kind: memory.Name, Quality: quality, Degree: degree, Root: root, String: 5 + p.rand.IntN(2)}
	}
	return memory.Item{Kind: memory.Find, Quality: quality, Degree: degree, Root: root, String: 5 + p.rand.IntN(2)}
}

func (p *player) answer() history.Answer {
	p.at = p.at.Add(time.Duration(2000+p.rand.IntN(8000)) * time.Millisecond)
	p.answered++
	if p.everyDay > 0 && p.answered%p.everyDay == 0 || p.everyDay == 0 && p.rand.IntN(60) == 0 {
		p.at = p.at.Add(23 * time.Hour)
	}
	a := history.Answer{
		ID: p.newID(), Sitting: p.sitting, At: p.at, Item: p.item(),
		Way: memory.Way(p.rand.IntN(2)), Verdict: memory.Verdict(p.rand.IntN(3)),
		Took: time.Duration(300+p.rand.IntN(9000)) * time.Millisecond, Given: "8",
	}
	if a.Item.String > 0 {
		a.Place = fretboard.Place{String: a.Item.String, Fret: p.rand.IntN(16)}
	}
	return a
}

func (p *player) play(t testing.TB, s *history.Store, answers int) []history.Answer {
	t.Helper()
	sit, err := s.Begin(ctx, history.Sitting{ID: p.newID(), Began: p.at, Drill: "find", Tune: "lantern-street"})
	require.NoError(t, err)
	p.sitting = sit.ID
	var kept []history.Answer
	for range answers {
		a, err := s.Append(ctx, p.answer())
		require.NoError(t, err)
		kept = append(kept, a)
	}
	return kept
}

// asked counts the answers that a keeper knows of.
func asked(t testing.TB, k *history.Keeper) (n int) {
	t.Helper()
	r, err := k.Look(ctx, 0, memory.DayOf(start)+1000)
	require.NoError(t, err)
	for _, day := range r.Counts.Days {
		n += day.Asked
	}
	return n
}

func allAnswers(t testing.TB, s *history.Store) []history.Answer {
	t.Helper()
	var all []history.Answer
	require.NoError(t, s.Answers(ctx, time.Time{}, func(a history.Answer) error {
		all = append(all, a)
		return nil
	}))
	return all
}

// derived sums up all that is worked out from answers.
func derived(t testing.TB, s *history.Store) string {
	t.Helper()
	states, err := s.States(ctx)
	require.NoError(t, err)
	paces, err := s.Paces(ctx)
	require.NoError(t, err)
	counts, err := s.Counts(ctx, 0)
	require.NoError(t, err)
	all := fmt.Sprintln(states) + fmt.Sprintln(paces) + fmt.Sprintln(counts)
	return fmt.Sprintf("%d bytes, sum %x", len(all), sha256.Sum256([]byte(all)))
}

func TestAnswersAreKept(t *testing.T) {
	path := place(t)
	s := open(t, path)
	kept := newPlayer(1).play(t, s, 120)
	require.NoError(t, s.Close())

	s = open(t, path)
	all := allAnswers(t, s)
	require.Len(t, all, 120)
	for i, a := range all {
		require.True(t, kept[i].At.Equal(a.At))
		require.Equal(t, memory.DayOf(kept[i].At), memory.DayOf(a.At))
		kept[i].At = a.At
		require.Equal(t, kept[i], a)
		require.NotZero(t, a.Grade)
	}
	var sittings []history.Sitting
	require.NoError(t, s.Sittings(ctx, func(sit history.Sitting) error { sittings = append(sittings, sit); return nil }))
	require.Len(t, sittings, 1)
	assert.True(t, sittings[0].Last.Equal(all[119].At), "a sitting lasts to its latest answer")
}

func TestFilesAreForTheOwnerAlone(t *testing.T) {
	path := place(t)
	s := open(t, path)
	newPlayer(1).play(t, s, 3)
	names, err := filepath.Glob(path + "*")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		info, err := os.Stat(name)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), name)
	}
	info, err := os.Stat(filepath.Dir(path))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
}

func TestItemStatesAreRebuiltFromAnswers(t *testing.T) {
	racetest.Alone(t)
	s := open(t, place(t))
	newPlayer(3).play(t, s, 300)
	newPlayer(4).play(t, s, 150) // from the same start: out of order
	before := derived(t, s)
	require.NoError(t, s.Rebuild())
	require.Equal(t, before, derived(t, s))
}

func TestAppendAsksForASitting(t *testing.T) {
	s := open(t, place(t))
	_, err := s.Append(ctx, newPlayer(1).answer())
	require.ErrorContains(t, err, "has not begun")
	assert.Empty(t, allAnswers(t, s))
}

func TestTwoProgramsAtOnce(t *testing.T) {
	const wait = time.Hour // however slow the disk is
	path := place(t)
	var wg sync.WaitGroup
	errs := make(chan error, 400)
	for i := range 2 {
		wg.Go(func() {
			s, err := history.OpenWaiting(path, wait)
			if err != nil {
				errs <- err
				return
			}
			defer s.Close()
			p := newPlayer(uint64(10 + i))
			sit, err := s.Begin(ctx, history.Sitting{Began: p.at})
			errs <- err
			p.sitting = sit.ID
			for range 60 {
				_, err := s.Append(ctx, p.answer())
				errs <- err
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		require.NoError(t, err)
	}
	s := open(t, path)
	assert.Len(t, allAnswers(t, s), 120)
	before := derived(t, s)
	require.NoError(t, s.Rebuild())
	assert.Equal(t, before, derived(t, s))
}

func TestTakesAreKept(t *testing.T) {
	s := open(t, place(t))
	sit, err := s.Begin(ctx, history.Sitting{Began: start})
	require.NoError(t, err)
	passage := memory.Item{Kind: memory.Passage, Tune: "lantern-street", Section: "A", Layer: "bass"}
	take := history.Take{
		Sitting: sit.ID, At: start.Add(time.Minute), Item: passage, Way: memory.MIDI, Tempo: 84, Length: 23 * time.Second,
		Judged: true, Expected: 3, Matched: 2, Missed: 1, Mean: -4 * time.Millisecond, Spread: 11500 * time.Microsecond, Ramp: "60:120+4 at 84",
		Events: []history.TakeEvent{
			{Bar: 1, Beat: 1, Place: fretboard.Place{String: 6, Fret: 6}, MIDI: 46, Verdict: "matched", Offset: -4500 * time.Microsecond},
			{Bar: 1, Beat: 2, Off: true, Verdict: "missed"},
		},
	}
	first, err := s.AppendTake(ctx, take)
	require.NoError(t, err)
	take.At, take.Tempo, take.Clean = start.Add(2*time.Minute), 88, true
	second, err := s.AppendTake(ctx, take)
	require.NoError(t, err)

	var all []history.Take
	require.NoError(t, s.Takes(ctx, time.Time{}, func(t history.Take) error { all = append(all, t); return nil }))
	for i := range all {
		all[i].At = all[i].At.In(start.Location())
	}
	assert.Equal(t, []history.Take{first, second}, all)

	last, err := s.LastTakes(ctx)
	require.NoError(t, err)
	require.Len(t, last, 1)
	assert.Equal(t, 88.0, last[passage].Tempo)
	states, err := s.States(ctx)
	require.NoError(t, err)
	assert.Equal(t, 2, states[passage].Asked)
	assert.Equal(t, 1, states[passage].Missed)
}

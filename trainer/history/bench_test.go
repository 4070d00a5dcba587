package history_test

import (
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/history"
)

// million is a history of 1,000,000 answers over five years, made once for all
// benchmarks, in a folder of its own for each run.
var million = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "footfall-million-")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, history.FileName)
	s, err := history.Open(path, nil, nil)
	if err != nil {
		return "", err
	}
	defer s.Close()
	for year := range 5 {
		p := newPlayer(uint64(100 + year))
		p.at = start.AddDate(year, 0, 0)
		p.everyDay = 548
		if err := importGenerated(s, p, 200_000); err != nil {
			return "", err
		}
	}
	return path, nil
})

// today is the day after the million's last.
var today = memory.DayOf(start.AddDate(5, 0, 0))

func millionAnswers(b *testing.B) string {
	b.Helper()
	path, err := million()
	require.NoError(b, err)
	return path
}

func TestMain(m *testing.M) {
	code := m.Run()
	if made, _ := filepath.Glob(filepath.Join(os.TempDir(), "footfall-million-*")); len(made) > 0 {
		for _, dir := range made {
			os.RemoveAll(dir)
		}
	}
	os.Exit(code)
}

// BenchmarkStart opens the million and reads what the first screen needs.
// Budget: 150 ms.
func BenchmarkStart(b *testing.B) {
	path := millionAnswers(b)
	info, err := os.Stat(path)
	require.NoError(b, err)
	for b.Loop() {
		s, err := history.Open(path, nil, nil)
		require.NoError(b, err)
		_, err = s.States(ctx)
		require.NoError(b, err)
		_, err = s.LastTakes(ctx)
		require.NoError(b, err)
		require.NoError(b, s.Close())
	}
	b.ReportMetric(float64(info.Size())/1e6, "MB")
}

// BenchmarkReview makes every table of the million, all five years and the
// latest 100 days. Budget: 200 ms.
func BenchmarkReview(b *testing.B) {
	s := open(b, millionAnswers(b))
	for _, since := range []memory.Day{0, today - 100} {
		b.Run(fmt.Sprintf("since %s", since), func(b *testing.B) {
			for b.Loop() {
				r, err := s.Look(ctx, since, today)
				require.NoError(b, err)
				require.NotEmpty(b, progress.Look(r).Tables())
			}
		})
	}
}

// BenchmarkNextQuestion chooses the next question with the million's states.
// Budget: 2 ms.
func BenchmarkNextQuestion(b *testing.B) {
	s := open(b, millionAnswers(b))
	states, err := s.States(ctx)
	require.NoError(b, err)
	var pool []memory.Item
	for it := range states {
		pool = append(pool, it)
	}
	chance := rand.New(rand.NewPCG(1, 2))
	deck := memory.NewDeck(pool, states, today, memory.Limits{})
	for b.Loop() {
		deck.Answered(pool[deck.Next(chance)], memory.Sure, memory.Good, time.Second)
	}
	b.ReportMetric(float64(len(pool)), "items")
}

// BenchmarkAppend keeps an answer in the million, which is on the disk when it
// returns.
func BenchmarkAppend(b *testing.B) {
	s := open(b, millionAnswers(b))
	p := newPlayer(7)
	p.at = start.AddDate(5, 0, 1)
	sit, err := s.Begin(ctx, history.Sitting{Began: p.at})
	require.NoError(b, err)
	p.sitting = sit.ID
	for b.Loop() {
		_, err := s.Append(ctx, p.answer())
		require.NoError(b, err)
	}
}

// BenchmarkExport writes the million as JSON.
func BenchmarkExport(b *testing.B) {
	s := open(b, millionAnswers(b))
	for b.Loop() {
		require.NoError(b, s.ExportJSON(ctx, io.Discard))
	}
}

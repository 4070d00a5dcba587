package memory_test

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
)

var simPool = func() []memory.Item {
	pool := make([]memory.Item, len(simItems))
	for i, it := range simItems {
		kind := memory.Name
		if it.find {
			kind = memory.Find
		}
		pool[i] = memory.Item{Kind: kind, Quality: it.quality, Degree: it.degree, Root: it.root, String: it.str}
	}
	return pool
}()

// foreseen sums how well answers were foretold, as log losses: by the item alone (FSRS,
// and for one never met the share of first answers right), and by the estimate.
type foreseen struct{ answers, byItem, byAll float64 }

// ours asks what the deck asks, with an estimate that was told every answer.
func ours(seed uint64, pool []memory.Item, f *foreseen) policy {
	chance := rand.New(rand.NewPCG(seed, 1))
	states := map[memory.Item]memory.State{}
	estimate := memory.NewEstimate()
	var pace memory.Pace
	return func(day int) (func() int, func(int, bool, float64)) {
		today := memory.Day(20000 + day)
		deck := memory.NewDeck(pool, states, today, memory.Limits{Parts: estimate})
		return func() int { return deck.Next(chance) }, func(item int, right bool, seconds float64) {
			it := pool[item]
			byItem, byAll := memory.Foretold(estimate, it, today)
			if !right {
				byItem, byAll = 1-byItem, 1-byAll
			}
			f.answers++
			f.byItem -= math.Log(byItem)
			f.byAll -= math.Log(byAll)
			took := time.Duration(seconds * float64(time.Second))
			v := pace.Verdict(right, took)
			g := pace.Grade(v, took)
			pace = pace.With(v, took)
			states[it] = states[it].After(today, g)
			estimate.Answered(it, today, g)
			deck.Answered(it, v, g, took)
		}
	}
}

// firstBuilt are the first build's figures for a seed, as testdata/firstbuild/measure.sh
// printed them: items known under each truth, and answers until 90 % of the find items
// were known, 0 where that was not measured.
type firstBuilt struct {
	known   [3]float64
	answers float64
}

func firstFigures(t testing.TB) []firstBuilt {
	file, err := os.Open("testdata/firstbuild/figures.txt")
	require.NoError(t, err)
	defer file.Close()
	var all []firstBuilt
	for lines := bufio.NewScanner(file); lines.Scan(); {
		var seed int
		var f firstBuilt
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		_, err := fmt.Sscan(lines.Text(), &seed, &f.known[0], &f.known[1], &f.known[2], &f.answers)
		require.NoError(t, err, lines.Text())
		require.Equal(t, len(all), seed, "the seeds follow each other")
		all = append(all, f)
	}
	return all
}

// run is what came of one learner of a truth.
type run struct {
	ours, random, blocks, first float64
	// loss is how far the estimate's log loss lies over that of the item alone, 1 for the same.
	loss float64
	// answers and firstAnswers are those until 90 % of the find items were known, 0 where that
	// was not measured.
	answers, firstAnswers float64
}

func simulate(which int, seed uint64, first firstBuilt, finds bool) run {
	t := truths[which]
	practised := func(p policy) float64 {
		l := newLearner(t, seed)
		l.practise(p, simDays, nil)
		known, _ := l.known(simDays - 1)
		return float64(known)
	}
	var f foreseen
	r := run{ours: practised(ours(seed, simPool, &f)), random: practised(randomOrder(seed)), blocks: practised(blocks(seed)), first: first.known[which]}
	r.loss = f.byAll / f.byItem
	if finds && t.parts && first.answers > 0 {
		r.answers = float64(newLearner(t, seed).knowsAllFinds(ours(seed, simPool[:len(simPool)/2], &f), 150))
		r.firstAnswers = first.answers
	}
	return r
}

// simulateAll runs so many learners of a truth on two processors.
func simulateAll(t testing.TB, which, runs, finds int) []run {
	first := firstFigures(t)
	require.GreaterOrEqual(t, len(first), runs, "figures of the first build")
	all := make([]run, runs)
	var wait sync.WaitGroup
	for half := range 2 {
		wait.Go(func() {
			for seed := half; seed < runs; seed += 2 {
				all[seed] = simulate(which, uint64(seed), first[seed], seed < finds)
			}
		})
	}
	wait.Wait()
	return all
}

// of is the mean of a figure, its standard deviation over the learners, and the half
// width of the mean's 95 % interval; runs without the figure aside.
func of(all []run, figure func(run) float64) (mean, sd, half float64) {
	var v []float64
	for _, r := range all {
		if x := figure(r); !math.IsNaN(x) {
			v = append(v, x)
			mean += x
		}
	}
	n := float64(len(v))
	mean /= n
	for _, x := range v {
		sd += (x - mean) * (x - mean)
	}
	sd = math.Sqrt(sd / (n - 1))
	return mean, sd, 1.96 * sd / math.Sqrt(n)
}

// What the figures are held to.
var figures = []struct {
	name  string
	of    func(run) float64
	least float64 // 0 for none
	most  func(truth) float64
}{
	{name: "items known", of: func(r run) float64 { return r.ours }},
	{name: "  in random order", of: func(r run) float64 { return r.random }},
	{name: "  in blocks", of: func(r run) float64 { return r.blocks }},
	{name: "  by the first build", of: func(r run) float64 { return r.first }},
	{name: "times random order", of: func(r run) float64 { return r.ours / max(1, r.random) }, least: 1.5},
	{name: "times blocks", of: func(r run) float64 { return r.ours / max(1, r.blocks) }, least: 1.5},
	{name: "times the first build", of: func(r run) float64 { return r.ours / max(1, r.first) }, least: 1.1},
	{name: "log loss to the item's", of: func(r run) float64 { return r.loss }, most: func(t truth) float64 {
		if t.parts {
			return 0.90
		}
		return 1.02
	}},
	{name: "answers to 90 % of finds", of: func(r run) float64 { return r.answers / (r.answers / r.answers) }},
	{name: "  by the first build", of: func(r run) float64 { return r.firstAnswers / (r.firstAnswers / r.firstAnswers) }},
	{name: "  share of the first build's", of: func(r run) float64 { return r.answers / r.firstAnswers }},
}

// TestSimulatedLearners holds a few learners of each truth to what
// BenchmarkSimulatedLearners measures over 500: none of its bounds lies outside what the
// mean of so few leaves open.
func TestSimulatedLearners(t *testing.T) {
	if testing.Short() {
		t.Skip("learners of three truths practise for 30 days each, three ways")
	}
	for which, tr := range truths {
		all := simulateAll(t, which, 5, 0)
		for _, f := range figures {
			mean, _, half := of(all, f.of)
			if f.least > 0 {
				assert.GreaterOrEqual(t, mean+half, f.least, "%s: %s ± %.2f", tr.name, f.name, half)
			}
			if f.most != nil {
				assert.LessOrEqual(t, mean-half, f.most(tr), "%s: %s ± %.3f", tr.name, f.name, half)
			}
		}
	}
}

// BenchmarkSimulatedLearners prints the table of 500 learners of each truth with spreads,
// the last figures of 100 of them, or of FOOTFALL_TEST_LEARNERS:
// go test -run '^$' -bench SimulatedLearners -benchtime 1x -timeout 2h ./drills/memory
func BenchmarkSimulatedLearners(b *testing.B) {
	runs, err := strconv.Atoi(os.Getenv("FOOTFALL_TEST_LEARNERS"))
	if err != nil {
		runs = 500
	}
	for b.Loop() {
		for which, tr := range truths {
			all := simulateAll(b, which, runs, 100)
			fmt.Printf("\n%s, %d learners: mean ± 95 %% of the mean (standard deviation of learners)\n", tr.name, runs)
			for _, f := range figures {
				if mean, sd, half := of(all, f.of); !math.IsNaN(mean) {
					fmt.Printf("%-30s %9.3f ± %.3f (%.3f)\n", f.name, mean, half, sd)
					if f.least > mean || f.most != nil && f.most(tr) < mean {
						b.Errorf("%s: %s is out of its bound", tr.name, f.name)
					}
				}
			}
			mean, _, _ := of(all, figures[6].of)
			b.ReportMetric(mean, fmt.Sprintf("×first/%d", which+1))
		}
	}
}

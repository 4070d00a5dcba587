package session

import (
	"time"

	"footfall/drills/take"
)

// Sum is what the passes of a play-along came to.
type Sum struct {
	// Passes are those played to their end; of them somebody said a word on Judged, and
	// Clean were clean.
	Passes, Judged, Clean int
	// Slowest and Fastest are the tempos of passes in quarter notes a minute, and
	// FastestClean that of the fastest clean one; 0 where there is none.
	Slowest, Fastest, FastestClean float64
	// Played is how long the passes lasted, without count-ins and rests.
	Played time.Duration
	// Worst are the bars with faults of all passes together, the worst first; empty
	// where nobody listened.
	Worst []take.Tally
}

// Sum sums the passes up.
func (s *PlayAlong) Sum() Sum {
	s.mu.Lock()
	defer s.mu.Unlock()
	sum := sumOf(s.results)
	for _, b := range s.worst {
		if b.Faults() > 0 {
			sum.Worst = append(sum.Worst, b)
		}
	}
	return sum
}

func sumOf(results []Result) Sum {
	sum := Sum{Passes: len(results)}
	for i, r := range results {
		sum.Played += r.Length
		sum.Fastest = max(sum.Fastest, r.Tempo)
		if i == 0 || r.Tempo < sum.Slowest {
			sum.Slowest = r.Tempo
		}
		if r.Judged {
			sum.Judged++
		}
		if r.Judged && r.Clean {
			sum.Clean++
			sum.FastestClean = max(sum.FastestClean, r.Tempo)
		}
	}
	return sum
}

package session

import (
	"fmt"
	"math"
	"strings"
	"time"

	"footfall/drills/take"
	"footfall/harmony"
	"footfall/harmony/tune"
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
	// Heard is set where somebody listened to a pass at least. Worst are then the bars with
	// faults of all passes together, the worst first.
	Heard bool
	Worst []take.Tally
}

// mostWorst is how many of the worst bars a sum names.
const mostWorst = 3

// Lines says the sum in sentences: passes and minutes, what was clean, the worst bars.
func (s Sum) Lines() []string {
	if s.Passes == 0 {
		return []string{"No pass was played to its end."}
	}
	tempo := fmt.Sprintf("at %g BPM", s.Fastest)
	if s.Slowest < s.Fastest {
		tempo = fmt.Sprintf("from %g to %g BPM", s.Slowest, s.Fastest)
	}
	lines := []string{fmt.Sprintf("%s %s, in %s.", harmony.Counted(s.Passes, "pass"), tempo, lasting(s.Played))}
	clean := fmt.Sprintf("%d of %d clean", s.Clean, s.Judged)
	switch {
	case s.Judged == 0:
		clean = "None of them is judged yet"
	case s.Clean > 0 && s.Slowest < s.Fastest:
		clean += fmt.Sprintf(", the fastest at %g BPM", s.FastestClean)
	}
	if left := s.Passes - s.Judged; left > 0 && s.Judged > 0 {
		clean += fmt.Sprintf("; %d not judged yet", left)
	}
	lines = append(lines, clean+".")
	var worst []string
	for _, b := range s.Worst[:min(mostWorst, len(s.Worst))] {
		worst = append(worst, b.Says())
	}
	switch {
	case len(worst) > 0:
		lines = append(lines, "Worst bars: "+strings.Join(worst, ", ")+".")
	case s.Heard:
		lines = append(lines, "No bar had a fault.")
	}
	if advice := s.advice(); advice != "" {
		lines = append(lines, advice)
	}
	return lines
}

// slower is how much slower a passage is begun of which no pass was clean, as a share of the
// slowest. Common practice, no source.
const slower = 0.85

// advice says in a line what to do about passes of which few were clean, "" where more were.
func (s Sum) advice() string {
	switch {
	case s.Judged == 0 || 2*s.Clean >= s.Judged:
		return ""
	case s.Clean == 0:
		return fmt.Sprintf("Next time begin at %g BPM, and loop the bar that trips you first.", max(tune.LowestTempo, math.Round(slower*s.Slowest)))
	}
	return fmt.Sprintf("Stay at %g BPM until it is clean three times running.", s.FastestClean)
}

// lasting says a length in whole minutes, where it is less than one in seconds.
func lasting(d time.Duration) string {
	if d < time.Minute {
		return harmony.Counted(int(d.Round(time.Second)/time.Second), "second")
	}
	return harmony.Counted(int(d.Round(time.Minute)/time.Minute), "minute")
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
		sum.Heard = sum.Heard || r.heard
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

package walk

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// worth counts what makes the lines of one style worth walking.
type worth struct {
	hits, tones      int // notes under a hit, and those that are tones of the chord
	moves, octaves   int
	late             int // moves that no fingers make in time
	bars, same       int // bars of four beats or more, and pairs of them equal under two seeds
	pairs            int
	patterns         map[string]int
	remarks, allBars int
	again            int // bars equal to the one before
}

func (w *worth) commonest() (string, float64) {
	best := ""
	for p, n := range w.patterns {
		if n > w.patterns[best] || n == w.patterns[best] && p < best {
			best = p
		}
	}
	return best, percent(w.patterns[best], w.bars)
}

// lateMoves counts the moves of a line that the hand cannot make in time, at the
// least: a best path over string, fret and finger, by the neck's own distances.
func lateMoves(neck fretboard.Neck, t *tune.Tune, notes []Note, lay *layout) int {
	var before map[int]int // the fewest late moves by position
	for i, n := range notes {
		next := map[int]int{}
		for _, s := range neck.Stances(n.Pitch.MIDI()) {
			if i == 0 {
				next[s.Position] = 0
				continue
			}
			seconds := lay.seconds(lay.Half(notes[i-1].At), lay.Half(n.At))
			for position, count := range before {
				if neck.ShiftMM(position, s.Position) > 20+200*seconds {
					count++
				}
				if least, met := next[s.Position]; !met || count < least {
					next[s.Position] = count
				}
			}
		}
		before = next
	}
	least := len(notes)
	for _, count := range before {
		least = min(least, count)
	}
	return least
}

// barsOf writes the degrees of each bar, without directions.
func barsOf(notes []Note, bars int) []string {
	out := make([][]string, bars)
	for _, n := range notes {
		out[n.At.Bar-1] = append(out[n.At.Bar-1], n.Degree.String())
	}
	var all []string
	for _, b := range out {
		all = append(all, strings.Join(b, " "))
	}
	return all
}

// Lines of every style over the built-in tunes. The bounds are those
// that the styles were asked with.
func TestLinesWorthWalking(t *testing.T) {
	seeds := seedsOf(4)
	neck := fretboard.StandardNeck()
	hand := handOf(neck)
	fitted := hand.within(neck.BassRange().Low, neck.BassRange().High)
	var table strings.Builder
	fmt.Fprintf(&table, "%-14s %8s %8s %6s %8s %8s %8s %10s  %s\n", "style", "hits %", "octave %", "late", "equal %", "again %", "bar %", "remarks", "commonest")
	for style := range Style(len(styles)) {
		w := worth{patterns: map[string]int{}}
		for i, name := range content.TuneNames() {
			tn, _ := content.Tune(name)
			for _, up := range keysOf(i, 4) {
				moved, _, err := tn.Transpose(tn.Key.Up(up), neck.HighestFret)
				require.NoError(t, err)
				var before []string
				for n := range seeds {
					seed := uint64(12*i+up)*seeds + n // others for each tune and key
					l, err := Compose(moved, Options{Range: neck.BassRange(), Seed: seed, Hand: hand, Style: style})
					require.NoError(t, err)
					w.add(neck, moved, l)
					h := hear(moved, l.bars, lineNotes(l), fitted)
					for _, f := range h.judge() {
						require.False(t, f.rule.Grave, "%s %s in %s seed %d bar %d: %s", style, name, moved.Key, seed, h.At(f.at).Bar, f.says)
						if !f.rule.Good {
							w.remarks++
						}
					}
					if tn.Meter.Beats() < 4 {
						continue
					}
					bars := barsOf(l.Notes, len(l.bars))
					for i, b := range bars {
						w.bars++
						w.patterns[b]++
						if i > 0 && b == bars[i-1] {
							w.again++
						}
						if before != nil {
							w.pairs++
							if b == before[i] {
								w.same++
							}
						}
					}
					before = bars
				}
			}
		}
		pattern, share := w.commonest()
		fmt.Fprintf(&table, "%-14s %8.1f %8.2f %6d %8.1f %8.1f %8.1f %10.2f  %s\n", style, percent(w.tones, w.hits), percent(w.octaves, w.moves), w.late,
			percent(w.same, w.pairs), percent(w.again, w.bars), share, float64(w.remarks)/float64(w.allBars), pattern)
		if testing.Verbose() {
			type bar struct {
				n int
				b string
			}
			var most []bar
			for b, n := range w.patterns {
				most = append(most, bar{n, b})
			}
			slices.SortFunc(most, func(a, b bar) int { return b.n - a.n })
			for _, m := range most[:min(6, len(most))] {
				fmt.Fprintf(&table, "      %5.2f  %s\n", percent(m.n, w.bars), m.b)
			}
		}
		assert.GreaterOrEqual(t, percent(w.tones, w.hits), 97.0, style.String())
		if style != Pedal {
			assert.Less(t, percent(w.octaves, w.moves), 0.5, style.String())
		}
		assert.Zero(t, w.late, style.String())
		if style.quarter() {
			assert.LessOrEqual(t, share, 4.0, "%s: %s", style, pattern)
			assert.Less(t, percent(w.same, w.pairs), 100.0/3, style.String())
		}
	}
	t.Logf("%d seeds:\n%s", seeds, table.String())
}

func (w *worth) add(neck fretboard.Neck, t *tune.Tune, l *Line) {
	struck := strikes(&l.lay, true)
	w.allBars += len(l.bars)
	for i, n := range l.Notes {
		start := l.lay.Half(n.At)
		for at := start; at < start+n.Halves; at++ {
			if !struck[at] {
				continue
			}
			w.hits++
			c, _ := l.lay.chordAt(at)
			if tonesOf(c)[n.Pitch.Semitone()] {
				w.tones++
			}
		}
		if i > 0 {
			w.moves++
			if abs(n.Pitch.MIDI()-l.Notes[i-1].Pitch.MIDI()) >= 12 {
				w.octaves++
			}
		}
	}
	w.late += lateMoves(neck, t, l.Notes, &l.lay)
}

package play

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/theme"
	"footfall/trainer/sound"
)

// terminals are the sizes of terminals at which the page is tried, without the four rows
// that the frame takes.
var terminals = [][2]int{{80, 24 - 4}, {120, 40 - 4}, {200, 60 - 4}, {60, 20 - 4}}

// titled finds the titles of the bars that a view shows: a section's name and the
// number in the form.
var titled = regexp.MustCompile(`(?:^|[│|] |  )(?:[›>] |then )?([A-Z][A-Za-z]*) (\d+)(?:,| |$)`)

// barsSeen lists the numbers of the bars whose title and chords a view shows.
func barsSeen(view string) map[string]int {
	seen := map[string]int{}
	for line := range strings.SplitSeq(view, "\n") {
		for _, m := range titled.FindAllStringSubmatch(line, -1) {
			seen[m[1]+" "+m[2]]++
		}
	}
	return seen
}

// At every beat and offbeat of a pass, over all of three tunes and in loops of them, at
// each size, the present bar and the one after it are to be seen, after the last the
// first, each once, and the present beat among them, with a rest between passes and
// without.
func TestTheComingBarIsAlwaysSeen(t *testing.T) {
	racetest.Alone(t)
	for _, name := range []string{"lantern-street", "seven-crates", "tin-kettle-blues"} { // 32 bars; 7/4; 12 bars
		p := pageOf(t, name, "100:120+4", fretboard.StandardNeck())
		loops := []take.Bars{{First: 1, Last: len(p.form)}, {First: 3, Last: 7}, {First: 2, Last: 3}, {First: 4, Last: 4}}
		for _, loop := range loops {
			p.along.SetLoop(loop)
			for _, size := range terminals {
				p.SetSize(size[0], size[1])
				for pass := 1; pass <= 2; pass++ {
					p.along.SetRest(pass == 1) // without one the places go on through the passes
					for bar := loop.First; bar <= loop.Last; bar++ {
						halves := 2 * p.form[bar-1].Meter.Beats()
						if pass > 1 { // where in the bar it is changes no bar that is shown
							halves = 1
						}
						for half := range halves {
							beat, off := half/2+1, half%2 == 1
							at := shown{state: sound.Playing, pass: pass, bar: bar, beat: beat, off: off}
							view := p.draw(sound.Now{State: at.state, Point: harmony.Point{Bar: bar, Beat: beat}}, at)
							seen := barsSeen(view)
							next := bar + 1
							if bar == loop.Last {
								next = loop.First
							}
							where := fmt.Sprintf("%s %v, pass %d, bar %d, beat %d of %v:\n%s", name, size, pass, bar, beat, loop, view)
							for _, n := range []int{bar, next} {
								title := fmt.Sprintf("%s %d", p.form[n-1].Section, n)
								require.Equal(t, 1, seen[title], "%s in %s", title, where)
							}
							mark := fmt.Sprintf("[%d]", beat)
							if off {
								mark = "[+]"
							}
							require.Equal(t, 1, strings.Count(view, mark), "%s in %s", mark, where)
							require.LessOrEqual(t, lipgloss.Width(view), size[0], where)
							require.LessOrEqual(t, lipgloss.Height(view), size[1], where)
						}
					}
				}
			}
		}
	}
}

// A bar keeps its place while it is to be seen: from one bar to the next no more than one
// gives its place to another, two where a line is over, in the middle of a pass as from one
// pass to the next.
func TestBarsKeepTheirPlaces(t *testing.T) {
	tn, ok := content.Tune("tin-kettle-blues")
	require.True(t, ok)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	th := theme.New(lipgloss.NewRenderer(nil), false)
	for _, size := range terminals {
		for _, rows := range []int{6, 13} {
			var before []string
			for pass := 1; pass <= 3; pass++ {
				for bar := 1; bar <= 12; bar++ {
					c := bars.Chart{Arrangement: a, Form: tn.Unroll(), First: 1, Last: 12, Width: size[0], Height: rows, At: tune.Position{Bar: bar, Beat: 1}, Pass: pass}
					var titles []string
					for _, l := range bars.Roll(th, c) {
						for _, m := range titled.FindAllStringSubmatch(l, -1) {
							titles = append(titles, m[1]+" "+m[2])
						}
					}
					moved := 0
					for i := range before {
						if titles[i] != before[i] {
							moved++
							require.NotContains(t, titles, before[i], "%v %v", before, titles)
						}
					}
					require.LessOrEqual(t, moved, 2, "%v %v", before, titles)
					before = titles
				}
			}
		}
	}
}

package play

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

func newPage(t testing.TB, plan string) *Page {
	return pageOf(t, "tin-kettle-blues", plan, fretboard.StandardNeck())
}

func pageOf(t testing.TB, name, plan string, n fretboard.Neck) *Page {
	t.Helper()
	tn, ok := content.Tune(name)
	require.True(t, ok)
	d := &session.Desk{Neck: n, Hand: fretboard.DefaultHand(), Now: time.Now, Sounding: session.Sounding{
		Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
	}}
	s, err := d.PlayAlong(session.Passage{Tune: session.Tune{Name: name, Tune: tn}, Ramp: plan})
	require.NoError(t, err)
	t.Cleanup(s.Close)
	lr := lipgloss.NewRenderer(io.Discard)
	lr.SetColorProfile(termenv.Ascii)
	p := New(theme.New(lr, false), n, s)
	p.SetSize(80, 20)
	return p
}

var named = map[string]tea.KeyType{" ": tea.KeySpace, "enter": tea.KeyEnter, "up": tea.KeyUp, "down": tea.KeyDown, "left": tea.KeyLeft, "right": tea.KeyRight}

func press(p *Page, keys ...string) {
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		if t, ok := named[k]; ok {
			msg.Type = t
		}
		p.Update(msg)
	}
}

func TestViewAtRest(t *testing.T) {
	p := newPage(t, "100:120+4")
	golden.RequireEqual(t, []byte(p.View()))
}

func TestViewOnAWideTerminal(t *testing.T) {
	p := newPage(t, "100:120+4")
	p.SetSize(200, 56)
	golden.RequireEqual(t, []byte(p.View()))
}

// The page in the middle of a pass, the choice of what is played, and the sum, at the
// sizes of the smallest terminal and of one with panes.
func TestViewsInEachState(t *testing.T) {
	for _, size := range [][2]int{{60, 16}, {120, 36}} {
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			p := pageOf(t, "lantern-street", "84:104+4", fretboard.StandardNeck())
			p.SetSize(size[0], size[1])
			var b strings.Builder
			at := shown{state: sound.Playing, pass: 1, bar: 6, beat: 3}
			fmt.Fprintf(&b, "== playing\n%s\n", p.draw(sound.Now{State: at.state, Point: harmony.Point{Bar: 6, Beat: 3}}, at))
			press(p, ",", "down", "down")
			fmt.Fprintf(&b, "== choosing\n%s\n", ansi.Strip(p.View()))
			press(p, "enter")
			p.ending = &ending{}
			fmt.Fprintf(&b, "== the sum of no pass\n%s\n", p.View())
			golden.RequireEqual(t, []byte(b.String()))
		})
	}
}

func TestEveryLineFitsTheTerminal(t *testing.T) {
	p := newPage(t, "100")
	for _, width := range []int{80, 120, 200} {
		p.SetSize(width, 20)
		lines := strings.Split(p.View(), "\n")
		assert.LessOrEqual(t, len(lines), 20)
		for _, l := range lines {
			assert.LessOrEqual(t, lipgloss.Width(l), width, l)
		}
	}
}

func TestKeysChangeWhatIsPlayed(t *testing.T) {
	p := newPage(t, "100")
	press(p, "g")
	assert.Equal(t, fretboard.Bass, p.along.Arrangement().Layer, "after the last layer comes the first")
	press(p, "+", "+", "-")
	assert.Equal(t, 102.0, p.along.Tempo())
	assert.Contains(t, p.View(), "hi-hat", "what keeps time above 100")
	press(p, "H")
	assert.Contains(t, p.View(), "click and bass")
	press(p, "c")
	assert.Contains(t, p.View(), "click on 2 and 4")
	press(p, "]")
	assert.Equal(t, take.Bars{First: 1, Last: 1}, p.along.Bars())
	press(p, "0")
	assert.Equal(t, take.Bars{First: 1, Last: 12}, p.along.Bars())
}

func TestThePresentBeatShowsWithoutColour(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPage(t, "300")
		press(p, " ")
		sees := func(what ...string) {
			t.Helper()
			for late := time.After(10 * time.Second); ; {
				select {
				case <-p.along.Events():
					p.Update(Told{p.along})
				case <-late:
					t.Fatalf("%v is never seen", what)
				}
				for _, w := range what {
					if strings.Contains(p.View(), w) {
						return
					}
				}
			}
		}
		sees("[2]", "[+]")
		press(p, " ")
		sees("paused")
	})
}

// At every beat of a few tunes, on six strings and eight, in a count-in and
// with a long notice, the page draws no more than there is room for.
func TestEveryMomentFits(t *testing.T) {
	racetest.Alone(t)
	eight := fretboard.Neck{Tuning: fretboard.Tuning{30, 35, 40, 45, 50, 55, 59, 64}, ScaleMM: 690, HighestFret: 15, BassStrings: []int{6, 5}, LeftHanded: true}
	notice := strings.Repeat("something that went wrong ", 5)
	names := []string{"seven-crates", "slow-tap-dripping", "lantern-street"} // 7/4, 12/8, 32 bars
	for _, n := range []fretboard.Neck{fretboard.StandardNeck(), eight} {
		for _, name := range names {
			p := pageOf(t, name, "100:120+4", n)
			for _, size := range [][2]int{{80, 20}, {120, 36}, {200, 56}} {
				p.SetSize(size[0], size[1])
				var moments []shown
				for _, e := range p.along.Arrangement().Events {
					moments = append(moments, shown{state: sound.Playing, pass: 1, bar: e.At.Bar, beat: e.At.Beat, off: e.At.Off})
				}
				moments = append(moments, shown{state: sound.Counting, beat: 2}, shown{state: sound.Paused, notice: notice})
				for _, at := range moments {
					view := p.draw(sound.Now{State: at.state, Point: harmony.Point{Bar: at.bar, Beat: at.beat}}, at)
					require.LessOrEqual(t, lipgloss.Width(view), size[0], "%s %+v\n%s", name, at, view)
					require.LessOrEqual(t, lipgloss.Height(view), size[1], "%s %+v\n%s", name, at, view)
					if at.state == sound.Playing {
						mark := fmt.Sprintf("[%d]", at.beat)
						if at.off {
							mark = "[+]"
						}
						require.Contains(t, view, mark, "%s %+v", name, at)
					}
				}
			}
		}
	}
}

// What is played is chosen on the page: section, bars, layer, shapes, the ramp and the
// rest, with the music going on.
func TestChoosingWhatIsPlayed(t *testing.T) {
	p := newPage(t, "100")
	press(p, ",", "right")
	parts := p.along.Parts()
	require.Equal(t, parts[0].Bars, p.along.Bars())
	assert.Contains(t, p.View(), fmt.Sprintf("Section    A, bars 1 to %d", parts[0].Bars.Last))
	press(p, "down", "right", "down", "left")
	assert.Equal(t, take.Bars{First: 2, Last: parts[0].Bars.Last - 1}, p.along.Bars())
	press(p, "down", "left")
	assert.Equal(t, fretboard.BassChanges, p.along.Arrangement().Layer)
	press(p, "right", "right")
	assert.True(t, p.along.Free())
	press(p, "right", "down", "right")
	assert.False(t, p.along.Free())
	assert.Equal(t, fretboard.Bass, p.along.Arrangement().Layer)
	assert.Equal(t, fretboard.Shells, p.along.Arrangement().School)
	press(p, "down", "left", "left", "down", "right", "down", "left", "down", "right")
	assert.Equal(t, "96:102+3,ladder1", p.along.Progress().Ramp.String())
	press(p, "right", "right")
	assert.Contains(t, p.View(), "after 3 clean passes")
	assert.Equal(t, "96:102+3,ladder3", p.along.Progress().Ramp.String())
	press(p, "down", "right")
	assert.False(t, p.along.Rests())
	press(p, "enter")
	assert.Contains(t, p.View(), "A, bars 2 to 3"[3:])
	for _, size := range terminals {
		p.SetSize(size[0], size[1])
		press(p, ",")
		for range len(choices) {
			press(p, "down")
			assert.Contains(t, p.View(), choices[p.setUp.at].name)
			assert.LessOrEqual(t, lipgloss.Height(p.View()), size[1])
			assert.LessOrEqual(t, lipgloss.Width(p.View()), size[0])
		}
		press(p, "enter")
	}
}

// Passes are judged by a key in the rest, or later: the last that has no word, the last
// three, or any of them in the sum that esc shows.
func TestAWordOnPassesAndTheirSum(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPage(t, "300")
		p.along.SetLoop(take.Bars{First: 2, Last: 2})
		press(p, " ")
		played := func(n int) {
			t.Helper()
			for e := range p.along.Events() {
				p.Update(Told{p.along})
				if pass, ok := e.(session.Pass); ok && pass.N == n {
					return
				}
			}
		}
		played(1)
		for !p.along.Resting() {
			time.Sleep(time.Millisecond)
		}
		assert.Contains(t, p.View(), "Pass 1, bar 2 at 300 BPM. Clean? y/n")
		press(p, "y")
		assert.NotContains(t, p.View(), "Clean?")
		played(4)
		assert.Contains(t, p.View(), "Not judged yet: 3 passes. y or n for the last one, 3 y for the last 3")
		press(p, "n", "5")
		assert.Zero(t, p.along.Results()[3].Bar, "the pass has no such bar")
		press(p, "2")
		assert.Equal(t, 2, p.along.Results()[3].Bar)
		assert.Contains(t, p.View(), "Pass 4 not clean: bar 2")
		press(p, "y")
		press(p, "3")
		assert.Contains(t, p.View(), "The last 3 passes: y clean, n not clean")
		press(p, "n")
		assert.Empty(t, p.along.Unsaid())
		used, _ := p.Step()
		require.True(t, used)
		assert.False(t, p.along.Running())
		assert.Contains(t, p.View(), "4 passes at 300 BPM, in 3 seconds.")
		assert.Contains(t, p.View(), "1 of 4 clean.")
		press(p, "y", "y", "n")
		words := func() (clean []bool) {
			for _, r := range p.along.Results() {
				clean = append(clean, r.Clean)
			}
			return clean
		}
		assert.Equal(t, []bool{true, false, true, true}, words())
		press(p, "n")
		assert.Equal(t, []bool{false, false, true, true}, words())
		press(p, "enter")
		assert.Nil(t, p.ending)
		p.Step()
		used, _ = p.Step()
		assert.False(t, used, "esc on the sum leaves the page")
	})
}

func TestMutesComeRound(t *testing.T) {
	m := sound.DefaultMix
	for i := range heardNames {
		assert.Equal(t, i, heardOf(m))
		m = nextHeard(m)
	}
	assert.Equal(t, 0, heardOf(m))
}

// A take with known offsets, as the review draws it.
func TestReviewPlotsOffsetsAndLoopsTheWorst(t *testing.T) {
	p := newPage(t, "112")
	a := p.along.Arrangement()
	line, err := a.Tune.Placed(1, 112)
	require.NoError(t, err)
	expected := take.Expect(a, line, take.Bars{})
	var played []take.Played
	for i, e := range expected {
		if e.At.Bar == 6 {
			continue // the bar that was not played
		}
		for _, n := range e.Notes {
			played = append(played, take.Played{Time: e.Time + time.Duration(i%5-2)*10*time.Millisecond, MIDI: n.MIDI})
		}
	}
	p.review = newReview(p.theme, take.Grade(expected, take.Heard{Notes: played}, take.DefaultSettings()))
	p.stale = true
	golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
	press(p, "b")
	assert.Equal(t, take.Bars{First: 6, Last: 6}, p.along.Bars())
	assert.Nil(t, p.review)
}

// The worst bars are those around the worst one that went as badly, not all from
// the first to the last of them.
func TestWorstBarsAreARun(t *testing.T) {
	p := newPage(t, "112")
	line, err := p.along.Arrangement().Tune.Placed(1, 112)
	require.NoError(t, err)
	expected := take.Expect(p.along.Arrangement(), line, take.Bars{})
	var played []take.Played
	missed := map[int]int{}
	for _, e := range expected {
		if b := e.At.Bar; (b == 5 || b == 6 || b == 11) && missed[b] < 2 {
			missed[b]++
			continue
		}
		for _, n := range e.Notes {
			played = append(played, take.Played{Time: e.Time, MIDI: n.MIDI})
		}
	}
	r := newReview(p.theme, take.Grade(expected, take.Heard{Notes: played}, take.DefaultSettings()))
	require.Equal(t, 5, r.bars[0].Bar)
	assert.Equal(t, take.Bars{First: 5, Last: 6}, take.WorstRun(r.bars))
	for width := 80; width <= 200; width += 40 {
		for l := range strings.SplitSeq(r.view(width, 20), "\n") {
			assert.LessOrEqual(t, lipgloss.Width(l), width, l)
		}
	}
}

// Budget: key to frame while playing, p99 under 16 ms.
func BenchmarkKeyToFrame(b *testing.B) {
	p := newPage(b, "300")
	press(p, " ")
	for b.Loop() {
		press(p, "H")
		_ = p.View()
	}
}

// While nothing plays the arrow keys choose the bar from which, and to which, the loop is set.
func TestTheArrowKeysChooseABarAtRest(t *testing.T) {
	p := newPage(t, "100")
	rest := p.View()
	press(p, "left")
	assert.Contains(t, p.View(), "at bar 1", "before the first there is none")
	press(p, "right", "right", "right")
	assert.Contains(t, p.View(), "at bar 4")
	assert.Contains(t, p.View(), "[1]", "its first beat is picked out")
	press(p, "[", "right", "right", "]")
	assert.Equal(t, take.Bars{First: 4, Last: 6}, p.along.Bars())
	press(p, "right")
	assert.Contains(t, p.View(), "at bar 6", "after the last of the loop there is none")
	press(p, "0")
	assert.Equal(t, take.Bars{First: 1, Last: 12}, p.along.Bars())
	p.bar, p.stale = 0, true
	assert.Equal(t, rest, p.View())
	synctest.Test(t, func(t *testing.T) {
		p := newPage(t, "100")
		press(p, "right", " ", "right")
		assert.Zero(t, p.bar, "while it plays there is none to choose")
		press(p, " ", "right")
		assert.Equal(t, 2, p.bar)
	})
}

// The number of a bar is typed in the set-up, and only where a bar is chosen.
func TestTheNumberOfABarIsTyped(t *testing.T) {
	for _, c := range []struct {
		keys string
		want take.Bars
	}{
		{"down 5", take.Bars{First: 5, Last: 12}},
		{"down 1 1", take.Bars{First: 11, Last: 12}},
		{"down 3 down 1 0", take.Bars{First: 3, Last: 10}}, // 1 on the way takes nothing of it away
		{"down down 7", take.Bars{First: 1, Last: 7}},
		{"down down 7 9", take.Bars{First: 1, Last: 9}}, // there is no bar 79
		{"down down 4 up 8", take.Bars{First: 8, Last: 8}},
		{"down down 0 5", take.Bars{First: 1, Last: 5}},
		{"down down 0", take.Bars{First: 1, Last: 12}},
		{"down down 5 left 1", take.Bars{First: 1, Last: 1}},
		{"5", take.Bars{First: 1, Last: 12}},
	} {
		p := newPage(t, "100")
		press(p, append([]string{","}, strings.Fields(c.keys)...)...)
		assert.Equal(t, c.want, p.along.Bars(), c.keys)
	}
}

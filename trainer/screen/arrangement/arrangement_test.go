package arrangement

import (
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/trainer/screen/theme"
)

func newPage(t testing.TB, name string) *Page {
	t.Helper()
	tn, ok := content.Tune(name)
	require.True(t, ok)
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	p := New(theme.New(r, false), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Mixed, tn, Doors{})
	p.SetSize(80, 20)
	return p
}

func press(p *Page, keys ...string) {
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		switch k {
		case "enter":
			msg = tea.KeyMsg{Type: tea.KeyEnter}
		case "home":
			msg = tea.KeyMsg{Type: tea.KeyHome}
		case "right":
			msg = tea.KeyMsg{Type: tea.KeyRight}
		case "left":
			msg = tea.KeyMsg{Type: tea.KeyLeft}
		case "up":
			msg = tea.KeyMsg{Type: tea.KeyUp}
		case "down":
			msg = tea.KeyMsg{Type: tea.KeyDown}
		case "tab":
			msg = tea.KeyMsg{Type: tea.KeyTab}
		case "shift+tab":
			msg = tea.KeyMsg{Type: tea.KeyShiftTab}
		}
		p.Update(msg)
	}
}

func TestViews(t *testing.T) {
	for name, keys := range map[string][]string{
		"first beat":           nil,
		"second bar":           {"tab"},
		"middle of a bar":      {"tab", "right", "right"},
		"bass alone":           {"g"},
		"three semitones down": {"<", "<", "<"},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPage(t, "tin-kettle-blues")
			press(p, keys...)
			golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
		})
	}
}

func TestWideView(t *testing.T) {
	p := newPage(t, "third-floor-waltz")
	p.SetSize(200, 56)
	golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
}

func TestTwelveSemitonesComeRound(t *testing.T) {
	p := newPage(t, "tin-kettle-blues")
	first := p.View()
	for range 12 {
		press(p, ">")
		require.NoError(t, p.fault)
	}
	assert.Equal(t, first, p.View())
}

func TestWalkingThroughEveryMomentAndBack(t *testing.T) {
	for _, name := range content.TuneNames() {
		p := newPage(t, name)
		first := p.View()
		for range len(p.moments) + 3 {
			press(p, "right")
			lines := strings.Split(p.View(), "\n")
			require.LessOrEqual(t, len(lines), 20, name)
			for _, l := range lines {
				require.LessOrEqual(t, lipgloss.Width(l), 80, l)
			}
		}
		assert.Equal(t, len(p.moments)-1, p.at)
		for range len(p.bars) {
			press(p, "shift+tab")
		}
		assert.Equal(t, first, p.View())
	}
}

// The arrow keys move as the picture is laid out: left and right along the line of bars, up
// and down to the line above and below, in the same column.
func TestTheArrowKeysMoveAsTheBarsAreDrawn(t *testing.T) {
	p := newPage(t, "lantern-street")
	p.SetSize(120, 44)
	spot := func() (x, y int) {
		for y, line := range strings.Split(ansi.Strip(p.View()), "\n") {
			if at := strings.Index(line, "["); at >= 0 {
				return at, y
			}
		}
		t.Fatal("no beat is picked out")
		return 0, 0
	}
	x, y := spot()
	press(p, "right")
	right, same := spot()
	assert.Greater(t, right, x)
	assert.Equal(t, y, same)
	press(p, "down")
	under, below := spot()
	assert.Equal(t, right, under, "in the same column")
	assert.Greater(t, below, y)
	press(p, "up")
	back, up := spot()
	assert.Equal(t, [2]int{right, y}, [2]int{back, up})
	before := p.at
	press(p, "up")
	assert.Equal(t, before, p.at, "above the first line there is none")
	press(p, "left")
	first, _ := spot()
	assert.Equal(t, x, first)
	for range 40 {
		press(p, "down")
	}
	assert.Greater(t, p.moments[p.at].at.Bar, len(p.bars)-4, "in the last line of bars")
}

func TestATuneThatCannotBePlayedSaysWhere(t *testing.T) {
	tn, faults := tune.Read("tune High\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | C |\nbass | 1 /3 /5 /3 |\n")
	require.Empty(t, faults)
	r := lipgloss.NewRenderer(io.Discard)
	p := New(theme.New(r, false), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Mixed, tn, Doors{})
	p.SetSize(80, 20)
	assert.Contains(t, p.View(), "bar 1")
	press(p, "right", "down", "g", ">", "home")
	assert.NotEmpty(t, p.View())
}

// Budget: key to frame p99 under 16 ms.
func BenchmarkKeyToFrame(b *testing.B) {
	p := newPage(b, "tin-kettle-blues")
	for i := 0; b.Loop(); i++ {
		press(p, []string{"tab", "shift+tab"}[i%2])
		_ = p.View()
	}
}

// pinned is a page whose pins are kept in a tune of its own.
func pinned(t testing.TB, name string) *Page {
	p := newPage(t, name)
	now := p.written
	p.doors = Doors{Tune: func() *tune.Tune { return now }, Pin: func(section string, bar, beat int, frets string) (func() error, error) {
		doc, faults := edit.Open(tune.Write(now))
		require.Empty(t, faults)
		at := edit.Place{Bar: bar - 1, Beat: beat - 1, Row: tune.ShapesRow}
		for doc.Tune().Sections[at.Section].Name != section {
			at.Section++
		}
		doc.GoTo(at)
		require.NoError(t, doc.Set(frets))
		before := now
		now = doc.Tune()
		return func() error {
			now = before
			return nil
		}, nil
	}}
	return p
}

// A pin says which other beats it moves, and those alone: of every shape that can be chosen
// in two tunes, one of which comes back to its first section.
func TestAPinSaysWhatElseItMoves(t *testing.T) {
	moves, none, more := 0, 0, 0
	for _, name := range []string{"tin-kettle-blues", "lantern-street"} {
		p := pinned(t, name)
		played := func(a *fretboard.Arrangement) map[string]string {
			beats := map[string]string{}
			for _, e := range a.Events {
				beats[fmt.Sprintf("bar %d beat %d", e.At.Bar, e.At.Beat)] += fmt.Sprint(e.Kind, e.At.Off, e.Place, e.Frets)
			}
			return beats
		}
		for p.at = range p.moments {
			i := p.hit()
			if i < 0 || len(p.a.Choices(i)) < 2 {
				continue
			}
			before, e := played(p.a), p.a.Events[i]
			press(p, "z", "enter")
			require.Contains(t, p.said, "Pinned ")
			_, says, _ := strings.Cut(p.said, "This also moves ")
			var want []string
			for beat, plays := range played(p.a) {
				var bar, on int
				fmt.Sscanf(beat, "bar %d beat %d", &bar, &on)
				its := p.bars[bar-1].Section == e.Section && p.bars[bar-1].SectionBar == e.SectionBar && on == e.At.Beat
				if plays != before[beat] && !its {
					want = append(want, beat)
				}
			}
			named := regexp.MustCompile(`bar \d+ beat \d+`).FindAllString(says, -1)
			assert.Subset(t, want, named, p.said)
			assert.Len(t, named, min(len(want), mostMoved), p.said)
			switch {
			case len(want) == 0:
				none++
			case len(want) > mostMoved:
				more++
				assert.Contains(t, says, harmony.Counted(len(want)-mostMoved, "beat")+" more", p.said)
			default:
				moves++
			}
			press(p, "u")
			require.Contains(t, p.said, "Taken back")
			p.changed()
			require.Equal(t, before, played(p.a))
		}
	}
	t.Log(moves, none, more)
	assert.NotZero(t, moves)
	assert.NotZero(t, none)
}

// A school with one shape for a hit says so, and which key leads to others.
func TestAHitWithOneShapeSaysWhichSchoolIsMeant(t *testing.T) {
	p := newPage(t, "tin-kettle-blues")
	met := map[bool]bool{}
	for range int(fretboard.Drop3s) + 1 {
		for p.at = range p.moments {
			if i := p.hit(); i >= 0 && len(p.a.Choices(i)) == 1 {
				press(p, "z")
				assert.Equal(t, p.school != fretboard.Mixed, strings.Contains(p.said, "in this school, "+p.school.String()), p.said)
				met[p.school == fretboard.Mixed] = true
			}
		}
		press(p, "S")
	}
	assert.True(t, met[false], "in some school there is a hit with one shape")
}

// The shapes to choose from are listed at every hit where there are rows for them, and the
// bars keep their lines from beat to beat.
func TestTheListOfShapesIsThereAtEveryHit(t *testing.T) {
	for _, size := range [][2]int{{100, 26}, {80, 30}, {120, 36}, {200, 56}} {
		p := newPage(t, "lantern-street")
		p.SetSize(size[0], size[1])
		lines := map[int]bool{}
		for p.at = range p.moments {
			for p.choice = range 2 {
				view := ansi.Strip(p.View())
				assert.Equal(t, p.hit() >= 0, strings.Contains(view, "for the hand  voice leading"), "%v %+v\n%s", size, p.moments[p.at].at, view)
				lines[strings.Count(view, "\n  comping ")] = true
				if p.hit() < 0 {
					break
				}
			}
		}
		if size[0] >= 100 { // narrower, the words take more lines at some hits
			assert.Len(t, lines, 1, size)
		}
	}
}

// A shape that is tried stands on the neck alone: its bass note elsewhere is not drawn where
// it was as one that is also in this bar.
func TestATrialShapeOnTheNeck(t *testing.T) {
	p := newPage(t, "lantern-street")
	p.SetSize(100, 26)
	press(p, "z", "z")
	golden.RequireEqual(t, []byte(ansi.Strip(p.View())))
}

func TestTheSecondTimeOfASectionIsNotReadAsAChord(t *testing.T) {
	tn, faults := tune.Read("tune Twice\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | C |\nbass | 1 . . . |\n\n[A-2]\nchords | F |\nbass | 1 . . . |\n")
	require.Empty(t, faults)
	r := lipgloss.NewRenderer(io.Discard)
	p := New(theme.New(r, false), fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Mixed, tn, Doors{})
	p.SetSize(80, 20)
	assert.Contains(t, ansi.Strip(p.View()), "A (2) 2 ")
}

package screen

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/trainer/screen/page"
)

// grid is a terminal that knows the sequences a painter may write: placing the
// cursor, erasing to the right and below (ECMA-48, CUP, EL, ED).
type grid struct {
	cells    [][]rune
	row, col int
}

func newGrid(width, height int) *grid {
	g := &grid{cells: make([][]rune, height)}
	for i := range g.cells {
		g.cells[i] = []rune(strings.Repeat(" ", width))
	}
	return g
}

var controls = regexp.MustCompile(`^\x1b\[([0-9]*)(?:;([0-9]*))?([HKJ])`)

func (g *grid) write(t require.TestingT, s string) {
	number := func(s string) int { n, _ := strconv.Atoi(s); return max(n, 1) }
	for s != "" {
		if m := controls.FindStringSubmatch(s); m != nil {
			s = s[len(m[0]):]
			switch m[3] {
			case "H":
				g.row, g.col = number(m[1])-1, number(m[2])-1
			case "K":
				g.erase(g.row, g.col)
			case "J":
				g.erase(g.row, g.col)
				for r := g.row + 1; r < len(g.cells); r++ {
					g.erase(r, 0)
				}
			}
			continue
		}
		r := []rune(s)[0]
		require.GreaterOrEqual(t, r, ' ', "no control character moves the cursor")
		require.Less(t, g.col, len(g.cells[g.row]), "nothing is written past the last column")
		g.cells[g.row][g.col] = r
		g.col++
		s = s[len(string(r)):]
	}
}

func (g *grid) erase(row, from int) {
	for i := from; i < len(g.cells[row]); i++ {
		g.cells[row][i] = ' '
	}
}

func (g *grid) lines() string {
	var lines []string
	for _, c := range g.cells {
		lines = append(lines, strings.TrimRight(string(c), " "))
	}
	return strings.TrimRight(strings.Join(lines, "\n"), "\n")
}

// Whatever frames follow each other, on whatever sizes, the terminal shows the
// last one, cut to its room; and a frame that is there already costs nothing.
func TestPainterShowsTheNewestFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &painter{wake: make(chan struct{}, 1)}
		width, height := 0, 0
		var screen *grid
		for range rapid.IntRange(1, 12).Draw(t, "frames") {
			if screen == nil || rapid.IntRange(0, 3).Draw(t, "resize") == 0 {
				width, height = rapid.IntRange(1, 12).Draw(t, "width"), rapid.IntRange(1, 6).Draw(t, "height")
				screen = newGrid(width, height)
				screen.write(t, strings.Repeat("?", width)) // what a terminal leaves at a resize is not known
				p.wipe()
			}
			lines := rapid.SliceOfN(rapid.StringMatching(`[ab ]{0,14}`), 1, 8).Draw(t, "lines")
			p.show(strings.Join(lines, "\n"), width, height)
			screen.write(t, p.next())
			want := newGrid(width, height)
			for i, l := range lines[:min(len(lines), height)] {
				want.row, want.col = i, 0
				want.write(t, l[:min(len(l), width)])
			}
			require.Equal(t, want.lines(), screen.lines())
			require.Empty(t, p.next())
		}
	})
}

// counting counts writes.
type counting struct {
	all    bytes.Buffer
	writes int
}

func (c *counting) Write(b []byte) (int, error) { c.writes++; return c.all.Write(b) }

func TestPainterWritesAtMostSixtyTimesASecondAndNothingAtRest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		out := &counting{}
		p := startPainter(out, "")
		for i := range 1000 {
			p.show(strconv.Itoa(i), 10, 2)
			time.Sleep(time.Millisecond)
		}
		time.Sleep(betweenFrames)
		synctest.Wait()
		assert.InDelta(t, 60, out.writes, 2)
		assert.Contains(t, out.all.String(), "999")
		before := out.writes
		time.Sleep(time.Hour)
		assert.Equal(t, before, out.writes)
		p.show("soon", 10, 2)
		synctest.Wait()
		assert.Equal(t, before+1, out.writes, "a key's frame does not wait")
		p.still()
		p.show("late", 10, 2)
		time.Sleep(time.Second)
		assert.NotContains(t, out.all.String(), "late")
		p.still()
	})
}

// A terminal that takes nothing, as one whose output the player has halted, holds
// up neither the program nor its end.
func TestPainterOnATerminalThatTakesNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r, w := io.Pipe()
		p := startPainter(w, "")
		start := time.Now()
		for i := range 100 {
			p.show(strconv.Itoa(i), 10, 2)
		}
		assert.Zero(t, time.Since(start))
		p.still()
		assert.Less(t, time.Since(start), time.Second)
		r.Close()
		<-p.done
	})
}

// snapping is a page in which something breaks.
type snapping struct {
	page.Page
	init, update, view func() tea.Cmd
	left               bool
}

func run(f func() tea.Cmd) tea.Cmd {
	if f == nil {
		return nil
	}
	return f()
}

func (s *snapping) Init() tea.Cmd { return run(s.init) }
func (s *snapping) Update(m tea.Msg) tea.Cmd {
	if _, ok := m.(tea.WindowSizeMsg); ok {
		return nil
	}
	return run(s.update)
}
func (s *snapping) View() string {
	run(s.view)
	return "a page"
}
func (s *snapping) SetSize(int, int)    {}
func (s *snapping) Title() string       { return "" }
func (s *snapping) Status() string      { return "" }
func (s *snapping) Keys() []key.Binding { return nil }
func (s *snapping) Leave() tea.Cmd {
	s.left = true
	return nil
}

// A fault anywhere in a page puts the terminal back, lets every page keep what it
// holds, and is told with where it was.
func TestAFaultAnywhereLeavesEveryPage(t *testing.T) {
	snap := func() tea.Cmd { panic(errors.New("a string snapped")) }
	later := func() tea.Cmd { return func() tea.Msg { return snap() } }
	nothing := func() tea.Msg { return nil }
	for name, broken := range map[string]*snapping{
		"init":     {init: snap},
		"update":   {update: snap},
		"view":     {view: snap},
		"command":  {init: later},
		"batch":    {init: func() tea.Cmd { return tea.Batch(nothing, tea.Batch(nothing, later())) }},
		"sequence": {init: func() tea.Cmd { return tea.Sequence(nothing, tea.Batch(nothing, tea.Sequence(nothing, later()))) }},
	} {
		t.Run(name, func(t *testing.T) {
			s := services(t, termenv.Ascii, nil)
			f, err := newFrame(s, Home)
			require.NoError(t, err)
			f.pages[Home] = broken
			in, keys := io.Pipe()
			defer keys.Close()
			out := &screenful{}
			p, still := program(in, out, f)
			defer still()
			go func() {
				p.Send(tea.WindowSizeMsg{Width: 80, Height: 24})
				_, _ = io.WriteString(keys, "x") // before the size is known no page gets it
			}()
			_, err = p.Run()
			require.NoError(t, err, "ended as by the quit key")
			assert.ErrorContains(t, s.Guard.broken(), "something in the program broke: a string snapped")
			assert.ErrorContains(t, s.Guard.broken(), "paint_test.go")
			assert.True(t, broken.left, "the page was left")
			assert.Regexp(t, `\x1b\[\?1049l[^A-Za-z]*\x1b\[\?25h$`, out.text(), "the terminal is put back, last of all")
			assert.NotContains(t, out.text(), "Caught")
		})
	}
}

// counted is a page that counts how often it is drawn and what came.
type counted struct {
	snapping
	views, came int
}

func (c *counted) View() string { c.views++; return strconv.Itoa(c.came) }
func (c *counted) Update(msg tea.Msg) tea.Cmd {
	if _, ok := msg.(page.Note); ok {
		c.came++
	}
	return nil
}

// Notes that come by the thousand are drawn as often as a frame can be written, and a
// half as often while they go on; the last is drawn, and a key does not wait.
func TestManyNotesAreDrawnTogether(t *testing.T) {
	s := services(t, termenv.Ascii, nil)
	synctest.Test(t, func(t *testing.T) {
		f, err := newFrame(s, Home)
		require.NoError(t, err)
		top := &counted{}
		f.pages[Home] = top
		p := &painted{frame: f, painter: startPainter(&counting{}, "")}
		var due []time.Time
		update := func(msg tea.Msg) {
			before := p.owes
			_, cmd := p.Update(msg)
			if p.owes && !before {
				require.NotNil(t, cmd)
				due = append(due, p.drawn.Add(betweenFrames))
			}
			p.View()
		}
		update(resized{Width: 80, Height: 24})
		time.Sleep(time.Second)
		update(page.Note{})
		assert.Equal(t, 2, top.views, "a single note is drawn at once")
		for range 3000 {
			time.Sleep(time.Second / 3000)
			if len(due) > 0 && !time.Now().Before(due[0]) {
				due = due[1:]
				update(owed{})
			}
			update(page.Note{})
		}
		assert.InDelta(t, 62, top.views, 4)
		require.NotEmpty(t, due)
		time.Sleep(2 * betweenFrames)
		update(owed{})
		views := top.views
		assert.Contains(t, p.painter.view, "3001")
		update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{'z'}})
		assert.Equal(t, views, top.views, "as a frame was drawn just now")
		time.Sleep(betweenFrames)
		update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{'z'}})
		assert.Equal(t, views+1, top.views)
		p.painter.still()
	})
}

package screen

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

// loop runs the frame as the library does: commands at their own time, their
// messages when they come.
type loop struct {
	f    *frame
	msgs chan tea.Msg
	gone chan struct{}
}

func (l *loop) send(m tea.Msg) {
	switch m := m.(type) {
	case tea.BatchMsg:
		for _, c := range m {
			l.run(c)
		}
		return
	case tea.QuitMsg:
		return
	}
	if many, ok := sequence(m); ok {
		for _, c := range many {
			l.run(c)
		}
		return
	}
	_, cmd := l.f.Update(m)
	l.run(cmd)
}

func (l *loop) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	go func() {
		if m := cmd(); m != nil {
			select {
			case l.msgs <- m:
			case <-l.gone:
			}
		}
	}()
}

// settle takes the messages that have come, and waits for the page that is being made.
func (l *loop) settle() {
	for l.f.opening != nil {
		l.send(<-l.msgs)
	}
	for {
		select {
		case m := <-l.msgs:
			l.send(m)
		default:
			return
		}
	}
}

// everyPage is every page a player can come to.
func everyPage() []page.ID {
	ids := []page.ID{
		PlayOf("gate"), {Kind: "arrangement", Tune: "gate"}, EditOf("gate"), TodayOf("", 0), {Kind: "review"}, {Kind: "shapes"}, {Kind: "inputs"},
	}
	for _, d := range session.Drills() {
		ids = append(ids, DrillOf(session.Choice{Drill: d.Name, Tune: "gate"}))
	}
	return ids
}

// However thousands of keys fall on all the pages, the play-along among them, with the
// terminal resized in storms, notes heard and a megabyte pasted on each page,
// nothing panics and no page outgrows the terminal; and the keys come to what the
// pages have to show.
func TestRandomKeysOnEveryPage(t *testing.T) {
	n := 12_000
	if testing.Short() {
		n = 3_000
	}
	s := ready(t)
	picked := ""
	s.Inputs.Present = func() ([]listen.Port, error) { return []listen.Port{{Name: "Drum"}, {Name: "test"}}, nil }
	s.Inputs.Current = func() string { return picked }
	s.Inputs.Pick = func(port string) error { picked = port; return nil }
	s.Inputs.Open = func(string, listen.Options) (listen.Input, error) { return &instrument{make(chan listen.Note)}, nil }
	chance := rand.New(rand.NewPCG(3, 3))
	var f *frame
	var l *loop
	begin := func() {
		var err error
		f, err = newFrame(s, Home)
		require.NoError(t, err)
		if l != nil {
			close(l.gone)
		}
		l = &loop{f: f, msgs: make(chan tea.Msg), gone: make(chan struct{})}
		l.run(f.Init())
		l.send(tea.WindowSizeMsg{Width: 80 + chance.IntN(120), Height: 24 + chance.IntN(40)})
	}
	begin()
	defer func() { close(l.gone) }()

	var keys []tea.KeyMsg
	for _, k := range named {
		keys = append(keys, tea.KeyMsg{Type: k}, tea.KeyMsg{Type: k})
	}
	for r := ' '; r <= '~'; r++ {
		keys = append(keys, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
	}
	for _, r := range []string{"Dm7", "b3", "♭♯é語", "bunch of runes"} {
		keys = append(keys, tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(r)})
	}
	megabyte := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(strings.Repeat("Dm7 5 q?\r\n", 100_000)), Paste: true}
	ids := everyPage()
	seen := map[string]int{}
	pasted := map[page.ID]bool{}
	unseen := map[string]bool{}
	for _, text := range []string{
		"Keys of this page", "needs 80 columns", "First chords", "Play the", "Wrong", "How it went", "space starts",
		"arrangement", "not saved", "Not yet", "look back", "today", "inputs",
	} {
		unseen[text] = true
	}
	each := n / (4 * len(ids))
	for i := range n {
		if i%each == 0 {
			for len(f.stack) > 1 {
				l.send(page.Back{})
			}
			// Whatever was made of the tune and saved, every drill can be had again.
			whole, faults := tune.Read(gate)
			require.Empty(t, faults)
			s.Desk.Put(session.Tune{Name: "gate", Tune: whole})
			l.send(page.Open{ID: ids[i/each%len(ids)]})
			l.settle()
		}
		k := keys[chance.IntN(len(keys))]
		if at := f.stack[len(f.stack)-1]; !pasted[at] && chance.IntN(5) == 0 {
			pasted[at] = true
			k = megabyte
		}
		if chance.IntN(50) == 0 {
			l.send(page.Note{MIDI: 30 + chance.IntN(40), String: chance.IntN(8), Microphone: chance.IntN(2) == 0})
		}
		l.send(k)
		l.settle()
		if f.ended {
			l.send(k) // too late for anything
			begin()
		}
		seen[fmt.Sprintf("%T", f.top())]++
		if chance.IntN(200) == 0 {
			for range 20 {
				l.send(tea.WindowSizeMsg{Width: 1 + chance.IntN(250), Height: 1 + chance.IntN(80)})
			}
			if chance.IntN(3) > 0 {
				l.send(tea.WindowSizeMsg{Width: 80 + chance.IntN(120), Height: 24 + chance.IntN(40)})
			}
		}
		if i%4 != 0 {
			continue
		}
		view := f.View()
		for text := range unseen {
			if strings.Contains(view, text) {
				delete(unseen, text)
			}
		}
		if w, h := lipgloss.Width(view), lipgloss.Height(view); f.width >= 80 && f.height >= 24 && (w > f.width || h > f.height) {
			t.Fatalf("%d×%d on a terminal of %d×%d at key %d:\n%s", w, h, f.width, f.height, i, view)
		}
	}
	assert.GreaterOrEqual(t, len(seen), 9, "%v", seen)
	for _, id := range everyPage() {
		assert.True(t, pasted[id] || testing.Short(), "nothing was pasted on %v", id)
	}
	if !testing.Short() {
		assert.Empty(t, unseen, "the keys never came there")
	}
}

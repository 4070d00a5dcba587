package drill

import (
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// A rhythm is begun and tapped with the space bar, and judged when the music is over;
// esc ends the music alone.
func TestTapped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Seed: func() uint64 { return 1 },
			Sounding: session.Sounding{Sound: sound.Options{Mute: true}, Mix: sound.DefaultMix}}
		s, err := d.Drill(session.Choice{Drill: "hits", Chords: "first", Questions: 1}, true)
		require.NoError(t, err)
		sent := make(chan tea.Msg, 1000)
		p := New(theme.New(lipgloss.NewRenderer(io.Discard), true), page.ID{}, s, d.Neck, "", func(tea.Msg) {}, func(m tea.Msg) { sent <- m }, func() {})
		p.SetSize(80, 20)
		sees := func(text string) { require.Contains(t, strings.Join(strings.Fields(p.View()), " "), text) }
		do := func(cmd tea.Cmd) {
			for cmd != nil {
				m := cmd()
				if cmd = nil; m != nil {
					cmd = p.Update(m)
				}
			}
		}
		space := func() { do(p.Update(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{' '}})) }
		until := func(over func(beat) bool) {
			for m := range sent {
				do(p.Update(m))
				if b, ok := m.(beat); ok && over(b) {
					return
				}
			}
		}
		sees("on the and of 2, then the and of 4 in each bar, straight, 160 BPM") // of this seed
		sees("each . . . x . . . x")
		require.Equal(t, "tap the comping - First chords", p.Title())

		space()
		until(func(b beat) bool { return b.at.Bar == 1 })
		sees("Bar 1 of 4, beat 1")
		stopped, cmd := p.Step()
		require.True(t, stopped)
		do(cmd)
		require.Equal(t, asking, p.state)

		space()
		until(func(b beat) bool {
			if b.of == p.taps && b.at.Bar > 0 && b.at.Beat%2 == 0 && b.at.Off && b.at.Bar != 3 {
				space()
			}
			return b.over && p.state == judged
		})
		sees("Wrong 6 of 8 hits, in time. Bar 3 beat 2+ missing, bar 3 beat 4+ missing.")
		sees("bar 3 . . . o . . . o")
		require.NotContains(t, p.View(), " s\n", "nothing is said of how long it took")
		do(p.Leave())
		time.Sleep(time.Second)
	})
}

package screen

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

func typed(name string) tea.KeyMsg {
	if k, ok := named[name]; ok {
		return tea.KeyMsg{Type: k}
	}
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(name)}
}

// An input that hangs while a page is made leaves the keys alone: esc gives the page up
// at once, and what is pressed for it waits for it. After the time there is the player
// is told; a page that comes later is left, and its input let go.
func TestAPageThatIsNotMadeInTimeHoldsNoKey(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := services(t, termenv.Ascii, nil)
		playable(s)
		let := make(chan struct{})
		guitars := make(chan *instrument, 2)
		s.Desk.Sounding.Input = func(time.Time) (listen.Input, error) {
			<-let
			guitar := &instrument{make(chan listen.Note)}
			guitars <- guitar
			return guitar, nil
		}
		f, err := newFrame(s, Home)
		require.NoError(t, err)
		l := &loop{f: f, msgs: make(chan tea.Msg), gone: make(chan struct{})}
		l.send(tea.WindowSizeMsg{Width: 80, Height: 24})
		began := time.Now()
		l.send(page.Open{ID: PlayOf("lantern-street")})
		l.send(typed("l"))
		require.Len(t, f.opening.early, 1)
		l.send(typed("esc"))
		assert.Nil(t, f.opening)
		assert.Zero(t, time.Since(began), "no key has waited")
		assert.Len(t, f.stack, 1)

		l.send(page.Open{ID: PlayOf("lantern-street")})
		l.send(<-l.msgs)
		if f.opening != nil { // it was of the page that was given up
			l.send(<-l.msgs)
		}
		assert.Equal(t, openTime, time.Since(began))
		assert.Contains(t, f.said, "does not answer")
		assert.Len(t, f.stack, 1)
		close(let)
		synctest.Wait()
		for range 2 {
			_, open := <-(<-guitars).notes
			assert.False(t, open, "what came too late was let go")
		}
		close(l.gone)
	})
}

// A sound device that does not answer while questions by ear are drawn leaves the keys
// alone: nobody waits for it but the page in the making, which says what is the matter.
func TestASilentSoundDeviceHoldsNoKey(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := services(t, termenv.Ascii, nil)
		s.Desk.Hearing = session.HearingBy(func(ctx context.Context, _ sound.Cue, _ [][]int) error {
			<-ctx.Done()
			return ctx.Err()
		}, true)
		f, err := newFrame(s, Home)
		require.NoError(t, err)
		l := &loop{f: f, msgs: make(chan tea.Msg), gone: make(chan struct{})}
		l.send(tea.WindowSizeMsg{Width: 80, Height: 24})
		s.Desk.Hearing.Try()
		began := time.Now()
		ear := page.Open{ID: DrillOf(session.Choice{Drill: "ear", Chords: "first"})}
		l.send(ear)
		l.send(typed("1"))
		l.send(typed("esc"))
		assert.Nil(t, f.opening)
		l.send(ear)
		assert.NotEmpty(t, f.View())
		assert.Zero(t, time.Since(began), "no key has waited")

		l.settle()
		assert.Equal(t, guard.AnswerTime, time.Since(began).Truncate(time.Second), "the page waited for the device")
		assert.Len(t, f.stack, 1)
		assert.Contains(t, f.said, "no sound comes from this machine")
		close(l.gone)
	})
}

// An input that says that it does not answer is done without, and the player is told.
func TestAnInputThatDoesNotAnswerIsDoneWithout(t *testing.T) {
	s := services(t, termenv.Ascii, nil)
	playable(s)
	s.Desk.Sounding.Input = func(time.Time) (listen.Input, error) {
		return guard.InTime("the pipe", func() (listen.Input, error) { return nil, guard.ErrSilent }, func(listen.Input) {})
	}
	d := drive(t, s, 120, 40, PlayOf("lantern-street"))
	defer d.press("q")
	d.sees("nobody listens")
}

// Keys that are pressed while a page is made come to it in their order.
func TestEarlyKeysComeToThePage(t *testing.T) {
	s := ready(t)
	f, err := newFrame(s, Home)
	require.NoError(t, err)
	l := &loop{f: f, msgs: make(chan tea.Msg), gone: make(chan struct{})}
	defer close(l.gone)
	l.send(tea.WindowSizeMsg{Width: 80, Height: 24})
	l.send(page.Open{ID: EditOf("gate")})
	for _, k := range []string{"/", "5", "enter"} {
		l.send(typed(k))
	}
	assert.Len(t, f.opening.early, 3)
	l.settle()
	assert.Contains(t, f.View(), "A 1  beat 2  bass")
	assert.Contains(t, f.View(), "not saved")
}

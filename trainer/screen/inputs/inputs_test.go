package inputs

import (
	"errors"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/screen/theme"
	"footfall/trainer/sound"
)

// fake is an input that a test plays on.
type fake struct{ *listen.Feed }

func (f fake) Close() error { f.Shut(); return nil }

// stage is a page, its inputs, and the messages on their way to it.
type stage struct {
	*Page
	t        testing.TB
	store    listen.Store
	present  []listen.Port
	messages chan tea.Msg
	mu       sync.Mutex
	opened   []fake
	current  string
}

func newStage(t testing.TB, tuning fretboard.Tuning, ports ...string) *stage {
	s := &stage{t: t, store: listen.StoreIn(t.TempDir()), messages: make(chan tea.Msg, 1000)}
	for _, name := range ports {
		s.present = append(s.present, listen.Port{Name: name})
	}
	require.NoError(t, s.store.Learn("Piano", listen.Calibration{Delay: listen.Delay{Median: 12_340 * time.Microsecond, Spread: 3 * time.Millisecond, Taps: 8}}))
	s.current = ports[0]
	require.NoError(t, s.store.Learn(ports[0], listen.FromStrings([]listen.StringCalibration{
		{String: 6, Channel: 6, Delay: &listen.Delay{Median: 20 * time.Millisecond, Spread: time.Millisecond, Taps: 8}}, {String: 5, Channel: 5},
	})))
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	s.Page = New(theme.New(r, false), Gear{
		Store:   s.store,
		Present: func() ([]listen.Port, error) { return s.present, nil },
		Open: func(port string, o listen.Options) (listen.Input, error) {
			if port == "broken" {
				return nil, errors.New("broken is a file or folder, not an input")
			}
			s.mu.Lock()
			defer s.mu.Unlock()
			s.opened = append(s.opened, fake{listen.NewFeed(port, o, port+": looking for it")})
			return s.opened[len(s.opened)-1], nil
		},
		Current: func() string { return s.current },
		Pick:    func(port string) error { s.current = port; return s.store.Use(port) },
		Tuning:  tuning, Sound: sound.Options{Mute: true}, Tempo: 300, Bars: 1,
	}, func(do func()) { go do() }, func(m tea.Msg) { s.messages <- m })
	s.SetSize(80, 20)
	t.Cleanup(func() {
		if cmd := s.Leave(); cmd != nil {
			cmd()
		}
	})
	s.until("Piano")
	return s
}

// guitar is the input that was opened last.
func (s *stage) guitar() fake {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.opened[len(s.opened)-1]
}

// until brings messages to the page until it shows a text.
func (s *stage) until(text string) {
	s.t.Helper()
	end := time.After(60 * time.Second)
	for !strings.Contains(s.View(), text) {
		select {
		case m := <-s.messages:
			s.run(s.Update(m))
		case <-end:
			require.Fail(s.t, "not shown: "+text, s.View())
		}
	}
}

func (s *stage) run(cmd tea.Cmd) {
	if cmd != nil {
		go func() { s.messages <- cmd() }()
	}
}

func (s *stage) press(keys ...string) {
	for _, k := range keys {
		m := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		if n, ok := map[string]tea.KeyType{"enter": tea.KeyEnter, "up": tea.KeyUp, "down": tea.KeyDown}[k]; ok {
			m = tea.KeyMsg{Type: n}
		}
		s.run(s.Update(m))
	}
}

func note(channel, midi int, at time.Duration) listen.Note {
	return listen.Note{At: at, On: true, MIDI: midi, Channel: channel, Velocity: 90.0 / 127, Confidence: 1}
}

func TestMonitorShowsWhatArrivesOnWhichString(t *testing.T) {
	s := newStage(t, fretboard.Standard, "Pickup", "microphone")
	g := s.guitar()
	s.until("Pickup: looking for it")
	g.Found(0, "Pickup: listening")
	s.until("Pickup: listening")
	g.Hand(note(6, 46, 1500*time.Millisecond))
	end := note(6, 46, 1600*time.Millisecond)
	end.On = false
	g.Hand(end)
	g.Hand(note(3, 60, 2*time.Second))
	unsure := note(0, 40, 3*time.Second)
	unsure.Confidence = 0.3
	g.Hand(unsure)
	s.until("unsure")
	assert.Contains(t, s.View(), "    1.480 s  Bb2   6          6        90", "the delay of the string is taken off")
	assert.Contains(t, s.View(), "    1.980 s  C4    not known  3        90\n      1.480 s")
	assert.Contains(t, s.View(), "    2.980 s  E2    not known  none     90  unsure")
	golden.RequireEqual(t, []byte(ansi.Strip(s.View())))
	g.Break(3)
	s.until("3 broken bytes")
	g.Lost(g.Now(), "Pickup: unplugged; waiting for it")
	s.until("unplugged; waiting for it")
	s.present = nil
	s.again()
	s.until("waited for")
}

func TestWideView(t *testing.T) {
	s := newStage(t, fretboard.Standard, "Pickup", "microphone", "microphone: a name that is longer than it needs to be in a list")
	s.gear.Setting = "Organ"
	s.until("looking for it")
	s.SetSize(200, 56)
	golden.RequireEqual(t, []byte(ansi.Strip(s.View())))
	for _, l := range strings.Split(s.View(), "\n") {
		assert.LessOrEqual(t, lipgloss.Width(l), 200)
	}
}

func TestPickIsRememberedAndListenedTo(t *testing.T) {
	s := newStage(t, fretboard.Standard, "Pickup", "broken")
	first := s.guitar()
	s.press("down", "down", "enter")
	last, err := s.store.Last()
	require.NoError(t, err)
	assert.Equal(t, "Piano", last)
	assert.Equal(t, "Piano", s.gear.Current())
	assert.Equal(t, "Piano", s.guitar().Name())
	assert.Equal(t, listen.Closed, first.Status().State, "the one before was let go")
	s.until("Piano: looking for it")
	s.until("waited for")
	s.press("up", "enter")
	assert.Contains(t, s.View(), "broken is a file or folder")
	assert.Contains(t, s.View(), "None is listened to: pick one")
	s.press("o")
	assert.Nil(t, s.learned)
}

func TestCalibrateDelay(t *testing.T) {
	t.Parallel()
	s := newStage(t, fretboard.Standard, "Pickup")
	s.press("D")
	s.until("Play any note with each click.")
	s.press("enter", "enter") // the second is too many
	s.until("[1]")
	s.until("0 notes came with the click; play at least 4. Once more.")
	assert.Contains(t, s.View(), "the click is seen, not heard")

	s.press("enter")
	g := s.guitar()
	for beat := 1; beat <= 4; beat++ {
		s.until("play    ")
		s.until("[" + string(rune('0'+beat)) + "]")
		g.Hand(note(1, 60, g.Now()))
	}
	s.until("Kept for Pickup.")
	c, err := s.store.Calibration("Pickup")
	require.NoError(t, err)
	assert.Equal(t, 4, c.Delay.Taps)
	assert.Less(t, c.Delay.Median, 100*time.Millisecond, "half a beat")
	assert.Len(t, c.Strings, 2)
	assert.Nil(t, c.Strings[0].Delay, "the delay just learned holds for all strings")
	assert.Contains(t, s.View(), "Delay of the port: "+c.Delay.String())
	assert.Contains(t, strings.Split(s.View(), "\n")[1], strings.Split(c.Delay.String(), ",")[0], "the list shows it")
	s.press("enter")
	assert.Contains(t, s.View(), "What arrives")
}

func TestCalibrateStrings(t *testing.T) {
	if testing.Short() {
		t.Skip("clicks for seven seconds")
	}
	t.Parallel()
	tuning := fretboard.Tuning{28, 33, 38, 43}
	s := newStage(t, tuning, "Pickup")
	s.press("o")
	g := s.guitar()
	for str := 4; str >= 1; str-- {
		s.until("String " + string(rune('0'+str)) + ", open")
		s.press("enter")
		for beat := 1; beat <= 4; beat++ {
			s.until("play    ")
			s.until("[" + string(rune('0'+beat)) + "]")
			g.Hand(note(10+str, tuning.Open(str)-12, g.Now()))
		}
	}
	s.until("Kept for Pickup.")
	c, err := s.store.Calibration("Pickup")
	require.NoError(t, err)
	require.Len(t, c.Strings, 4)
	for i, l := range c.Strings {
		assert.Equal(t, 4-i, l.String)
		assert.Equal(t, 14-i, l.Channel)
		assert.Equal(t, -12, l.Transpose)
	}
	assert.Contains(t, s.View(), "4 known")
	assert.Contains(t, s.View(), "String 4: channel 14, transposed by -12, delay ")
}

func TestCalibrationAbandonedKeepsNothing(t *testing.T) {
	s := newStage(t, fretboard.Standard, "Pickup", "microphone")
	before, err := s.store.Calibration("Pickup")
	require.NoError(t, err)
	s.press("o")
	s.until("String 6, open (E2): pluck it with each click.   1 of 6")
	s.press("enter")
	s.until("count-in")
	used, _ := s.Step()
	assert.True(t, used)
	assert.Contains(t, s.View(), "The calibration was not finished; nothing was kept.")
	used, _ = s.Step()
	assert.False(t, used, "esc goes back")
	after, err := s.store.Calibration("Pickup")
	require.NoError(t, err)
	assert.Equal(t, before, after)
	// Its last messages change nothing.
	for end := time.After(100 * time.Millisecond); ; {
		select {
		case m := <-s.messages:
			s.Update(m)
			continue
		case <-end:
		}
		break
	}
	assert.Contains(t, s.View(), "What arrives")
}

// microphone is one whose room a test tells.
type microphone struct {
	fake
	room chan hearing.Room
}

func (m microphone) SetUp() (<-chan hearing.Room, error) { return m.room, nil }

func (m microphone) Meter() listen.Meter {
	return listen.Meter{Level: -20, Floor: -61, Reading: hearing.Reading{String: 5, Cents: -12}, Sounds: true}
}

func TestSetUpOfAMicrophone(t *testing.T) {
	s := newStage(t, fretboard.Standard, "Pickup", "microphone")
	m := microphone{room: make(chan hearing.Room)}
	s.gear.Open = func(port string, o listen.Options) (listen.Input, error) {
		m.fake = fake{listen.NewFeed(port, o, port+": listening")}
		return m, nil
	}
	s.press("down", "down", "o")
	assert.Contains(t, s.View(), "Be still for a second")
	s.press("enter")
	assert.Contains(t, s.View(), "Listening to the room.")
	m.Found(0, "microphone: listening")
	m.room <- hearing.Room{Noise: -90, Level: -90, Peak: -90}
	s.until("Nothing comes in: check that this is the right input")
	s.press("enter")
	m.room <- hearing.Room{Noise: -60, Level: -20, Peak: -10, Tuning: 4, Notes: 6}
	s.until("Noise -60 dB, notes -20 dB, tuned +4 cents by 6 notes.")
	s.until("Kept for microphone.")
	c, err := s.store.Calibration("microphone")
	require.NoError(t, err)
	require.NotNil(t, c.Room)
	assert.Equal(t, 6, c.Room.Notes)
	assert.Contains(t, s.View(), "room known")
	s.press("enter")
	s.until("level  -20 dB =============------- noise  -61 dB   string 6, E2: 12 cents flat")
	s.press("o", "enter")
	used, _ := s.Step()
	assert.True(t, used)
	assert.Contains(t, s.View(), "nothing was kept")
}

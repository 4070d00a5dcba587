package screen

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/charmbracelet/x/exp/teatest"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/guard"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/listen"
	"footfall/trainer/screen/home"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

func TestASittingFromTheFirstScreen(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24)
	d.sees("Welcome. Press enter")
	d.press("d")
	d.sees("First chords")
	d.press("enter")
	d.sees("question 1 of 3")
	d.sees("So ") // a first question is worked out
	d.sees("half step")
	d.press(d.right(), "enter")
	d.sees("Correct")
	assert.Equal(t, 1, l.kept(), "kept before the verdict shows")
	d.press("enter")
	d.sees("question 2 of 3")
	d.sees("each fret is a half step up")
	assert.NotContains(t, d.view(), "So ", "the second is left to the player")
	d.press("enter")
	d.sees("Nothing is typed yet")
	d.press("x", "enter")
	d.sees(`"x" is no fret`)
	d.press("right", "right", "enter")
	d.sees("1.0 s")
	d.press("enter", "1", "1", "backspace", "enter", "enter")
	d.sees("How it went")
	d.sees("right of 3.")
	assert.Equal(t, 3, l.kept())
	assert.Equal(t, memory.Typed, l.answers[0].Way)
	assert.Equal(t, memory.Cursor, l.answers[1].Way)
	d.press("enter")
	d.sees("First chords")
}

// "12⏎" may come as one read of runes and a key after it; keys pressed while an
// answer is being stored wait for their turn.
func TestBunchedAndEarlyKeys(t *testing.T) {
	l := &ledger{}
	s := services(t, termenv.Ascii, l)
	d := drive(t, s, 80, 24, DrillOf(session.Choice{Drill: "find", Chords: "first"}))
	_, cmd := d.f.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("12")})
	d.run(cmd)
	_, store := d.f.Update(tea.KeyMsg{Type: tea.KeyEnter})
	for _, k := range []tea.KeyMsg{{Type: tea.KeyEnter}, {Type: tea.KeyRunes, Runes: []rune("03")}} {
		_, cmd := d.f.Update(k)
		d.run(cmd)
	}
	d.sees("Answer 12")
	d.run(store)
	d.sees("question 2 of 3")
	d.sees("Answer 03")
	d.press("jjq")
	assert.True(t, d.quit, "q within a bunch quits")
}

func TestHistoryThatFails(t *testing.T) {
	l := &ledger{broken: true}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "find", Chords: "first"}))
	d.press("1", "enter")
	d.sees("the disk is full")
	d.press("enter")
	d.sees("question 2 of 3")
	d.press("esc")
	d.sees("Answers not on the disk yet: 1.")
}

func TestNotesThatAreHeard(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "find", Chords: "first"}))
	d.send(page.Note{MIDI: 45, Microphone: true, Unsure: true})
	assert.Zero(t, l.kept(), "a note that is unsure is no answer")
	d.sees(drills.NotSure)
	d.send(page.Note{MIDI: 40, String: 6})
	require.Equal(t, 1, l.kept())
	assert.Equal(t, memory.MIDI, l.answers[0].Way)
	d.send(page.Note{MIDI: 41, String: 6})
	assert.Equal(t, 1, l.kept(), "a note while the verdict shows is no answer")
}

// Questions with choices and with several places go the same way.
func TestChoicesAndPlaces(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "shape", Chords: "first"}))
	d.sees("  1  ")
	d.press("9", "enter")
	require.Zero(t, l.kept(), "9 is no choice")
	d.press("backspace", "1", "enter")
	require.Equal(t, 1, l.kept())

	d = drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "build", Chords: "first"}))
	d.press("right", "enter")
	d.sees("Nothing is typed yet")
	d.press("home", "space", "up", "up", "space", "space", "right", "space")
	d.sees("-1-")
	d.press("enter")
	require.Equal(t, 2, l.kept())
	assert.Equal(t, memory.Cursor, l.answers[1].Way)
}

func TestEscAndHelpAndSmallTerminals(t *testing.T) {
	d := drive(t, services(t, termenv.Ascii, nil), 80, 24, page.ID{Kind: "drills"})
	d.press("?")
	d.sees("Keys of this page")
	d.sees("which drill")
	d.press("x")
	d.sees("First chords")
	d.press("right", "enter", "esc")
	d.sees("[name it]")
	d.send(tea.WindowSizeMsg{Width: 60, Height: 20})
	d.sees("This page needs 80 columns and 24 rows.")
	d.sees("This terminal has 60 and 20")
	d.press("enter")
	d.send(tea.WindowSizeMsg{Width: 80, Height: 24})
	d.sees("[name it]")
	d.press("right", "right", "enter")
	d.sees("This drill goes through a tune")
	d.press("q")
	assert.True(t, d.quit)
}

// What is wrong from the start is told on the first screen, whole, until a key
// is pressed.
func TestNoticesAreToldWhole(t *testing.T) {
	s := services(t, termenv.Ascii, nil)
	s.Notice = "settings.toml: line 2 column 1: neck.highest_fret is 99; write a whole number from 5 to 24\nbad.tune is no tune yet: line 2"
	d := drive(t, s, 80, 24)
	d.sees("from 5 to 24")
	d.sees("bad.tune is no tune yet: line 2")
	assert.Equal(t, 24, lipgloss.Height(d.view()))
	d.press("down")
	assert.NotContains(t, d.view(), "bad.tune")
	d.sees("? keys")
}

// The views as a player sees them; each golden was looked at. There is but one
// door, so that a new one changes none of them.
func TestViews(t *testing.T) {
	all := doors
	t.Cleanup(func() { doors = all })
	doors = []home.Door{{Key: page.Drills, Says: "drills", To: func(string) page.ID { return page.ID{Kind: "drills"} }}}
	for _, size := range [][2]int{{80, 24}, {200, 60}} {
		for _, profile := range []termenv.Profile{termenv.TrueColor, termenv.ANSI, termenv.Ascii} {
			t.Run(fmt.Sprintf("%dx%d %s", size[0], size[1], map[termenv.Profile]string{termenv.TrueColor: "colour", termenv.ANSI: "16 colours", termenv.Ascii: "no colour"}[profile]), func(t *testing.T) {
				var b strings.Builder
				s := services(t, profile, nil)
				d := drive(t, s, size[0], size[1])
				shot := func(what string) {
					view := d.f.View()
					lines := strings.Split(view, "\n")
					assert.Len(t, lines, size[1], what)
					for _, l := range lines {
						assert.LessOrEqual(t, lipgloss.Width(l), size[0], what)
					}
					fmt.Fprintf(&b, "== %s\n%s\n", what, view)
				}
				shot("first screen")
				d.press("d")
				shot("drills")
				d.press("enter")
				shot("a question")
				d.press(d.right(), "enter")
				shot("right")
				d.press("enter", "right", "right", "enter")
				shot("missed")
				d.press("enter", "1", "enter", "enter")
				shot("summary")
				d.press("enter", "right", "enter")
				shot("name")
				d.press("esc", "right", "right", "end", "enter", "6", " ", "6", "enter", "enter")
				shot("line")
				d.press("?")
				shot("help")
				golden.RequireEqual(t, []byte(b.String()))
			})
		}
	}
}

// NO_COLOR reaches the terminal as no colour at all: nothing but the movements
// and modes of the frame is sent.
func TestRealProgramWithNoColour(t *testing.T) {
	s := services(t, termenv.Ascii, &ledger{})
	f, err := newFrame(s, Home, page.ID{Kind: "drills"})
	require.NoError(t, err)
	tm := teatest.NewTestModel(t, f, teatest.WithInitialTermSize(80, 24))
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	tm.Type("3")
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	var all bytes.Buffer
	teatest.WaitFor(t, io.TeeReader(tm.Output(), &all), func(b []byte) bool { return bytes.Contains(b, []byte("Wrong · ")) }, teatest.WithDuration(60*time.Second))
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	tm.Type("jjq")
	tm.WaitFinished(t, teatest.WithFinalTimeout(60*time.Second))
	rest, err := io.ReadAll(tm.FinalOutput(t))
	require.NoError(t, err)
	all.Write(rest)
	assert.NotRegexp(t, "\x1b\\[[0-9;]*m", all.String())
	assert.NotContains(t, all.String(), "\x1b]11")
}

// Four strings or eight, left-handed, with 24 frets: the question, its choices
// and what to type all fit the smallest terminal.
func TestOddNecksFit(t *testing.T) {
	racetest.Alone(t)
	for _, tuning := range []fretboard.Tuning{{28, 33, 38, 43}, {35, 40, 45, 50, 55, 59, 64}, {28, 35, 40, 45, 50, 55, 59, 64}} {
		for _, left := range []bool{false, true} {
			for _, name := range []string{"find", "name", "shape", "build"} {
				s := services(t, termenv.Ascii, nil)
				n, frets := len(tuning), 24
				if name == "shape" || name == "build" {
					frets = 7 // searching 24 frets of eight strings takes seconds
				}
				s.Desk.Neck = fretboard.Neck{Tuning: tuning, ScaleMM: 648, HighestFret: frets, BassStrings: []int{n, n - 1}, LeftHanded: left}
				d := drive(t, s, 80, 24)
				d.send(page.Open{ID: DrillOf(session.Choice{Drill: name, Chords: "first"})})
				view := d.view()
				if strings.Contains(view, "has no chords to ask about") || strings.Contains(view, "no shape") {
					continue
				}
				d.sees("question 1 of 3")
				d.sees("enter answers.")
				d.sees(fmt.Sprintf("%d ", n))
				for l := range strings.SplitSeq(view, "\n") {
					assert.LessOrEqual(t, lipgloss.Width(l), 80, "%s", l)
				}
				d.press("right", "left", "left", "right", "enter")
			}
		}
	}
}

// However keys and clicks fall, over all pages: nothing breaks, no view is blank or larger
// than the terminal, nothing waits, and the way back to the first screen stays open. So many
// of them: FOOTFALL_TEST_KEYS=100000 go test ./trainer/screen -run RandomKeysAndClicks.
func TestRandomKeysAndClicks(t *testing.T) {
	racetest.Alone(t)
	all := states("gate")
	n := 100 * len(all)
	if testing.Short() {
		n = 2_000
	}
	if more, err := strconv.Atoi(os.Getenv("FOOTFALL_TEST_KEYS")); err == nil {
		n = more
	}
	s := ready(t)
	s.Desk.History = &ledger{}
	d := drive(t, s, 80, 24)
	seed, _ := strconv.ParseUint(os.Getenv("FOOTFALL_SOAK_SEED"), 10, 64)
	chance := rand.New(rand.NewPCG(1, seed))
	var keys []string
	for i := 0; ; i++ {
		k, ok := page.KeyAt(i)
		if !ok {
			break
		}
		if !page.Quit.Is(k) && !page.Abort.Is(k) && !page.Stop.Is(k) {
			keys = append(keys, k.String())
		}
	}
	keys = append(keys, "enter", "enter", "enter", "esc", "up", "down", "left", "right", "12", "b", "♭", "C", "E2", "bunch of runes", "語")
	visited := map[string]int{}
	for i := range n {
		if i%100 == 0 {
			d.come(all[i/100%len(all)])
		}
		switch what := chance.IntN(10); {
		case what < 6:
			d.send(page.Pressed(keys[chance.IntN(len(keys))]))
		case what < 9 && len(d.f.spots) > 0:
			at := d.f.spots[chance.IntN(len(d.f.spots))]
			if k, ok := page.KeyAt(at.N); at.On != page.KeyName || !ok || !page.Quit.Is(k) && !page.Abort.Is(k) && !page.Stop.Is(k) {
				d.click(at.First+chance.IntN(max(1, at.End-at.First)), at.Y)
			}
		default:
			d.send(tea.MouseMsg{
				X: chance.IntN(max(1, d.f.width)), Y: chance.IntN(max(1, d.f.height-1)), Action: tea.MouseAction(chance.IntN(3)),
				Button: []tea.MouseButton{tea.MouseButtonWheelUp, tea.MouseButtonWheelDown, tea.MouseButtonRight, tea.MouseButtonNone}[chance.IntN(4)],
			})
		}
		if chance.IntN(100) == 0 {
			d.send(tea.WindowSizeMsg{Width: 60 + chance.IntN(150), Height: 20 + chance.IntN(45)})
		}
		visited[d.f.stack[len(d.f.stack)-1].Kind]++
		view := d.f.View()
		if h, w := lipgloss.Height(view), lipgloss.Width(view); h > max(d.f.height, 4) || w > d.f.width {
			t.Fatalf("%d×%d on a terminal of %d×%d:\n%s", w, h, d.f.width, d.f.height, view)
		}
		require.NotEmpty(t, strings.TrimSpace(ansi.Strip(view)), "blank at key %d", i)
		require.False(t, d.quit, "nothing of this quits, at key %d", i)
		require.Nil(t, d.f.opening, "no page is waited for, at key %d", i)
	}
	for kind := range makers {
		if n >= 100*len(all) {
			assert.NotZero(t, visited[kind], kind)
		}
	}
	for range 20 {
		d.press("esc")
	}
	assert.LessOrEqual(t, len(d.f.stack), 2, "esc leads back")
}

// instrument is an input of one note.
type instrument struct{ notes chan listen.Note }

func (i *instrument) Strums() <-chan listen.Strum             { return nil }
func (i *instrument) Name() string                            { return "test" }
func (i *instrument) Later(time.Duration)                     {}
func (i *instrument) Notes() <-chan listen.Note               { return i.notes }
func (i *instrument) Status() listen.Status                   { return listen.Status{} }
func (i *instrument) Absent(_, _ time.Duration) []listen.Span { return nil }
func (i *instrument) Close() error                            { close(i.notes); return nil }

// A note played into the input answers the question; the input is let go with
// the page.
func TestPlayedNotesAnswerTheRealProgram(t *testing.T) {
	l := &ledger{}
	s := services(t, termenv.Ascii, l)
	guitar := &instrument{make(chan listen.Note)}
	s.Input = func() (listen.Input, error) { return guitar, nil }
	in, keys := io.Pipe()
	done := make(chan error)
	go func() {
		done <- Run(in, io.Discard, s, DrillOf(session.Choice{Drill: "find", Chords: "first"}))
	}()
	require.Eventually(t, func() bool {
		guitar.notes <- listen.Note{MIDI: 43, String: 6, Channel: 6}                          // a note's end is no answer
		guitar.notes <- listen.Note{On: true, MIDI: 43, String: 6, Channel: 6, Confidence: 1} // G2, string 6 fret 3
		return l.kept() == 1
	}, 60*time.Second, time.Millisecond, "notes that come before the program runs are not heard")
	assert.Equal(t, memory.MIDI, l.answers[0].Way)
	_, err := io.WriteString(keys, "q")
	require.NoError(t, err)
	require.NoError(t, <-done)
	_, open := <-guitar.notes
	assert.False(t, open, "the input was let go")
}

// screenful is what a program draws, for a test that waits for a text.
type screenful struct {
	mu  sync.Mutex
	all bytes.Buffer
}

func (s *screenful) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.all.Write(b)
}

func (s *screenful) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.all.String()
}

// From the first screen an input is picked, heard, and calibrated half way; what
// was picked is what a drill then listens to. Nothing is drawn in colour.
func TestInputsInTheRealProgram(t *testing.T) {
	s := services(t, termenv.Ascii, &ledger{})
	picked, opened := "", make(chan *instrument, 10)
	open := func(string, listen.Options) (listen.Input, error) {
		i := &instrument{make(chan listen.Note)}
		opened <- i
		return i, nil
	}
	s.Inputs.Present = func() ([]listen.Port, error) { return []listen.Port{{Name: "Drum"}, {Name: "test"}}, nil }
	s.Inputs.Current = func() string { return picked }
	s.Inputs.Pick = func(port string) error { picked = port; return s.Inputs.Store.Use(port) }
	s.Inputs.Open = open
	s.Input = func() (listen.Input, error) {
		if picked == "" {
			return nil, nil
		}
		return open(picked, listen.Options{})
	}
	in, keys := io.Pipe()
	out := &screenful{}
	done := make(chan error)
	f, err := newFrame(s, Home)
	require.NoError(t, err)
	p, still := program(in, out, f)
	defer still()
	go func() { _, err := p.Run(); done <- err }()
	p.Send(tea.WindowSizeMsg{Width: 80, Height: 24})
	write := func(k string) {
		_, err := io.WriteString(keys, k)
		require.NoError(t, err)
	}
	sees := func(text string) {
		t.Helper()
		require.Eventually(t, func() bool { return strings.Contains(out.text(), text) }, 60*time.Second, time.Millisecond, text)
	}
	sees("add a tune")
	write("i")
	sees("Drum")
	sees("None is listened to: pick one")
	write("\x1b[B\r")
	sees("in use")
	(<-opened).notes <- listen.Note{At: time.Second, On: true, MIDI: 46, Channel: 2, Velocity: 1, Confidence: 1}
	sees("Bb2   not known  2        127")
	write("o")
	sees("String 6, open (E2): pluck it with each click.")
	write("\r")
	sees("count-in")
	write("\x1b")
	sees("nothing was kept")
	c, err := s.Inputs.Store.Calibration("test")
	require.NoError(t, err)
	assert.Zero(t, c)
	write("\x1b")
	time.Sleep(100 * time.Millisecond) // a key after esc in one read is another key
	write("d\r")
	guitar := <-opened
	write("q")
	require.NoError(t, <-done)
	_, on := <-guitar.notes
	assert.False(t, on, "the drill's input was let go")
	assert.NotRegexp(t, "\x1b\\[[0-9;]*m", out.text())
}

func TestGuardEndsTheProgramWithTheFault(t *testing.T) {
	s := services(t, termenv.Ascii, nil)
	in, _ := io.Pipe()
	guard.Go(func() {
		time.Sleep(50 * time.Millisecond)
		panic("a string snapped")
	})
	var out bytes.Buffer
	err := Run(in, &out, s)
	assert.ErrorContains(t, err, "a string snapped")
	assert.Contains(t, out.String(), "\x1b[?1049l", "the terminal is put back")
}

func BenchmarkKeyToFrame(b *testing.B) {
	d := drive(b, services(b, termenv.TrueColor, nil), 200, 60, DrillOf(session.Choice{Drill: drills.Mixed, Chords: "sevenths"}))
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		d.send(tea.KeyMsg{Type: []tea.KeyType{tea.KeyRight, tea.KeyLeft}[i%2]})
		_ = d.f.View()
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/frame")
}

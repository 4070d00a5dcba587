package screen

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/charmbracelet/x/exp/teatest"
	"github.com/google/uuid"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/playalong"
	"footfall/trainer/practice"
	"footfall/trainer/screen/home"
	"footfall/trainer/screen/inputs"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/sound"
)

// still is a clock that moves a second each time it is asked.
type still struct {
	mu sync.Mutex
	t  time.Time
}

func (c *still) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(time.Second)
	return c.t
}

// ledger is a history in memory, which can be told to fail.
type ledger struct {
	mu      sync.Mutex
	answers []history.Answer
	broken  bool
	record  progress.Record
}

func (l *ledger) Begin(_ context.Context, s history.Sitting) (history.Sitting, error) {
	s.ID = uuid.UUID{1}
	return s, nil
}

func (l *ledger) Append(_ context.Context, a history.Answer) (history.Answer, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.broken {
		return a, errors.New("the disk is full")
	}
	l.answers = append(l.answers, a)
	return a, nil
}

func (l *ledger) Pace(_ memory.Kind, w memory.Way) memory.Pace                 { return memory.Pace{Way: w} }
func (l *ledger) States(context.Context) (map[memory.Item]memory.State, error) { return nil, nil }
func (l *ledger) Notice() string                                               { return "" }

func (l *ledger) LastTakes(context.Context) (map[memory.Item]history.Take, error) { return nil, nil }
func (l *ledger) TunesInWork(context.Context, time.Time) ([]string, error)        { return nil, nil }
func (l *ledger) Look(context.Context, memory.Day, memory.Day) (progress.Record, error) {
	return l.record, nil
}

func (l *ledger) kept() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.answers)
}

func walk(t testing.TB) *tune.Tune {
	c, err := harmony.ParseChord("Bbmaj7")
	require.NoError(t, err)
	f, err := harmony.ParseChord("F7")
	require.NoError(t, err)
	token := func(d int8) tune.BassBeat {
		return tune.BassBeat{First: tune.BassToken{Kind: tune.BassNote, Degree: harmony.Degree{Number: d}}}
	}
	return &tune.Tune{
		Title: "Lantern Street", Trains: "Two bars in three, for the tests.", Key: harmony.Key{Tonic: harmony.Note{Letter: harmony.B, Alter: -1}},
		Meter: tune.Meter{Upper: 3, Lower: 4}, Tempo: 104, Swing: tune.Ratio{Long: 2, Short: 1},
		Sections: []tune.Section{{Name: "A", Bars: []tune.Bar{
			{Chords: []tune.Change{{Chord: c, Slots: 1}}, Bass: []tune.BassBeat{token(1), token(3), token(5)}},
			{Chords: []tune.Change{{Chord: f, Slots: 1}}, Bass: []tune.BassBeat{token(1), token(3), token(5)}},
		}}},
	}
}

func services(t testing.TB, profile termenv.Profile, h practice.History) *Services {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(profile)
	r.SetHasDarkBackground(true)
	clock := &still{t: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	return &Services{
		Theme: theme.New(r, false), Guard: new(Guard), Questions: 3,
		PlayAlong: func(practice.Tune, Manner) (*playalong.Session, func(), error) {
			return nil, nil, errors.New("nothing sounds in the tests")
		},
		Desk: &practice.Desk{
			Tunes: []practice.Tune{{Name: "lantern-street", Tune: walk(t)}},
			Neck:  fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: h, Now: clock.now, Seed: func() uint64 { return 7 },
		},
		Inputs: inputs.Gear{
			Store: listen.StoreIn(t.TempDir()), Tuning: fretboard.Standard, Tempo: 300, Bars: 1, Sound: sound.Options{Mute: true},
			Present: func() ([]listen.Port, error) { return nil, nil },
			Current: func() string { return "" },
		},
	}
}

// driver runs the frame without a terminal: keys in, views out, commands run to
// their end.
type driver struct {
	t testing.TB
	f *frame
	// quit is set when the program was asked to end.
	quit bool
}

func drive(t testing.TB, s *Services, width, height int, over ...page.ID) *driver {
	f, err := newFrame(s, append([]page.ID{Home}, over...)...)
	require.NoError(t, err)
	d := &driver{t: t, f: f}
	d.run(f.Init())
	d.send(tea.WindowSizeMsg{Width: width, Height: height})
	return d
}

func (d *driver) send(m tea.Msg) {
	_, cmd := d.f.Update(m)
	d.run(cmd)
}

func (d *driver) run(cmd tea.Cmd) {
	if cmd == nil {
		return
	}
	switch m := cmd().(type) {
	case nil:
	case tea.QuitMsg:
		d.quit = true
	case tea.BatchMsg:
		for _, c := range m {
			d.run(c)
		}
	default:
		if many, ok := sequence(m); ok {
			for _, c := range many {
				d.run(c)
			}
			return
		}
		d.send(m)
	}
}

// sequence takes apart the message of tea.Sequence, whose type is not exported.
func sequence(m tea.Msg) ([]tea.Cmd, bool) {
	if fmt.Sprintf("%T", m) != "tea.sequenceMsg" {
		return nil, false
	}
	var cmds []tea.Cmd
	v := reflect.ValueOf(m)
	for i := range v.Len() {
		cmds = append(cmds, v.Index(i).Interface().(tea.Cmd))
	}
	return cmds, true
}

var named = map[string]tea.KeyType{
	"enter": tea.KeyEnter, "esc": tea.KeyEsc, "up": tea.KeyUp, "down": tea.KeyDown, "left": tea.KeyLeft, "right": tea.KeyRight,
	"backspace": tea.KeyBackspace, "ctrl+c": tea.KeyCtrlC, "home": tea.KeyHome, "end": tea.KeyEnd, "pgdown": tea.KeyPgDown, "pgup": tea.KeyPgUp, "space": tea.KeySpace,
}

// press sends keys: names of keys, else runes that arrive in one read.
func (d *driver) press(keys ...string) {
	for _, k := range keys {
		if n, ok := named[k]; ok {
			m := tea.KeyMsg{Type: n}
			if k == "space" {
				m.Runes = []rune{' '}
			}
			d.send(m)
			continue
		}
		d.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)})
	}
}

func (d *driver) view() string { return ansi.Strip(d.f.View()) }

func (d *driver) sees(text string) {
	d.t.Helper()
	require.Contains(d.t, d.view(), text)
}

// right types the right answer of a find question.
func (d *driver) right() string {
	var q string
	for l := range strings.SplitSeq(d.view(), "\n") {
		if strings.HasPrefix(l, "  Play the ") {
			q = l
		}
	}
	var deg, sym string
	var str int
	_, err := fmt.Sscanf(strings.TrimSuffix(q, "."), "  Play the %s of %s on string %d", &deg, &sym, &str)
	require.NoError(d.t, err, "%q", q)
	c, err := harmony.ParseChord(sym)
	require.NoError(d.t, err)
	dg, err := harmony.ParseDegree(deg)
	require.NoError(d.t, err)
	open := map[int]int{6: 40, 5: 45}[str] // MIDI 1.0: E2, A2
	return fmt.Sprint(((dg.Of(c.Root).Semitone()-open)%12 + 12) % 12)
}

func TestASittingFromTheFirstScreen(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24)
	d.sees("First chords")
	d.sees("new here? press enter")
	d.press("enter")
	d.sees("question 1 of 3")
	d.sees("So ") // a first question is worked out
	d.sees("half step")
	d.press(d.right(), "enter")
	d.sees("Sure")
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
	d.sees("of 3:")
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
	d := drive(t, s, 80, 24, DrillOf(practice.Choice{Drill: "find", Chords: "first"}))
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
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(practice.Choice{Drill: "find", Chords: "first"}))
	d.press("1", "enter")
	d.sees("the disk is full")
	d.press("enter")
	d.sees("question 2 of 3")
	d.press("esc")
	d.sees("Answers not on the disk yet: 1.")
}

func TestNotesThatAreHeard(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(practice.Choice{Drill: "find", Chords: "first"}))
	d.send(page.Note{MIDI: 40, String: 6})
	require.Equal(t, 1, l.kept())
	assert.Equal(t, memory.MIDI, l.answers[0].Way)
	d.send(page.Note{MIDI: 41, String: 6})
	assert.Equal(t, 1, l.kept(), "a note while the verdict shows is no answer")
}

// Questions with choices and with several places go the same way.
func TestChoicesAndPlaces(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(practice.Choice{Drill: "shape", Chords: "first"}))
	d.sees("  1  ")
	d.press("9", "enter")
	require.Zero(t, l.kept(), "9 is no choice")
	d.press("backspace", "1", "enter")
	require.Equal(t, 1, l.kept())

	d = drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(practice.Choice{Drill: "build", Chords: "first"}))
	d.press("right", "enter")
	d.sees("Nothing is typed yet")
	d.press("home", "space", "up", "up", "space", "space", "right", "space")
	d.sees("  4:1")
	d.press("enter")
	require.Equal(t, 2, l.kept())
	assert.Equal(t, memory.Cursor, l.answers[1].Way)
}

func TestEscAndHelpAndSmallTerminals(t *testing.T) {
	d := drive(t, services(t, termenv.Ascii, nil), 80, 24)
	d.press("?")
	d.sees("Keys of this page")
	d.sees("which drill")
	d.press("x")
	d.sees("First chords")
	d.press("right", "enter", "esc")
	d.sees("[name]")
	d.press("esc")
	assert.False(t, d.quit)
	d.send(tea.WindowSizeMsg{Width: 60, Height: 20})
	d.sees("Footfall needs 80 columns and 24 rows.")
	d.sees("This terminal has 60 and 20")
	d.press("enter")
	d.send(tea.WindowSizeMsg{Width: 80, Height: 24})
	d.sees("[name]")
	d.press("right", "right", "enter")
	d.sees("line walks through a tune")
	d.press("q")
	assert.True(t, d.quit)
}

// The views as a player sees them; each golden was looked at. There is but one
// door, so that a new one changes none of them.
func TestViews(t *testing.T) {
	all := doors
	t.Cleanup(func() { doors = all })
	doors = []home.Door{{Key: page.Shapes, Says: "shapes", To: func(string) page.ID { return page.ID{Kind: "shapes"} }}}
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
	f, err := newFrame(s, Home)
	require.NoError(t, err)
	tm := teatest.NewTestModel(t, f, teatest.WithInitialTermSize(80, 24))
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	tm.Type("3")
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	var all bytes.Buffer
	teatest.WaitFor(t, io.TeeReader(tm.Output(), &all), func(b []byte) bool { return bytes.Contains(b, []byte("1.0 s")) }, teatest.WithDuration(5*time.Second))
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	tm.Type("jjq")
	tm.WaitFinished(t, teatest.WithFinalTimeout(5*time.Second))
	rest, err := io.ReadAll(tm.FinalOutput(t))
	require.NoError(t, err)
	all.Write(rest)
	assert.NotRegexp(t, "\x1b\\[[0-9;]*m", all.String())
	assert.NotContains(t, all.String(), "\x1b]11")
}

// Four strings or eight, left-handed, with 24 frets: the question, its choices
// and what to type all fit the smallest terminal.
func TestOddNecksFit(t *testing.T) {
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
				d.send(page.Open{ID: DrillOf(practice.Choice{Drill: name, Chords: "first"})})
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

// However the keys fall, the frame neither panics nor outgrows the terminal.
func TestRandomKeys(t *testing.T) {
	n := 20_000
	if testing.Short() {
		n = 2_000
	}
	s := services(t, termenv.Ascii, &ledger{})
	d := drive(t, s, 80, 24)
	chance := rand.New(rand.NewPCG(1, 1))
	keys := []string{"enter", "enter", "enter", "esc", "up", "down", "left", "right", "backspace", "space", "home", "end", "pgup", "pgdown",
		"1", "2", "3", "7", "12", "b", "#", "♭", "C", "x", "?", "bunch of runes", "p", "a", "s", "i", "l", "t", "T", "+", "-", "/"}
	for range n {
		d.press(keys[chance.IntN(len(keys))])
		if chance.IntN(50) == 0 {
			d.send(tea.WindowSizeMsg{Width: 10 + chance.IntN(200), Height: 5 + chance.IntN(60)})
		}
		view := d.f.View()
		if h := lipgloss.Height(view); h > max(d.f.height, 4) {
			t.Fatalf("%d rows of %d", h, d.f.height)
		}
	}
}

// instrument is an input of one note.
type instrument struct{ notes chan listen.Note }

func (i *instrument) Name() string                            { return "test" }
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
		done <- Run(in, io.Discard, s, DrillOf(practice.Choice{Drill: "find", Chords: "first"}))
	}()
	require.Eventually(t, func() bool {
		guitar.notes <- listen.Note{MIDI: 43, String: 6, Channel: 6}           // a note's end is no answer
		guitar.notes <- listen.Note{On: true, MIDI: 43, String: 6, Channel: 6} // G2, string 6 fret 3
		return l.kept() == 1
	}, 5*time.Second, time.Millisecond, "notes that come before the program runs are not heard")
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
	p := tea.NewProgram(f, tea.WithInput(in), tea.WithOutput(out), tea.WithoutSignalHandler())
	s.Guard.attach(p)
	go func() { _, err := p.Run(); done <- err }()
	p.Send(tea.WindowSizeMsg{Width: 80, Height: 24})
	write := func(k string) {
		_, err := io.WriteString(keys, k)
		require.NoError(t, err)
	}
	sees := func(text string) {
		t.Helper()
		require.Eventually(t, func() bool { return strings.Contains(out.text(), text) }, 5*time.Second, time.Millisecond, text)
	}
	sees("what will you practise?")
	write("i")
	sees("Drum")
	sees("Nothing is listened to")
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
	write("\r")
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
	go s.Guard.Go(func() {
		time.Sleep(50 * time.Millisecond)
		panic("a string snapped")
	})
	var out bytes.Buffer
	err := Run(in, &out, s)
	assert.ErrorContains(t, err, "a string snapped")
	assert.Contains(t, out.String(), "\x1b[?1049l", "the terminal is put back")
}

func BenchmarkKeyToFrame(b *testing.B) {
	d := drive(b, services(b, termenv.TrueColor, nil), 200, 60, DrillOf(practice.Choice{Drill: drills.Mixed, Chords: "sevenths"}))
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		d.send(tea.KeyMsg{Type: []tea.KeyType{tea.KeyRight, tea.KeyLeft}[i%2]})
		_ = d.f.View()
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/frame")
}

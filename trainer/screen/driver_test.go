package screen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/google/uuid"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/screen/inputs"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/settings"
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
	deaf    bool // cannot be read
	record  progress.Record
	plan    history.Plan
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

func (l *ledger) AppendTake(_ context.Context, t history.Take) (history.Take, error) { return t, nil }
func (l *ledger) JudgePass(context.Context, uuid.UUID, bool, int, string) error      { return nil }
func (l *ledger) Withdraw(context.Context, history.Answer) error                     { return nil }

func (l *ledger) Pace(_ memory.Kind, w memory.Way) memory.Pace                 { return memory.Pace{Way: w} }
func (l *ledger) States(context.Context) (map[memory.Item]memory.State, error) { return nil, nil }
func (l *ledger) Notice() string                                               { return "" }

func (l *ledger) LastTakes(context.Context) (map[memory.Item]history.Take, error) { return nil, nil }
func (l *ledger) TunesInWork(context.Context, time.Time) ([]string, error)        { return nil, nil }
func (l *ledger) Look(context.Context, memory.Day, memory.Day) (progress.Record, error) {
	if l.deaf {
		return l.record, errors.New("the disk went away")
	}
	return l.record, nil
}

func (l *ledger) Answers(context.Context, time.Time, func(history.Answer) error) error { return nil }

func (l *ledger) KeepPlan(_ context.Context, p history.Plan) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.plan = p
	return nil
}

func (l *ledger) LastPlan(context.Context, memory.Day) (history.Plan, bool, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.plan, l.plan.Text != nil, nil
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
		Meter: tune.Meter{Upper: 3, Lower: 4}, Tempo: 104, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 2, Short: 1}},
		Sections: []tune.Section{{Name: "A", Bars: []tune.Bar{
			{Chords: []tune.Change{{Chord: c, Slots: 1}}, Bass: []tune.BassBeat{token(1), token(3), token(5)}},
			{Chords: []tune.Change{{Chord: f, Slots: 1}}, Bass: []tune.BassBeat{token(1), token(3), token(5)}},
		}}},
	}
}

func services(t testing.TB, profile termenv.Profile, h session.History) *Services {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(profile)
	r.SetHasDarkBackground(true)
	clock := &still{t: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	return &Services{
		Theme: theme.New(r, false), Guard: new(Guard), Questions: 3,
		Desk: &session.Desk{
			Tunes: []session.Tune{{Name: "lantern-street", Tune: walk(t)}},
			Neck:  fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: h, Now: clock.now, Seed: func() uint64 { return 7 },
			Sounding: session.Sounding{Input: func(time.Time) (listen.Input, error) { return nil, errors.New("nothing sounds in the tests") }},
		},
		Settings: Settings{Now: settings.Default(), Path: filepath.Join(t.TempDir(), "settings.toml")},
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
	"backspace": tea.KeyBackspace, "ctrl+c": tea.KeyCtrlC, "home": tea.KeyHome, "end": tea.KeyEnd, "pgdown": tea.KeyPgDown, "pgup": tea.KeyPgUp, "space": tea.KeySpace, "tab": tea.KeyTab, "shift+tab": tea.KeyShiftTab, "ctrl+s": tea.KeyCtrlS, "ctrl+l": tea.KeyCtrlL, "delete": tea.KeyDelete,
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

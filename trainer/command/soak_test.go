package command

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/plain"
	"footfall/trainer/screen/play"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// soaked is a play-along in simulated time that somebody plays to, kept as the
// play command keeps it.
type soaked struct {
	along *session.PlayAlong
	in    soakEar
	began time.Time
	bar   struct{ pass, number int }
	due   []listen.Note
}

// soakEar is an input whose notes the test plays.
type soakEar struct{ *listen.Feed }

func (soakEar) Close() error { return nil }

const soakTempo = 120

func soak(t *testing.T, k *history.Keeper) *soaked {
	tn, ok := content.Tune("tin-kettle-blues")
	require.True(t, ok)
	s := &soaked{in: soakEar{listen.NewFeed("soak", listen.Options{}, "waiting")}}
	s.in.Found(0, "hearing")
	desk := &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: k, Now: time.Now, Sounding: session.Sounding{
		Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
		Input: func(epoch time.Time) (listen.Input, error) {
			s.began = epoch
			return s.in, nil
		},
	}}
	var err error
	s.along, err = desk.PlayAlong(session.Passage{Tune: session.Tune{Name: "tin-kettle-blues", Tune: tn}, Ramp: fmt.Sprint(soakTempo)})
	require.NoError(t, err)
	return s
}

// perform plays what is due by now, stamped where it was due; an eighth of the
// bars is left out, and each bar has a note too many.
func (s *soaked) perform() {
	now := s.along.Now()
	if now.State == sound.Playing && (s.bar.pass != now.Pass || s.bar.number != now.Point.Bar) {
		s.bar.pass, s.bar.number = now.Pass, now.Point.Bar
		shift := time.Since(s.began) - now.At.Duration()
		placed := harmony.Place(now.Bar, now.Start)
		if now.Point.Bar%8 != 0 {
			for _, e := range take.Expect(s.along.Arrangement(), placed, take.Bars{First: now.Point.Bar, Last: now.Point.Bar}) {
				for _, n := range e.Notes {
					s.due = append(s.due, listen.Note{At: e.Time + shift, On: true, MIDI: n.MIDI, String: n.Place.String, Velocity: 0.8, Confidence: 1})
				}
			}
		}
		s.due = append(s.due, listen.Note{At: placed.Beat(2, false).Duration() + shift + 150*time.Millisecond, On: true, MIDI: 90, Velocity: 0.5, Confidence: 1})
		slices.SortStableFunc(s.due, func(a, b listen.Note) int { return int(a.At - b.At) })
	}
	for len(s.due) > 0 && s.due[0].At <= time.Since(s.began) {
		s.in.Hand(s.due[0])
		s.due = slices.Delete(s.due, 0, 1)
	}
}

// settled is what is in use once the rubbish is taken out.
type settled struct {
	heap       uint64
	goroutines int
}

func settle() settled {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return settled{m.HeapAlloc, runtime.NumGoroutine()}
}

func (s settled) like(t *testing.T, later settled, bytes int) {
	t.Helper()
	t.Logf("heap %.2f MB, then %.2f MB; goroutines %d, then %d", float64(s.heap)/1e6, float64(later.heap)/1e6, s.goroutines, later.goroutines)
	assert.Less(t, int64(later.heap)-int64(s.heap), int64(bytes), "bytes more on the heap")
	assert.LessOrEqual(t, later.goroutines, s.goroutines+2)
}

// Three hours of playing along on the screen, or as many as FOOTFALL_TEST_HOURS says
// (.ci/soak along), scored note by note and kept, take no more memory at their end than
// after their first half hour but what the passes are remembered by, and no pass is lost.
func TestHoursOfPlayingAlong(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	hours := 3
	if n, err := strconv.Atoi(os.Getenv("FOOTFALL_TEST_HOURS")); err == nil {
		hours = n
	}
	data := t.TempDir()
	var passes int
	synctest.Test(t, func(t *testing.T) {
		k, err := history.Keep(history.Path(data), time.Now, nil)
		require.NoError(t, err)
		s := soak(t, k)
		lr := lipgloss.NewRenderer(io.Discard)
		lr.SetColorProfile(termenv.Ascii)
		p := play.New(theme.New(lr, false), fretboard.StandardNeck(), s.along)
		p.SetSize(80, 20)
		msgs := make(chan tea.Msg)
		run := func(cmd tea.Cmd) {
			if cmd == nil {
				return
			}
			go func() {
				if m := cmd(); m != nil {
					msgs <- m
				}
			}()
		}
		go func() {
			for range s.along.Events() {
				msgs <- play.Told{From: s.along}
			}
		}()
		run(p.Update(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}))
		var early settled
		shown := 0
		for time.Since(s.began) < time.Duration(hours)*time.Hour {
			run(p.Update(<-msgs))
			s.perform()
			if secs := int(time.Since(s.began) / (30 * time.Second)); secs > shown {
				shown = secs
				require.NotEmpty(t, p.View())
			}
			if early.heap == 0 && time.Since(s.began) > 30*time.Minute {
				early = settle()
			}
		}
		early.like(t, settle(), (hours+1)<<17) // 300 bytes a pass
		require.NoError(t, s.along.Pause())
		run(p.Leave())
		for over := time.After(time.Second); over != nil; {
			select {
			case <-msgs:
			case <-over:
				over = nil
			}
		}
		passes = len(s.along.Results())
		require.NoError(t, k.Close())
	})
	// 12 bars of 4 beats and a bar counted in.
	assert.InDelta(t, float64(hours)*3600/(48*60.0/soakTempo), passes, 3)
	store, err := history.Open(history.Path(data), nil, nil)
	require.NoError(t, err)
	defer store.Close()
	r, err := store.Look(context.Background(), 0, memory.DayOf(time.Date(2000, 1, 2, 0, 0, 0, 0, time.UTC)))
	require.NoError(t, err)
	assert.Len(t, r.Takes, passes)
	for _, k := range r.Takes {
		assert.Equal(t, r.Takes[0].Matched, k.Matched)
	}
}

// Half an hour in lines takes no more memory at its end than after its first five
// minutes.
func TestHalfAnHourOfPlayingAlongInLines(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	data := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		k, err := history.Keep(history.Path(filepath.Join(data, "h")), time.Now, nil)
		require.NoError(t, err)
		s := soak(t, k)
		in, words := io.Pipe()
		go func() {
			var early settled
			for time.Since(s.began) < 30*time.Minute {
				time.Sleep(20 * time.Millisecond)
				s.perform()
				if early.heap == 0 && time.Since(s.began) > 5*time.Minute {
					early = settle()
				}
			}
			early.like(t, settle(), 1<<20)
			io.Copy(words, strings.NewReader(plain.Quit+"\n"))
			words.Close()
		}()
		plain.New(in, io.Discard, time.Now).Play(s.along)
		require.NoError(t, k.Close())
	})
}

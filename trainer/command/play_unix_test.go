//go:build unix

package command

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/listen/listentest"
)

const (
	fourBars   = "testdata/takes/four-bars.tune"
	playTempo  = 300 // quarter notes a minute
	playedBeat = 200 * time.Millisecond
	ms         = time.Millisecond
)

// act is what the test player does for an expected event; event is −1 for one
// that nothing asks for.
type act struct {
	listentest.Act
	event int
}

// performance is a way to play four bars, and what its score must find.
type performance struct {
	name string
	// play changes the perfect acts and the verdicts wanted, which are "matched".
	play func(expected []take.Expected, acts []act, want []string) []act
	// extra is how many notes are played that nothing asked for.
	extra int
}

var performances = []performance{
	{"perfect", func(_ []take.Expected, acts []act, _ []string) []act { return acts }, 0},
	{"late by 30 ms", func(_ []take.Expected, acts []act, _ []string) []act {
		for i := range acts {
			acts[i].Late = 30 * ms
		}
		return acts
	}, 0},
	{"a tenth left out", func(_ []take.Expected, acts []act, want []string) []act {
		return slices.DeleteFunc(acts, func(a act) bool {
			if a.event%10 == 3 {
				want[a.event] = "missed"
			}
			return a.event%10 == 3
		})
	}, 0},
	{"notes added between", func(_ []take.Expected, acts []act, _ []string) []act {
		for bar := range 4 {
			due := time.Duration(bar)*4*playedBeat + 300*ms
			acts = append(acts, act{event: -1, Act: listentest.Act{Due: due, Keys: []listentest.Key{{Channel: 3, MIDI: 80}}}})
		}
		return acts
	}, 4},
	{"wrong octaves and pitches", func(expected []take.Expected, acts []act, want []string) []act {
		for i := range acts {
			// Alone, so that no hit of the same moment can take the note for its own.
			if expected[i].Kind != fretboard.BassEvent || expected[i].At.Beat%2 == 1 {
				continue
			}
			if expected[i].At.Bar%2 == 0 {
				acts[i].Keys[0].MIDI += 24
				want[i] = "wrong octave"
			} else {
				acts[i].Keys[0].MIDI++
				want[i] = "wrong pitch"
			}
		}
		return acts
	}, 0},
	{"the wrong string", func(expected []take.Expected, acts []act, want []string) []act {
		for i := range acts {
			if expected[i].Kind == fretboard.BassEvent && acts[i].Keys[0].Channel == 5 {
				acts[i].Keys[0].Channel = 6
				want[i] = "wrong string"
			}
		}
		return acts
	}, 0},
	{"a human", func(_ []take.Expected, acts []act, _ []string) []act {
		r := rand.New(rand.NewPCG(1, 1))
		for i := range acts {
			acts[i].Late = time.Duration(r.NormFloat64()*5*float64(ms)) + 10*ms
		}
		return acts
	}, 0},
	{"the pipe closed in bar 2", func(expected []take.Expected, acts []act, want []string) []act {
		acts = slices.DeleteFunc(acts, func(a act) bool {
			away := expected[a.event].Time >= 5*playedBeat && expected[a.event].Time < 8*playedBeat
			if away {
				want[a.event] = "not heard"
			}
			return away
		})
		return append(acts, act{event: -1, Act: listentest.Act{Due: 930 * ms, Unplug: true, Until: 1545 * ms}})
	}, 0},
}

// A test player writes MIDI bytes into a pipe in real time against the running
// play command, and the score states what was done: every verdict, and every
// offset within 3 ms of when the bytes were really sent. Hits are strummed.
func TestPlayInRealTime(t *testing.T) {
	if testing.Short() {
		t.Skip("plays four bars in real time")
	}
	ownFolders(t)
	text, err := os.ReadFile(fourBars)
	require.NoError(t, err)
	tn, faults := tune.Read(string(text))
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves, fretboard.AtTempo(playTempo))
	require.NoError(t, err)
	start, err := tn.Placed(1, playTempo)
	require.NoError(t, err)
	expected := take.Expect(a, start, take.Bars{})
	require.Len(t, expected, 16+3*4)

	listentest.Hurry()
	var (
		playing    sync.WaitGroup
		mu         sync.Mutex
		unmeasured []string
	)
	for _, p := range performances {
		// All at once: they mostly sleep, and t.Parallel would play them by twos.
		playing.Go(func() {
			wrong, worst, err := perform(t.TempDir(), expected, p)
			switch {
			case !assert.NoError(t, err, p.name), len(wrong) == 0:
			case worst < 2*ms:
				t.Errorf("%s: %s", p.name, strings.Join(wrong, "; "))
			default:
				mu.Lock()
				defer mu.Unlock()
				unmeasured = append(unmeasured, fmt.Sprintf("%s (stood still for %v)", p.name, worst))
			}
		})
	}
	playing.Wait()
	if len(unmeasured) > 0 && !t.Failed() {
		t.Skipf("this machine is too busy to measure 3 ms: %s", strings.Join(unmeasured, ", "))
	}
}

// perform plays one performance against the command and lists where the score is
// not what was done; worst is how long the machine stood still meanwhile.
func perform(folder string, expected []take.Expected, p performance) (wrong []string, worst time.Duration, err error) {
	path := filepath.Join(folder, "midi")
	if err := unix.Mkfifo(path, 0o600); err != nil {
		return nil, 0, err
	}
	var strung []listen.StringCalibration
	for str := 1; str <= 6; str++ {
		strung = append(strung, listen.StringCalibration{String: str, Channel: str})
	}
	if err := listen.StoreIn(folder).Learn(path, listen.FromStrings(strung)); err != nil {
		return nil, 0, err
	}
	want := slices.Repeat([]string{"matched"}, len(expected))
	var acts []act
	for i, e := range expected {
		x := act{event: i, Act: listentest.Act{Due: e.Time}}
		for _, n := range e.Notes {
			x.Keys = append(x.Keys, listentest.Key{Channel: n.Place.String, MIDI: n.MIDI})
		}
		acts = append(acts, x)
	}
	acts = p.play(expected, acts, want)
	slices.SortStableFunc(acts, func(a, b act) int { return int(a.Due - b.Due) })
	todo := make([]listentest.Act, len(acts))
	for i := range acts {
		todo[i] = acts[i].Act
	}

	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute)
	defer stop()
	lines, to := io.Pipe()
	var out bytes.Buffer
	ended := make(chan error, 1)
	stalls := listentest.WatchStalls()
	go func() {
		cmd := New(nil)
		cmd.SetArgs([]string{
			"play", fourBars, "--json", "--silent", "--port", path, "--tempo", fmt.Sprint(playTempo),
			"--layer", "bass+halves", "--passes", "1", "--data", folder,
		})
		cmd.SetIn(strings.NewReader(""))
		cmd.SetOut(&out)
		cmd.SetErr(to)
		err := cmd.ExecuteContext(ctx)
		to.Close()
		ended <- err
	}()
	performed := make(chan error, 1)
	var begun time.Time
	better, err := follow(lines, func(start time.Time) {
		begun = start
		go func() { performed <- listentest.Perform(path, start, 16*playedBeat+100*ms, todo) }()
	})
	worst = stalls.Stop()
	if err == nil {
		err = <-ended
	}
	if err == nil {
		err = <-performed
	}
	if err != nil {
		return nil, worst, err
	}
	var sc scored
	if err := json.Unmarshal(out.Bytes(), &sc); err != nil {
		return nil, worst, err
	}
	for i := range acts {
		acts[i].Act = todo[i]
		acts[i].Sent += begun.Sub(better)
	}
	return differences(sc, acts, want, p.extra), worst, nil
}

// follow reads what the command says and, when it says the first bar, which it does
// on the first beat of the count-in, tells when that bar begins. Each bar after it is
// said on the first beat of the one before; no line comes before its beat, so the
// earliest tells best: better is when the first bar began by all of them.
func follow(lines io.Reader, begin func(bar1 time.Time)) (better time.Time, err error) {
	bars := []string{"C.", "A.", "D.", "G seven."} // as many words as there is time for
	next := 0
	said := bufio.NewScanner(lines)
	for said.Scan() {
		if next == len(bars) || said.Text() != bars[next] {
			continue
		}
		at := time.Now().Add(time.Duration(1-next) * 4 * playedBeat)
		if next == 0 || at.Before(better) {
			better = at
		}
		if next == 0 {
			begin(at)
		}
		next++
	}
	if next < len(bars) && said.Err() == nil {
		return better, fmt.Errorf("%d bars were said, not %d", next, len(bars))
	}
	return better, said.Err()
}

func differences(sc scored, acts []act, want []string, extra int) (wrong []string) {
	if len(sc.Events) != len(want) {
		return []string{fmt.Sprintf("%d events, not %d", len(sc.Events), len(want))}
	}
	for i, e := range sc.Events {
		if e.Verdict != want[i] {
			wrong = append(wrong, fmt.Sprintf("event %d is %s, not %s", i, e.Verdict, want[i]))
		}
	}
	if sc.Extra != extra {
		wrong = append(wrong, fmt.Sprintf("%d notes are extra, not %d", sc.Extra, extra))
	}
	for _, a := range acts {
		if a.event < 0 || sc.Events[a.event].RawMS == nil {
			continue
		}
		really := inMS(a.Sent) - 1000*sc.Events[a.event].At
		if off := *sc.Events[a.event].RawMS - really; off > 3 || off < -3 {
			wrong = append(wrong, fmt.Sprintf("event %d is %.1f ms off", a.event, off))
		}
	}
	return wrong
}

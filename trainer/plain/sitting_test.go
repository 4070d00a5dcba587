package plain_test

import (
	"bufio"
	"io"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/history"
	"footfall/trainer/plain"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

const twoBars = `tune  Kettle Lid
key   C
meter 2/4
tempo 300

[A]
chords | C     | G7    |
bass   | 1 /3  | 1 /3  |
`

// A player who only hears lines goes through all of the program: a first sitting
// that is led, a play-along, the day's plan with a passage of it, and the look back.
func TestAFullSittingByEarAlone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		kettle, faults := tune.Read(twoBars)
		require.Empty(t, faults)
		k, err := history.Keep(history.Path(t.TempDir()), time.Now, nil)
		require.NoError(t, err)
		d := &session.Desk{
			Tunes: []session.Tune{{Name: "kettle-lid", Tune: kettle}},
			Neck:  fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: k, Now: time.Now, Seed: func() uint64 { return 1 },
			Sounding: session.Sounding{Sound: sound.Options{Mute: true}, CountIn: 1, Score: take.DefaultSettings()},
		}
		in, keys := io.Pipe()
		screen, out := io.Pipe()
		f := plain.New(in, out, d.Now)
		f.Tell("inputs", "What hears your playing.", "footfall listen --ports lists them.")
		done := make(chan struct{})
		go func() {
			defer close(done)
			f.Menu(d)
			out.Close()
		}()
		heard := bufio.NewScanner(screen)
		var all strings.Builder
		// hears reads lines until one says the text; then the player answers.
		hears := func(text, answer string) string {
			t.Helper()
			for heard.Scan() {
				l := heard.Text()
				all.WriteString(l + "\n")
				if strings.Contains(l, text) {
					_, err := io.WriteString(keys, answer+"\n")
					require.NoError(t, err)
					return l
				}
			}
			t.Fatalf("never heard %q in:\n%s", text, all.String())
			return ""
		}
		hears("New here? Press enter", "")
		// The way to the first answer is told; the player types the fret that was named.
		fret := ""
		for fret == "" && heard.Scan() {
			all.WriteString(heard.Text() + "\n")
			if _, rest, ok := strings.Cut(heard.Text(), "is fret "); ok {
				fret, _, _ = strings.Cut(strings.ReplaceAll(rest, ":", " "), " ")
			}
		}
		_, err = io.WriteString(keys, fret+"\n")
		require.NoError(t, err)
		hears("Correct", "what")
		hears(`"what" is no fret`, "3")
		hears("3. ", "quit")
		hears("Type a drill", "arrange kettle-lid")
		hears("Bar 1, section A bar 1.", "next")
		hears("Bar 2, section A bar 2.", "stop")
		hears("Type a drill", "shapes G7 b7")
		hears("1. ", "play Kettle Lid section Z")
		hears(`no section "Z"`, "play Kettle Lid section A layer bass tempo 300 passes many")
		hears(`"many" passes are none: give a number from 1.`, "play Kettle Lid section A layer bass tempo 300")
		hears("G.", "go")
		hears("Was pass 1 clean? yes or no.", "yes")
		hears("Type a drill", "today")
		plan, err := d.Today(session.Day{})
		require.NoError(t, err)
		joy := slices.IndexFunc(plan.Steps, func(s today.Step) bool { return s.Kind == today.Play && s.Tune != "" })
		require.Positive(t, joy)
		for steps := 0; ; {
			answer := "skip"
			if steps == joy {
				answer = ""
			}
			hears(". Enter starts, skip leaves it out", "list")
			hears(" waits. ", "nonsense")
			hears(`"nonsense" starts nothing.`, answer)
			if steps++; answer == "" {
				break
			}
		}
		hears("C", "go") // that day the line is the player's own
		hears("Was pass 1 clean?", "yes")
		hears("Pass 1 at", "quit")
		hears("Type a drill", "review")
		hears("right of 2 asked.", "inputs")
		hears("footfall listen --ports lists them.", "quit")
		go func() { _, _ = io.Copy(io.Discard, screen) }()
		<-done
		require.NoError(t, keys.Close())
		require.NoError(t, k.Close())
		for l := range strings.Lines(all.String()) {
			sentence(t, strings.TrimRight(l, "\n"))
		}
	})
}

// sentence holds a line to what a screen reader can say: no escape codes, no boxes,
// nothing that only its column explains.
func sentence(t *testing.T, line string) {
	t.Helper()
	assert.NotRegexp(t, "[\x1b|\u2500-\u259f\t]", line)
	assert.NotRegexp(t, `\S {2,}\S`, line)
}

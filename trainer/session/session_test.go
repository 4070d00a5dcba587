package session_test

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

const twoBars = `tune Kettle Lid
key C
meter 4/4
tempo 120

[A]
chords | C | C |
bass   | 1 1 1 1 | 1 1 1 1 |
[B]
meter  3/4
chords | C | C |
bass   | 1 1 1 | 1 1 1 |
`

// scripted is a desk whose clock stands still at an evening.
func scripted(t *testing.T) (*session.Desk, *history.Keeper) {
	t.Helper()
	c, err := clock.Set("2026-12-01T18:00:00Z", time.UTC)
	require.NoError(t, err)
	c.Stop()
	k, err := history.Keep(filepath.Join(t.TempDir(), "history.db"), c.Now, nil)
	require.NoError(t, err)
	t.Cleanup(func() { k.Close() })
	lid, faults := tune.Read(twoBars)
	require.Empty(t, faults)
	return &session.Desk{
		Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: k, Now: c.Now, Clock: c, Seed: func() uint64 { return 1 },
		Tunes: []session.Tune{{Name: "kettle-lid", Tune: lid}},
	}, k
}

// lines writes events as scripts read them.
func lines(t *testing.T, told []session.Told) string {
	t.Helper()
	var b strings.Builder
	for _, e := range told {
		line, err := json.Marshal(e)
		require.NoError(t, err)
		b.WriteString(string(line) + "\n")
	}
	return b.String()
}

// do gives a session lines of JSON, and returns what it tells as lines of JSON.
func do(t *testing.T, s *session.Session, in ...string) string {
	t.Helper()
	var out string
	for _, line := range in {
		out += lines(t, s.Do(session.ReadCommand([]byte(line))))
	}
	return out
}

// The lines of a drill, word for word: a promise to scripts.
func TestADrillInLines(t *testing.T) {
	d, _ := scripted(t)
	s, err := d.Drill(session.Choice{Drill: "spell", Chords: "Dm7", Questions: 2}, false)
	require.NoError(t, err)
	first := lines(t, s.Begin())
	assert.Equal(t, `{"event":"question","at":"2026-12-01T18:00:00Z","id":1,"item":"spell:5:D","kind":"spell","new":true,`+
		`"prompt":"Which note is the 5 of Dm7?","chord":"Dm7","degree":"5","string":null,"frets":null,"choices":[],"right":["A"],"way":["Count the letters from D, D E F G A: it is some kind of A.","A 5 lies 7 half steps over the root D.","So the 5 of Dm7 is A."]}`+"\n", first)
	assert.Equal(t, `{"event":"judged","at":"2026-12-01T18:00:02.5Z","id":1,"result":"sure","right":["A"],"why":"A is the 5 of Dm7.","slow_after_s":8.24}`+"\n",
		strings.SplitAfter(do(t, s, `{"answer":"a","after_s":2.5}`), "\n")[0])
	assert.Equal(t, `{"event":"error","at":"2026-12-01T18:00:02.5Z","says":"\"hm\" changes nothing: write a JSON object a line, such as {\"start\":true}"}`+"\n", do(t, s, "hm"))
	last := strings.SplitAfter(do(t, s, `{"help":true,"after_s":4}`), "\n")
	require.Len(t, last, 3)
	assert.Contains(t, last[0], `"result":"missed"`)
	assert.Contains(t, last[1], `{"event":"end","at":"2026-12-01T18:00:06.5Z","drill":"spell","chords":"Dm7","asked":2,"right":1,"sure":1,"slow":0,"missed":1,`)
	assert.True(t, s.Over())
	assert.Empty(t, s.Do(session.Quit{}), "after the end nothing is told")
}

// A pass lasts as long as its bars do, each in its own meter: two bars of four beats
// and two of three at 120 are seven seconds, which the clock moves by.
func TestPassesInLines(t *testing.T) {
	d, k := scripted(t)
	s, err := d.Passes(session.Passage{Tune: d.Tunes[0], Ramp: "120:140+20,ladder1", Layer: "bass", Passes: 3})
	require.NoError(t, err)
	assert.Equal(t, `{"event":"pass","at":"2026-12-01T18:00:07Z","n":1,"tempo":120,"seconds":7,"clean":null}`+"\n", lines(t, s.Begin()))
	assert.Equal(t, `{"event":"pass","at":"2026-12-01T18:00:13Z","n":2,"tempo":140,"seconds":6,"clean":null}`+"\n", do(t, s, `{"clean":true,"pass":1}`))
	assert.Equal(t, `{"event":"pass","at":"2026-12-01T18:00:20Z","n":3,"tempo":120,"seconds":7,"clean":null}`+"\n", do(t, s, `{"clean":false}`))
	out := do(t, s, `{"quit":true}`)
	assert.Contains(t, out, `{"event":"end","at":"2026-12-01T18:00:20Z","tune":"Kettle Lid","layer":"bass","passes":[{"pass":1,"tempo":120,"length_s":7,"judged":true,"clean":true,`)
	assert.Contains(t, out, `{"pass":3,"tempo":120,"length_s":7,"judged":false,"clean":false,`, "the one that waited is kept without a word")
	look, err := k.Look(t.Context(), 0, memory.DayOf(d.Now()))
	require.NoError(t, err)
	assert.Len(t, look.Takes, 3)
}

// A day: steps wait, breaks do not, a step that is left is not done, one that comes to
// its end is; and a step that cannot be played is told and passed over.
func TestADayInLines(t *testing.T) {
	d, k := scripted(t)
	due := memory.Item{Kind: memory.Spell, Degree: "3", Root: "C"}
	plan := today.Plan{Day: "2026-12-01", Minutes: 20, Steps: []today.Step{
		{N: 1, Kind: today.Due, Minutes: 1, Text: "Warm up", Why: "due", Items: []memory.Item{due}},
		{Kind: today.Break, Minutes: 5, Text: "Break"},
		{N: 2, Kind: today.Passage, Minutes: 1, Text: "Play", Why: "it stands at 120", Tune: "kettle-lid", Section: "A", Layer: "bass", Tempo: 120, Passes: 2},
		{N: 3, Kind: today.Play, Minutes: 1, Text: "Gone", Why: "joy", Tune: "gone", Layer: "bass", Tempo: 100, Passes: 1},
		{N: 4, Kind: today.Play, Minutes: 1, Text: "Anything", Why: "joy"},
	}}
	text, err := plan.Written()
	require.NoError(t, err)
	require.NoError(t, k.KeepPlan(t.Context(), history.Plan{Day: memory.DayOf(d.Now()), At: d.Now(), Text: text}))
	agenda, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	s := d.DayOf(agenda, false)
	assert.Equal(t, `{"event":"plan","at":"2026-12-01T18:00:00Z","steps":[`+
		`{"n":1,"kind":"due","minutes":1,"says":"Warm up","why":"due","done":false,"items":["spell:3:C"],"met":false},`+
		`{"n":2,"kind":"passage","minutes":1,"says":"Play","why":"it stands at 120","done":false,"tune":"kettle-lid","section":"A","layer":"bass","tempo":120,"passes":2,"met":false},`+
		`{"n":3,"kind":"play","minutes":1,"says":"Gone","why":"joy","done":false,"tune":"gone","layer":"bass","tempo":100,"passes":1,"met":false},`+
		`{"n":4,"kind":"play","minutes":1,"says":"Anything","why":"joy","done":false,"met":false}]}`+"\n"+
		`{"event":"step","at":"2026-12-01T18:00:00Z","n":1,"kind":"due"}`+"\n", lines(t, s.Begin()))
	out := do(t, s, `{"answer":"E"}`, `{"start":true}`, `{"leave":true}`)
	assert.Contains(t, out, `a step waits: start it, skip it or quit`)
	assert.Contains(t, out, `{"event":"step_end","at":"2026-12-01T18:00:00Z","n":1,"done":false}`)
	assert.Contains(t, out, `{"event":"step","at":"2026-12-01T18:00:00Z","n":2,"kind":"passage"}`)
	out = do(t, s, `{"start":true}`, `{"clean":true}`, `{"skip":true}`)
	assert.Contains(t, out, `{"event":"step_end","at":"2026-12-01T18:00:08Z","n":2,"done":true}`)
	out = do(t, s, `{"start":true}`)
	assert.Contains(t, out, `This step cannot be played: no tune is called \"gone\"`)
	assert.Contains(t, out, `{"event":"step_end","at":"2026-12-01T18:00:08Z","n":3,"done":false}`)
	out = do(t, s, `{"start":true}`)
	assert.Contains(t, out, `{"event":"step_end","at":"2026-12-01T18:00:08Z","n":4,"done":false}`, "opening is not doing")
	assert.Contains(t, out, `{"event":"end","at":"2026-12-01T18:00:08Z","day":"2026-12-01",`)
	assert.True(t, s.Over())
}

// With held a session waits after each verdict, and a reply that cannot be read leaves
// the question waiting.
func TestAHeldSession(t *testing.T) {
	d, _ := scripted(t)
	s, err := d.Drill(session.Choice{Drill: "spell", Chords: "Dm7", Questions: 2}, true)
	require.NoError(t, err)
	require.Len(t, s.Begin(), 1)
	told := s.Do(session.Answer{Reply: drills.Typed(memory.Typed, "what")})
	require.Len(t, told, 1)
	assert.IsType(t, session.Fault{}, told[0].Event)
	told = s.Do(session.Answer{Reply: drills.Typed(memory.Typed, "A")})
	require.Len(t, told, 1)
	assert.IsType(t, session.Judged{}, told[0].Event)
	told = s.Do(session.Answer{Reply: drills.Typed(memory.Typed, "A")})
	assert.Equal(t, session.Fault{Says: "no question waits for an answer"}, told[0].Event)
	told = s.Do(session.Next{})
	assert.Equal(t, 2, told[0].Event.(session.Question).N)
	told = s.Do(session.Leave{})
	assert.False(t, told[0].Event.(session.End).Done)
}

// ReadCommand reads each line of the list, and nothing else.
func TestReadCommand(t *testing.T) {
	answer := drills.Typed(memory.Lines, "3")
	answer.Final = true
	for line, want := range map[string]session.Command{
		`{"start":true}`: session.Start{}, `{"skip":true}`: session.Skip{}, `{"slip":true}`: session.Slip{}, ` { "leave" : true } `: session.Leave{},
		`{"quit":true}`: session.Quit{}, `{"answer":"3","after_s":1.5}`: session.Answer{Reply: answer, After: 1500 * time.Millisecond},
		`{"after_s":0,"answer":"3"}`: session.Answer{Reply: answer}, `{"help":true,"after_s":2}`: session.Help{After: 2 * time.Second},
		`{"clean":false,"pass":3}`: session.Clean{Pass: 3}, `{"clean":false,"bar":7}`: session.Clean{Bar: 7}, `{"clean":true}`: session.Clean{Clean: true},
	} {
		assert.Equal(t, want, session.ReadCommand([]byte(line)), line)
	}
	for line, says := range map[string]string{
		"": "write a JSON object a line", "[]": "write a JSON object", `{}`: "it is none of start, skip, answer, help, slip, leave, clean, quit",
		`{"start":false}`: "start is true", `{"answer":3}`: "the answer is a text", `{"answer":"3","after":2}`: `"after" does not go with "answer"`,
		`{"answer":"3","after_s":-1}`: "after_s is a number of seconds, 0 to ", `{"clean":1}`: "clean is true or false", `{"clean":true,"pass":0}`: "from 1", `{"clean":false,"bar":0}`: "bar is the number of a bar, from 1", `{"clean":true,"bar":2}`: "no bar held a clean pass back",
		`{"start":true,"quit":true}`: `"quit" does not go with "start"`,
	} {
		c, ok := session.ReadCommand([]byte(line)).(session.Unread)
		require.True(t, ok, line)
		assert.Contains(t, c.Says, says, line)
	}
	long := session.ReadCommand([]byte(strings.Repeat("é", 500))).(session.Unread)
	assert.Less(t, len(long.Says), 250, "a long line is shown in part")
}

// A history that fails is told once, and the drill goes on.
func TestADrillGoesOnWithoutItsHistory(t *testing.T) {
	d, k := scripted(t)
	d.History = failing{k}
	s, err := d.Drill(session.Choice{Drill: "spell", Chords: "Dm7", Questions: 3}, false)
	require.NoError(t, err)
	s.Begin()
	notices := 0
	for range 3 {
		for _, e := range s.Do(session.Answer{Reply: drills.Typed(memory.Typed, "A")}) {
			switch e := e.Event.(type) {
			case session.Notice:
				notices++
				assert.Equal(t, "the disk is gone", e.Says)
			case session.End:
				assert.Equal(t, 3, e.Summary.(session.SittingSummary).Unkept)
			}
		}
	}
	assert.Equal(t, 1, notices)
	assert.True(t, s.Over())
}

// failing is a history that takes no answers.
type failing struct{ session.History }

func (failing) Append(_ context.Context, a history.Answer) (history.Answer, error) {
	return a, errors.New("the disk is gone")
}
func (failing) Notice() string { return "" }

// A pass that was not clean has a bar that held it back, if the player says which; a bar that
// it does not have changes nothing.
func TestABarIsNamed(t *testing.T) {
	d, k := scripted(t)
	s, err := d.Passes(session.Passage{Tune: d.Tunes[0], Ramp: "120", Layer: "bass", Passes: 2})
	require.NoError(t, err)
	s.Begin()
	assert.Contains(t, do(t, s, `{"clean":false,"bar":9}`), `"says":"the pass has no bar 9: its bars are 1 to 4"`)
	do(t, s, `{"clean":false,"bar":3}`)
	out := do(t, s, `{"clean":true}`)
	assert.Contains(t, out, `"pass":1,"tempo":120,"length_s":7,"judged":true,"clean":false,"bar":3,`)
	assert.Contains(t, out, `"pass":2,"tempo":120,"length_s":7,"judged":true,"clean":true,"bar":null,`)
	look, err := k.Look(t.Context(), 0, memory.DayOf(d.Now()))
	require.NoError(t, err)
	v := progress.Look(look)
	require.Len(t, v.Bars, 1)
	assert.Equal(t, [3]int{3, 1, 2}, [3]int{v.Bars[0].Bar, v.Bars[0].Named, v.Bars[0].Passes})
	assert.Contains(t, v.Advice(), "bar 3 goes wrong most, 1 of 2 passes.")
}

package command

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones below, wherever the tests run

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// told is an event as a script reads it.
type told map[string]any

// player sits in for the player: a program that reads what the session tells and
// writes what a player would say. It is the session's output and its input; one
// always waits for the other, so it needs no goroutine.
type player struct {
	t testing.TB
	// say gives the answer to an event that may wait, "" for none.
	say func(told) string
	// heard is all that was told, lines the same as it was written.
	heard []told
	lines bytes.Buffer
	// wait is the event that waits, next what is said to it and not yet read.
	wait told
	next []byte
	// at is the latest moment told, and moved how far it must have moved on by what
	// was said.
	at    time.Time
	moved time.Duration
}

var ascii = regexp.MustCompile(`^[ -~]+$`)

// fields are those that each event is promised to have.
var fields = map[string][]string{
	"plan": {"steps"}, "step": {"n", "kind"}, "judged": {"id", "result", "right", "why"},
	"question": {"id", "item", "kind", "new", "prompt", "chord", "degree", "string", "frets", "choices", "right"},
	"pass":     {"n", "tempo", "seconds", "clean"}, "step_end": {"n", "done"}, "end": {}, "error": {"says"},
}

// Write takes lines of events in, and holds each to what is promised.
func (p *player) Write(b []byte) (int, error) {
	p.lines.Write(b)
	for line := range bytes.Lines(b) {
		var e told
		require.NoError(p.t, json.Unmarshal(line, &e), "%s", line)
		p.heard = append(p.heard, e)
		name, _ := e["event"].(string)
		require.Contains(p.t, fields, name)
		for _, f := range fields[name] {
			require.Contains(p.t, e, f, "%s", line)
		}
		at, err := time.Parse(time.RFC3339, e["at"].(string))
		require.NoError(p.t, err)
		if name == "error" {
			require.Equal(p.t, p.at, at)
			continue
		}
		if name == "pass" {
			p.moved += time.Duration(e["seconds"].(float64) * float64(time.Second))
		}
		if !p.at.IsZero() {
			require.WithinDuration(p.t, p.at.Add(p.moved), at, time.Microsecond, "the clock moves by what was said alone: %s", line)
		}
		p.at, p.moved = at, 0
		switch name {
		case "plan":
			for i, s := range e["steps"].([]any) {
				s := s.(map[string]any)
				require.Equal(p.t, float64(i+1), s["n"])
				require.Contains(p.t, []any{"lesson", "level", "new", "due", "passage", "mixed", "play"}, s["kind"])
				require.NotEmpty(p.t, s["says"])
				require.NotEmpty(p.t, s["why"])
				require.Contains(p.t, s, "done")
				require.Positive(p.t, s["minutes"])
			}
		case "question":
			p.question(e)
			p.wait = e
		case "step", "pass":
			p.wait = e
		}
	}
	return len(b), nil
}

func (p *player) question(e told) {
	right, choices := e["right"].([]any), e["choices"].([]any)
	require.NotEmpty(p.t, right)
	if len(choices) > 0 {
		require.Contains(p.t, choices, right[0])
	}
	for _, text := range append(right[:len(right):len(right)], e["degree"]) {
		if text != nil {
			require.Regexp(p.t, ascii, text)
		}
	}
	if s := e["string"]; s != nil {
		require.IsType(p.t, 0.0, s)
	}
	require.True(p.t, strings.HasPrefix(e["item"].(string), e["kind"].(string)+":"))
}

// Read gives the player's next line; the end where there is none.
func (p *player) Read(b []byte) (int, error) {
	if len(p.next) == 0 {
		if p.wait == nil {
			return 0, io.EOF
		}
		e := p.wait
		p.wait = nil
		says := p.say(e)
		if says == "" {
			return 0, io.EOF
		}
		var c struct {
			After float64 `json:"after_s"`
		}
		require.NoError(p.t, json.Unmarshal([]byte(says[strings.LastIndex(says, "\n")+1:]), &c))
		p.moved += time.Duration(c.After * float64(time.Second))
		p.next = []byte(says + "\n")
	}
	n := copy(b, p.next)
	p.next = p.next[n:]
	return n, nil
}

// all lists the events of a name.
func (p *player) all(name string) (es []told) {
	for _, e := range p.heard {
		if e["event"] == name {
			es = append(es, e)
		}
	}
	return es
}

// learner answers as somebody who is right in a share of the questions and takes some
// seconds, starts every step, and finds some passes clean.
func learner(seed uint64, share float64) func(told) string {
	chance := rand.New(rand.NewPCG(seed, 0))
	return func(e told) string {
		switch e["event"] {
		case "step":
			return `{"start":true}`
		case "pass":
			return fmt.Sprintf(`{"clean":%v,"pass":%v}`, chance.Float64() < share, e["n"])
		}
		after := 1 + 4*chance.Float64()
		text := e["right"].([]any)[0].(string)
		if chance.Float64() >= share {
			text = "none"
		}
		return fmt.Sprintf(`{"answer":%q,"after_s":%.3f}`, text, after)
	}
}

// sitInFor runs a command with somebody who sits in for the player, at a moment.
func sitInFor(t testing.TB, say func(told) string, moment string, args ...string) *player {
	t.Helper()
	t.Setenv("FOOTFALL_CLOCK", moment)
	p := &player{t: t, say: say}
	var errs bytes.Buffer
	code := Main(args, p, p, &errs)
	require.Zero(t, code, "%s", errs.String())
	require.Empty(t, errs.String())
	require.Equal(t, "end", p.heard[len(p.heard)-1]["event"])
	return p
}

// Somebody sits seven days through the three commands, twice with the same output,
// and what was told is what is kept.
func TestSevenDaysAreSatThrough(t *testing.T) {
	day := func(dir string, n int) string {
		moment := time.Date(2026, 12, 1+n, 18, 0, 0, 0, time.UTC)
		var out string
		for i, args := range [][]string{
			{"today"}, {"drill", "mixed", "--tune", "lantern-street", "--minutes", "2"},
			{"play", "lantern-street", "--section", "B", "--ramp", "80:120+8,ladder2", "--passes", "4"},
		} {
			began := time.Now()
			p := sitInFor(t, learner(uint64(10*n+i), 0.85), moment.Format(time.RFC3339), append(args, "--events", "--data", dir)...)
			t.Logf("day %d, %s: %d events in %v", n+1, args[0], len(p.heard), time.Since(began).Round(time.Millisecond))
			out += p.lines.String()
			assert.Empty(t, p.all("error"))
			if args[0] == "today" {
				require.Len(t, p.all("plan"), 1)
				assert.Equal(t, len(p.all("plan")[0]["steps"].([]any)), len(p.all("step_end")))
			}
			moment = p.at.Add(time.Minute)
		}
		return out
	}
	first, second := t.TempDir(), t.TempDir()
	var all string
	days := 7
	if testing.Short() {
		days = 2
	}
	for n := range days {
		one := day(first, n)
		require.Equal(t, one, day(second, n), "day %d", n+1)
		all += one
	}
	kept, _, code := runOn(nil, "log", "export", "--data", first)
	require.Zero(t, code)
	var history struct{ Answers, Takes []json.RawMessage }
	require.NoError(t, json.Unmarshal([]byte(kept), &history))
	assert.Equal(t, strings.Count(all, `{"event":"judged"`), len(history.Answers))
	assert.Equal(t, strings.Count(all, `{"event":"pass"`), len(history.Takes))
	assert.Greater(t, len(history.Answers), days*30)
	assert.GreaterOrEqual(t, strings.Count(all, `"kind":"due"`), days-2, "what was learned comes due")
	out, _, code := runOn(nil, "log", "check", "--data", first)
	require.Zero(t, code, out)
}

// badLines change nothing.
var badLines = []string{
	"", "x", "null", "[]", `"start"`, "{}", `{"start":false}`, `{"start":1}`, `{"Start":true}`, `{"start":true,"skip":true}`, `{"foo":true}`,
	`{"answer":3}`, `{"answer":null}`, `{"answer":"3","after_s":"2"}`, `{"answer":"3","after_s":-1}`, `{"answer":"3","after_s":1e300}`,
	`{"answer":"3","after":2}`, `{"after_s":2}`, `{"clean":"yes"}`, `{"clean":true,"pass":0}`, `{"clean":true,"pass":1.5}`, `{"pass":1}`,
	`{"help":"x"}`, `{"quit":false}`, `{"answer":"3"`, strings.Repeat("z", 200_000), `{"leave":true,"after_s":2}`,
}

// Whatever else is written between, the session goes on as if it had not been, and
// says for each line what is wrong with it.
func TestLinesThatAreNoCommandChangeNothing(t *testing.T) {
	noise := 0
	noisy := func(say func(told) string) func(told) string {
		return func(e told) string {
			lines := append(append([]string{}, badLines...), `{"slip":true}`)
			switch e["event"] {
			case "question":
				lines = append(badLines, `{"start":true}`, `{"skip":true}`, `{"clean":true}`)
			case "step":
				lines = append(lines, `{"answer":"3","after_s":3}`, `{"help":true,"after_s":3}`, `{"clean":true}`, `{"leave":true}`)
			case "pass":
				lines = append(lines, `{"answer":"3"}`, `{"help":true}`, `{"start":true}`, `{"clean":true,"pass":99}`)
			}
			noise += len(lines)
			return strings.Join(lines, "\n") + "\n" + say(e)
		}
	}
	for _, args := range [][]string{
		{"today", "--minutes", "8"}, {"drill", "mixed", "--tune", "lantern-street", "--questions", "12"}, {"play", "key-ring", "--passes", "3"},
	} {
		plainly := sitInFor(t, learner(1, 0.8), "2026-12-01T18:00:00Z", append(args, "--events", "--data", t.TempDir())...)
		noise = 0
		told := sitInFor(t, noisy(learner(1, 0.8)), "2026-12-01T18:00:00Z", append(args, "--events", "--data", t.TempDir())...)
		assert.Len(t, told.all("error"), noise)
		var rest []string
		for line := range strings.Lines(told.lines.String()) {
			if !strings.HasPrefix(line, `{"event":"error"`) {
				rest = append(rest, line)
			}
		}
		assert.Equal(t, plainly.lines.String(), strings.Join(rest, ""), args[0])
	}
}

// A slip is taken back from what is counted and kept; help counts as missed; the end
// of the input quits.
func TestSlipsHelpAndTheEndOfTheInput(t *testing.T) {
	dir, n := t.TempDir(), 0
	p := sitInFor(t, func(e told) string {
		n++
		return []string{"", `{"answer":"none","after_s":2}`, `{"slip":true}`, `{"answer":"` + fmt.Sprint(e["right"].([]any)[0]) + `","after_s":2}`,
			`{"help":true,"after_s":4}`, `{"slip":true}`, `{"help":true,"after_s":4}`, ""}[n]
	}, "2026-12-01T18:00:00Z", "drill", "--events", "--data", dir)
	asked, judged := p.all("question"), p.all("judged")
	require.Len(t, asked, 7)
	assert.Equal(t, asked[0]["item"], asked[2]["item"], "asked again")
	assert.Equal(t, true, asked[2]["new"], "as if for the first time")
	require.Len(t, judged, 4)
	var results []any
	for _, j := range judged {
		results = append(results, j["result"])
	}
	assert.Equal(t, []any{"missed", "sure", "missed", "missed"}, results)
	end := p.heard[len(p.heard)-1]
	assert.Equal(t, 2.0, end["asked"])
	assert.Equal(t, 1.0, end["right"])
	kept, _, _ := runOn(nil, "log", "export", "--data", dir)
	assert.Equal(t, 2, strings.Count(kept, `"verdict"`))
	out, _, code := runOn(nil, "log", "check", "--data", dir)
	assert.Zero(t, code, out)
	assert.NotContains(t, out, "anew")
}

// A day belongs to the zone of TZ: at midnight, and where the clocks change. The plan
// of an evening and that of the hour after are two days', with a night of 23, 24 or
// 25 hours between the same hours.
func TestDaysBeginAtMidnightWhereThePlayerIs(t *testing.T) {
	for _, c := range []struct{ zone, evening, day, next string }{
		{"UTC", "2026-12-31T23:50:00Z", "2026-12-31", "2027-01-01"},
		{"Asia/Tokyo", "2026-12-31T14:50:00Z", "2026-12-31", "2027-01-01"},
		{"Europe/Berlin", "2027-03-27T22:50:00Z", "2027-03-27", "2027-03-28"}, // to summer time that night
		{"Europe/Berlin", "2026-10-24T21:50:00Z", "2026-10-24", "2026-10-25"}, // to winter time that night
		{"America/Los_Angeles", "2028-02-29T07:50:00Z", "2028-02-28", "2028-02-29"},
	} {
		zone, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		local := time.Local
		time.Local = zone
		dir := t.TempDir()
		// Ten questions of a minute and a half each go over midnight.
		slow := func(e told) string {
			if e["event"] == "step" {
				return `{"start":true}`
			}
			return fmt.Sprintf(`{"answer":%q,"after_s":90}`, e["right"].([]any)[0])
		}
		p := sitInFor(t, slow, c.evening, "drill", "--questions", "10", "--events", "--data", dir)
		last := p.heard[len(p.heard)-1]
		assert.Equal(t, c.next, last["at"].(string)[:10], c.zone)
		assert.Equal(t, c.day, p.heard[0]["at"].(string)[:10], c.zone)
		review, _, code := runOn(nil, "review", "--json", "--data", dir)
		require.Zero(t, code)
		assert.Contains(t, review, c.day, c.zone)
		assert.Contains(t, review, c.next, c.zone)
		for _, at := range [][2]string{{c.evening, c.day}, {p.at.Format(time.RFC3339), c.next}} {
			t.Setenv("FOOTFALL_CLOCK", at[0])
			plan, _, code := runOn(nil, "today", "--json", "--data", dir)
			require.Zero(t, code)
			assert.Contains(t, plan, `"day":"`+at[1]+`"`, c.zone)
		}
		time.Local = local
	}
}

// A year of Sundays: each day has its plan, what is known grows, and nothing is ever
// dated in the future.
func TestAYear(t *testing.T) {
	if testing.Short() {
		t.Skip("sits through fifty-two days")
	}
	dir := t.TempDir()
	moment := time.Date(2026, 12, 6, 18, 0, 0, 0, time.UTC)
	for week := range 52 {
		p := sitInFor(t, learner(uint64(week), 0.9), moment.AddDate(0, 0, 7*week).Format(time.RFC3339), "drill", "find", "--questions", "6", "--events", "--data", dir)
		require.Len(t, p.all("judged"), 6, "week %d", week)
		plan, _, code := runOn(nil, "today", "--json", "--data", dir)
		require.Zero(t, code)
		require.Contains(t, plan, moment.AddDate(0, 0, 7*week).Format(`"day":"2006-01-02"`))
	}
	out, _, code := runOn(nil, "log", "check", "--data", dir)
	require.Zero(t, code, out)
	assert.Contains(t, out, "312 answers")
}

// A pass that was left unjudged is judged later, and the one that waits waits on.
func TestAPassIsJudgedLater(t *testing.T) {
	dir := t.TempDir()
	p := sitInFor(t, func(e told) string {
		if e["n"] == 1.0 {
			return `{"skip":true}`
		}
		return `{"clean":true,"pass":1}` + "\n" + `{"clean":false,"pass":2}`
	}, "2026-12-01T18:00:00Z", "play", "key-ring", "--passes", "2", "--events", "--data", dir)
	assert.Len(t, p.all("pass"), 2)
	assert.Empty(t, p.all("error"))
	kept, _, _ := runOn(nil, "log", "export", "--data", dir)
	assert.Equal(t, 1, strings.Count(kept, `"clean":true`), kept)
	assert.Equal(t, 1, strings.Count(kept, `"clean":false`), kept)
}

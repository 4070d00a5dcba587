package command

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/sheet"
)

// aWeek is a report with something in every part.
func aWeek(name string) progress.Week {
	w := progress.Week{Version: 1, Name: name, Since: "2026-12-01", Until: "2026-12-07", Minutes: 84.5, Practiced: 5, Asked: 300, Right: 270, Passes: 40, Clean: 31,
		Kept: progress.Kept{Learning: 90, Firm: 30}, Firm: []string{"find:7:3:G:5", "spell:3:C"}, Lessons: []string{"The two sevenths"},
		Tempos:  []progress.WeekTempo{{Tune: "key-ring", Title: "Key Ring", Section: "A", Layer: "bass", Passes: 40, Before: 80, Clean: 92}},
		History: fmt.Sprintf("%x", name), Course: []progress.WeekLesson{{Title: "The two sevenths", Teachers: true, Met: 4, Tasks: 4}},
		Weak: []progress.WeekPart{{Degree: "b6", Chords: "minor", Asked: 9, Right: 4}, {String: 5, From: 6, To: 9, Asked: 8, Right: 5}},
		Bars: []progress.WeekBar{{BarRow: progress.BarRow{Tune: "key-ring", Bar: 4, Asked: 20, Missed: 7}, Title: "Key Ring"}},
	}
	for d := 1; d <= 7; d++ {
		w.Days = append(w.Days, progress.WeekDay{Day: fmt.Sprintf("2026-12-%02d", d), Minutes: float64(d), Asked: 10 * d, Right: 9 * d, Passes: d, Clean: d / 2})
	}
	return w
}

func reportOf(t testing.TB, w progress.Week, write func(io.Writer, progress.Week) error) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b, w))
	return b.Bytes()
}

// What a report says of a scripted week is what the exported history holds.
func TestAReportAgreesWithTheExport(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	const days = 4
	at := func(n int) time.Time { return time.Date(2026, 12, 1+n, 18, 0, 0, 0, time.UTC) }
	for n := range days {
		sitInFor(t, learner(uint64(n), 0.85), at(n).Format(time.RFC3339), "today", "--events", "--data", dir)
	}
	since := at(1).Format(time.DateOnly)
	t.Setenv("FOOTFALL_CLOCK", at(days-1).Add(2*time.Hour).Format(time.RFC3339))
	for _, file := range []string{"week.html", "week.txt"} {
		path := filepath.Join(out, file)
		_, errs, code := runOn(nil, "review", "--report", path, "--name", "Ann", "--since", since, "--data", dir)
		require.Zero(t, code, errs)
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		w, err := sheet.ReadWeek(data)
		require.NoError(t, err, file)

		kept, _, code := runOn(nil, "log", "export", "--data", dir)
		require.Zero(t, code)
		var history struct {
			Sittings []struct{ Began, Last time.Time }
			Answers  []struct {
				At            time.Time
				Item, Verdict string
			}
			Takes []struct {
				At    time.Time
				Item  string
				Tempo float64
				Clean *bool
			}
		}
		require.NoError(t, json.Unmarshal([]byte(kept), &history))
		asked, right, passes, clean, spent := map[string]int{}, 0, 0, 0, time.Duration(0)
		fastest := map[string]float64{}
		in := func(m time.Time) bool { return m.Format(time.DateOnly) >= since }
		for _, a := range history.Answers {
			if in(a.At) {
				asked[a.At.Format(time.DateOnly)]++
				if a.Verdict != "missed" {
					right++
				}
			}
		}
		for _, p := range history.Takes {
			if in(p.At) {
				passes++
				if p.Clean != nil && *p.Clean {
					clean++
					fastest[p.Item] = max(fastest[p.Item], p.Tempo)
				}
			}
		}
		for _, s := range history.Sittings {
			if in(s.Began) {
				spent += s.Last.Sub(s.Began)
			}
		}
		total := 0
		require.Len(t, w.Days, days-1)
		for _, d := range w.Days {
			assert.Equal(t, asked[d.Day], d.Asked, d.Day)
			total += d.Asked
		}
		assert.Equal(t, [5]int{total, right, passes, clean, days - 1}, [5]int{w.Asked, w.Right, w.Passes, w.Clean, w.Practiced})
		assert.LessOrEqual(t, math.Abs(spent.Minutes()-w.Minutes), 0.05, "minutes are told to a tenth")
		assert.Positive(t, total)
		assert.Positive(t, passes)
		for _, p := range w.Tempos {
			assert.Equal(t, fastest[strings.Join([]string{"passage", p.Tune, p.Section, p.Layer}, ":")], p.Clean, p.Tune)
		}
		assert.NotEmpty(t, w.History)
		assert.NotEmpty(t, w.Course, "the learner works at lessons every day")
		for _, l := range w.Course {
			assert.True(t, l.Before <= l.Met && l.Met <= l.Tasks, "%+v", l)
		}
		for i, p := range w.Weak {
			assert.True(t, 100*p.Right < 85*p.Asked && p.Asked <= total, "%+v", p)
			assert.True(t, i == 0 || w.Weak[i-1].Right*p.Asked <= p.Right*w.Weak[i-1].Asked, "the worst first")
		}
		if strings.HasSuffix(file, ".txt") {
			assert.Contains(t, string(data), fmt.Sprintf("%d right of %d asked, %d of %d passes clean.", right, total, clean, passes))
		}
	}
}

// folderOfPupils is a folder of fifty reports, one of each two a page, and beside them
// what is none.
func folderOfPupils(t testing.TB) string {
	t.Helper()
	folder := t.TempDir()
	put := func(name string, data []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), data, 0o600))
	}
	for i := range 50 {
		w := aWeek(fmt.Sprintf("Pupil %02d", i))
		w.Minutes = float64(10 + i)
		if i%2 == 0 {
			put(fmt.Sprintf("%02d.html", i), reportOf(t, w, sheet.WeekHTML))
		} else {
			put(fmt.Sprintf("%02d.txt", i), reportOf(t, w, sheet.WeekText))
		}
	}
	return folder
}

func TestPupilsBecomeOneTableAndOnePage(t *testing.T) {
	folder := folderOfPupils(t)
	put := func(name string, data []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), data, 0o600))
	}
	whole := reportOf(t, aWeek("Cut"), sheet.WeekHTML)
	put("cut.html", whole[:len(whole)-200])
	put("holiday.jpg", []byte("\xff\xd8\xff\x00"))
	put("empty.html", nil)
	later := aWeek("Later")
	later.Version = 2
	put("later.html", reportOf(t, later, sheet.WeekHTML))
	wrong := aWeek("Wrong")
	wrong.Right = wrong.Asked + 1
	put("wrong.txt", reportOf(t, wrong, sheet.WeekText))
	put("huge.txt", bytes.Repeat([]byte("x"), 2<<20))
	require.NoError(t, os.Mkdir(filepath.Join(folder, "old"), 0o700))
	hostile := aWeek("<script>alert(1)</script>\x1b[2J\u202e\nnext")
	hostile.Tempos[0].Title, hostile.Bars[0].Title, hostile.Lessons[0] = "<b>\x1b[1m", "\u202e", "</script><i>"
	put("hostile.html", reportOf(t, hostile, sheet.WeekHTML))
	before := aWeek("Pupil 07")
	before.Since, before.Until, before.Minutes = "2026-11-24", "2026-11-30", 999
	put("07-before.txt", reportOf(t, before, sheet.WeekText))
	nameless := aWeek("")
	put("nameless.txt", reportOf(t, nameless, sheet.WeekText))

	page := filepath.Join(t.TempDir(), "pupils.html")
	out, errs, code := runOn(nil, "review", "--pupils", folder, "--report", page)
	require.Zero(t, code, errs)
	for _, skipped := range []string{"cut.html", "holiday.jpg", "empty.html", "later.html", "wrong.txt", "huge.txt"} {
		assert.Contains(t, errs, skipped+" is skipped: ")
	}
	assert.Contains(t, errs, "it is of version 2, and this program reads up to 1")
	assert.Equal(t, 6, strings.Count(errs, "is skipped"), errs)
	for i := range 50 {
		assert.Contains(t, out, fmt.Sprintf("Pupil %02d", i))
	}
	assert.Contains(t, out, "nameless")
	assert.NotContains(t, out, "999", "the later report stands")
	assert.Contains(t, out, "52 pupils, 52 of them practiced")
	assert.Contains(t, out, "Earlier reports of the same pupils: 1. Files skipped: 6.")
	assert.Len(t, strings.Split(strings.TrimSpace(out), "\n"), 1+52+1, "a line a pupil")
	data, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Equal(t, 52+1, strings.Count(string(data), "<tr>"))
	for _, text := range []string{out, string(data)} {
		assert.NotContains(t, text, "\x1b")
		assert.NotContains(t, text, "\u202e")
	}
	assert.NotContains(t, string(data), "<script>alert")
	assert.NotContains(t, string(data), "<b>")
	assert.NotContains(t, string(data), "<i>")
}

// Two pupils of one name stay two, by their histories, or where those are not told by their files
// of the same days; all of a pupil's reports are one under any name.
func TestPupilsOfOneName(t *testing.T) {
	folder := t.TempDir()
	put := func(file, name, history, until string, minutes float64) {
		w := aWeek(name)
		w.History, w.Until, w.Minutes = history, until, minutes
		require.NoError(t, os.WriteFile(filepath.Join(folder, file), reportOf(t, w, sheet.WeekText), 0o600))
	}
	put("a.txt", "Kim", "01", "2026-12-07", 11)
	put("b.txt", "Kim", "02", "2026-12-06", 22)
	put("c.txt", "Kimberly", "02", "2026-12-05", 33)
	put("d.txt", "Lee", "", "2026-12-07", 44)
	put("e.txt", "Lee", "", "2026-12-07", 55)
	put("f.txt", "Lee", "", "2026-12-04", 66)
	out, errs, code := runOn(nil, "review", "--pupils", folder)
	require.Zero(t, code, errs)
	for _, want := range []string{`Kim \(a.txt\) .* 11 `, `Kim \(b.txt\) .* 22 `, `Lee \(d.txt\) .* 44 `, `Lee \(e.txt\) .* 55 `} {
		assert.Regexp(t, want, out)
	}
	assert.NotRegexp(t, ` (33|66) `, out)
	assert.Contains(t, out, "4 pupils")
	assert.Contains(t, out, "Kim is the name of 2 pupils: a.txt, b.txt. Lee is the name of 2 pupils: d.txt, e.txt. Earlier reports of the same pupils: 2.")
}

// A folder of fifty pupils, with the page for their teacher.
func BenchmarkPupils(b *testing.B) {
	folder, page := folderOfPupils(b), filepath.Join(b.TempDir(), "pupils.html")
	for b.Loop() {
		_, errs, code := runOn(nil, "review", "--pupils", folder, "--report", page)
		require.Zero(b, code, errs)
	}
}

// What became firm and which bars went worst is what a count by hand over the exported
// history finds: things asked on three days or more that are expected to last three weeks
// now and were not before the week, and notes of the week's passes that were not matched.
func TestAReportTellsWhatBecameFirmAndTheWorstBars(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	today := time.Date(2026, 12, 7, 0, 0, 0, 0, time.UTC)
	at := func(ago, hour int) string {
		return today.AddDate(0, 0, -ago).Add(time.Duration(hour) * time.Hour).Format("2006-01-02T15:04:05.000Z07:00")
	}
	id := 0
	next := func() string {
		id++
		return fmt.Sprintf("00000000-0000-7000-8000-%012d", id)
	}
	sitting := next()
	var answers, takes []map[string]any
	for _, c := range []struct {
		item   string
		ago    []int
		grades []int
	}{
		{"find:7:3:G:5", []int{30, 20, 3}, []int{4, 4, 4}},           // firm in the week
		{"spell:3:C", []int{40, 30, 20, 2}, []int{4, 4, 4, 4}},       // before it
		{"find:7:5:C:6", []int{3, 2}, []int{4, 4}},                   // on two days
		{"find:7:b7:D:5", []int{30, 20, 3}, []int{3, 3, 1}},          // missed
		{"find:m7:b3:D:6", []int{60, 45, 25, 4}, []int{4, 4, 4, 1}},  // firm before, and not now
		{"name:7:1:C:6", []int{6, 4, 1}, []int{4, 4, 4}},             // within the week
		{"find:maj7:7:F:5", []int{25, 12, 6, 1}, []int{3, 2, 3, 3}},  // by the model
		{"spell:b7:Ab", []int{15, 9, 5, 2, 0}, []int{3, 3, 3, 4, 4}}, // by the model
	} {
		for i, ago := range c.ago {
			verdict := "sure"
			if c.grades[i] == 1 {
				verdict = "missed"
			}
			answers = append(answers, map[string]any{"id": next(), "sitting": sitting, "at": at(ago, 10), "item": c.item, "way": "typed",
				"verdict": verdict, "grade": c.grades[i], "took_ms": 1500, "string": 0, "fret": 0, "given": "x"})
		}
	}
	for _, c := range []struct {
		tune string
		ago  int
		bars string // of each note the bar, and + where it was matched, w another note, - missed
	}{
		{"key-ring", 20, "1- 1- 2- 2-"}, {"key-ring", 3, "1+ 1- 2+ 2+ 3w 3- 4+ 4+"}, {"key-ring", 1, "1+ 1+ 2+ 2+ 3- 3+ 4- 4+"},
		{"tin-kettle-blues", 2, "1+ 2+ 3+ 4-"}, {"tin-kettle-blues", 7, "1- 1- 1- 1-"},
	} {
		var events []map[string]any
		counts := map[string]int{}
		for i, f := range strings.Fields(c.bars) {
			verdict := map[byte]string{'+': "matched", 'w': "wrong", '-': "missed"}[f[1]]
			counts[verdict]++
			events = append(events, map[string]any{"bar": int(f[0] - '0'), "beat": 1 + i%2, "off": false, "string": 5, "fret": 3, "midi": 48, "verdict": verdict, "offset_us": 0})
		}
		events = append(events, map[string]any{"bar": 0, "beat": 0, "off": false, "string": 0, "fret": 0, "midi": 50, "verdict": "extra", "offset_us": 0})
		takes = append(takes, map[string]any{"id": next(), "sitting": sitting, "at": at(c.ago, 11), "item": "passage:" + c.tune + ":A:bass", "way": "midi", "tempo": 80, "length_ms": 12000,
			"expected": len(events) - 1, "matched": counts["matched"], "missed": counts["missed"], "extra": 1, "wrong": counts["wrong"], "mean_us": 0, "sd_us": 0,
			"clean": false, "ramp": "60:80+4 at 80 pass 6 run 0", "grade": 1, "events": events})
	}
	text, err := json.Marshal(struct {
		Version  int              `json:"version"`
		Sittings []any            `json:"sittings"`
		Answers  []map[string]any `json:"answers"`
		Takes    []map[string]any `json:"takes"`
	}{1, []any{map[string]any{"id": sitting, "began": at(60, 10), "last": at(0, 12), "drill": "mixed", "tune": ""}}, answers, takes})
	require.NoError(t, err)
	file := filepath.Join(out, "history.json")
	require.NoError(t, os.WriteFile(file, text, 0o600))
	t.Setenv("FOOTFALL_CLOCK", today.Add(20*time.Hour).Format(time.RFC3339))
	_, errs, code := runOn(nil, "log", "import", file, "--data", dir)
	require.Zero(t, code, errs)
	path := filepath.Join(out, "week.html")
	_, errs, code = runOn(nil, "review", "--report", path, "--data", dir)
	require.Zero(t, code, errs)
	page, err := os.ReadFile(path)
	require.NoError(t, err)
	w, err := sheet.ReadWeek(page)
	require.NoError(t, err)

	kept, _, code := runOn(nil, "log", "export", "--data", dir)
	require.Zero(t, code)
	var history struct {
		Answers []struct {
			At    time.Time
			Item  string
			Grade memory.Grade
		}
		Takes []struct {
			At     time.Time
			Item   string
			Events []struct {
				Bar     int
				Verdict string
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(kept), &history))
	require.Len(t, history.Answers, len(answers))
	since := today.AddDate(0, 0, -6)
	firm := func(item string, before time.Time) bool {
		state, days := memory.State{}, map[string]bool{}
		for _, a := range history.Answers {
			if a.Item == item && a.At.Before(before) {
				state = state.After(memory.DayOf(a.At), a.Grade)
				days[a.At.Format(time.DateOnly)] = true
			}
		}
		return len(days) >= 3 && state.Stability >= 21
	}
	var became []string
	for _, a := range history.Answers {
		if !slices.Contains(became, a.Item) && firm(a.Item, today.AddDate(0, 0, 1)) && !firm(a.Item, since) {
			became = append(became, a.Item)
		}
	}
	assert.ElementsMatch(t, became, w.Firm)
	assert.Contains(t, w.Firm, "find:7:3:G:5")
	for _, none := range []string{"spell:3:C", "find:7:5:C:6", "find:7:b7:D:5", "find:m7:b3:D:6"} {
		assert.NotContains(t, w.Firm, none)
	}
	asked, missed := map[string]int{}, map[string]int{}
	for _, p := range history.Takes {
		for _, e := range p.Events {
			if bar := fmt.Sprint(p.Item, " ", e.Bar); !p.At.Before(since) && e.Verdict != "extra" {
				asked[bar]++
				if e.Verdict != "matched" {
					missed[bar]++
				}
			}
		}
	}
	told := map[string][2]int{}
	for i, b := range w.Bars {
		told[fmt.Sprint("passage:", b.Tune, ":A:bass ", b.Bar)] = [2]int{b.Missed, b.Asked}
		if before := w.Bars[max(0, i-1)]; i > 0 {
			assert.GreaterOrEqual(t, before.Missed*b.Asked, b.Missed*before.Asked, "the worst first")
		}
	}
	for bar, n := range missed {
		assert.Equal(t, [2]int{n, asked[bar]}, told[bar], bar)
	}
	assert.Len(t, told, len(missed))
	assert.Equal(t, []int{4, 3, 1, 4}, []int{w.Bars[0].Bar, w.Bars[1].Bar, w.Bars[2].Bar, w.Bars[3].Bar}, "1 of 1, 3 of 4, and 1 of 4 twice, in the order of the tune")
	for _, says := range []string{"3 of G7 on string 5", "Key Ring"} {
		assert.Contains(t, string(page), says)
	}
}

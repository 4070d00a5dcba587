package command

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/progress"
	"footfall/trainer/sheet"
)

// aWeek is a report with something in every part.
func aWeek(name string) progress.Week {
	w := progress.Week{Version: 1, Name: name, Since: "2026-12-01", Until: "2026-12-07", Minutes: 84.5, Practiced: 5, Asked: 300, Right: 270, Passes: 40, Clean: 31,
		Kept: progress.Kept{Learning: 90, Firm: 30}, Firm: []string{"find:7:3:G:5", "spell:3:C"}, Lessons: []string{"The two sevenths"},
		Tempos: []progress.WeekTempo{{Tune: "key-ring", Title: "Key Ring", Section: "A", Layer: "bass", Passes: 40, Before: 80, Clean: 92}},
		Bars:   []progress.WeekBar{{BarRow: progress.BarRow{Tune: "key-ring", Bar: 4, Asked: 20, Missed: 7}, Title: "Key Ring"}},
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

// A folder of fifty pupils, with the page for their teacher.
func BenchmarkPupils(b *testing.B) {
	folder, page := folderOfPupils(b), filepath.Join(b.TempDir(), "pupils.html")
	for b.Loop() {
		_, errs, code := runOn(nil, "review", "--pupils", folder, "--report", page)
		require.Zero(b, code, errs)
	}
}

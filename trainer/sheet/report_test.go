package sheet

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/progress"
)

// fullWeek is a report with more of everything than goes on a page.
func fullWeek() progress.Week {
	w := progress.Week{Version: 1, Name: "Ann", Since: "2026-12-01", Until: "2026-12-07", Minutes: 210, Practiced: 7, Asked: 900, Right: 801, Passes: 120, Clean: 96,
		Kept: progress.Kept{Learning: 200, Firm: 140}}
	for d := 1; d <= 7; d++ {
		w.Days = append(w.Days, progress.WeekDay{Day: fmt.Sprintf("2026-12-%02d", d), Minutes: 30, Asked: 128, Right: 114, Passes: 17, Clean: 13})
	}
	for i := range 60 {
		roots := []string{"F#", "C#", "G#", "D#", "A#"}
		w.Firm = append(w.Firm, fmt.Sprintf("build:%s:b3:%s:%d", []string{"m7b5", "m7", "m6", "m9", "m11", "dim7"}[i/10], roots[i/2%5], 5+i%2))
		w.Lessons = append(w.Lessons, "Beginnings, turnarounds and endings")
		w.Course = append(w.Course, progress.WeekLesson{Title: "Beginnings, turnarounds and endings", Teachers: i%2 == 0, Met: 3, Before: 1, Tasks: 5})
		w.Weak = append(w.Weak, progress.WeekPart{Degree: "bb7", Chords: "half-diminished", Asked: 20, Right: i % 16})
		w.Tempos = append(w.Tempos, progress.WeekTempo{Tune: "x", Title: "The Longest Title of Any Tune There Is", Section: "Refrain", Layer: "bass+changes", Passes: 3, Clean: 104})
		w.Bars = append(w.Bars, progress.WeekBar{BarRow: progress.BarRow{Tune: "x", Bar: i + 1, Asked: 20, Missed: 9}, Title: "The Longest Title of Any Tune There Is"})
	}
	return w
}

// A report is read back as it was written, from a page and from text, and tells what it
// leaves out.
func TestReportsAreReadBack(t *testing.T) {
	w := fullWeek()
	for _, write := range []func(*bytes.Buffer) error{
		func(b *bytes.Buffer) error { return WeekHTML(b, w) }, func(b *bytes.Buffer) error { return WeekText(b, w) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		back, err := ReadWeek(b.Bytes())
		require.NoError(t, err)
		assert.Equal(t, w, back)
		assert.Contains(t, b.String(), "and 47 more")
		assert.Contains(t, strings.ReplaceAll(b.String(), "&#39;", "'"), "Beginnings, turnarounds and endings (the teacher's): 3 of 5 tasks met, 2 of them in these days")
		assert.Contains(t, b.String(), "bb7 of half-diminished chords: 0 of 20")
		assert.Contains(t, b.String(), "210 minutes on 7 of 7 days, 801 right of 900 asked, 96 of 120 passes clean.")
		_, err = ReadWeek(b.Bytes()[:b.Len()/2])
		assert.Error(t, err)
	}
	var b bytes.Buffer
	require.NoError(t, WeekText(&b, progress.Week{Version: 1, Since: "2026-12-01", Until: "2026-12-07"}))
	assert.Contains(t, b.String(), "Nothing in these days.")
	assert.Contains(t, b.String(), "Nothing was played along.")
	assert.Equal(t, []string{"pupil", "-", "-"}, []string{PupilsOf(nil).Columns[0], progress.Week{}.Share(), bpm(0)})
	for _, text := range []string{"", "hello", `<script type="application/json" id="footfall-report">{}</script>`, "\nfootfall-report {\"footfall_report\":1}\n"} {
		_, err := ReadWeek([]byte(text))
		assert.Error(t, err, text)
	}
}

// A full report, and the table of fifty pupils, print on one page each in black and
// white, of A4 and of Letter.
func TestReportsPrintOnOnePage(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser for each page")
	}
	t.Parallel()
	need(t, "chromium", "pdftotext", "pdftoppm")
	var week, pupils bytes.Buffer
	require.NoError(t, WeekHTML(&week, fullWeek()))
	weeks := make([]progress.Week, 50)
	for i := range weeks {
		weeks[i] = fullWeek()
		weeks[i].Name = fmt.Sprintf("Pupil %02d", i)
		weeks[i].Tempos[0].Title, weeks[i].Bars[0].Title = "Lantern Street", "Lantern Street"
	}
	require.NoError(t, PupilsHTML(&pupils, PupilsOf(weeks)))
	for name, page := range map[string]string{"week": week.String(), "pupils": pupils.String()} {
		for _, paper := range []string{"A4", "letter"} {
			p, clear := printPDF(t, page, paper)
			assert.Equal(t, 1, len(p.Pages), "%s on %s", name, paper)
			for _, c := range clear {
				assert.GreaterOrEqual(t, c, 30, "%s on %s: ink %d points from the edge", name, paper, c)
			}
		}
		assert.NotContains(t, strings.ToLower(page), "color: #f", "%s is to be read without colors", name)
	}
}

package command

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/gate"
	"footfall/trainer/history"
	"footfall/trainer/session"
	"footfall/trainer/sheet"
)

// reporting is what a report for a teacher is asked for with.
type reporting struct{ file, name, pupils string }

const (
	// mostReportBytes bounds what is read as a report; one of a full week has some thousand.
	mostReportBytes = 1 << 20
	// mostNameLength bounds a name in a report, in characters.
	mostNameLength = 60
)

// asText reports whether a report's file is text rather than a page, by its ending.
func (r reporting) asText() (bool, error) {
	switch strings.ToLower(filepath.Ext(r.file)) {
	case ".html":
		return false, nil
	case ".txt":
		return true, nil
	}
	return false, badInput(fmt.Errorf("--report %s: a report is a page or text; give a file that ends in .html or .txt", r.file))
}

// report writes the days since one as a page for the player's teacher.
func (p *program) report(cmd *cobra.Command, r reporting, since memory.Day) error {
	text, err := r.asText()
	if err != nil {
		return err
	}
	if len([]rune(r.name)) > mostNameLength {
		return badInput(fmt.Errorf("--name is longer than %d characters: give a shorter one", mostNameLength))
	}
	if today := memory.DayOf(p.clock.Now()); since != 0 && (since > today || today-since >= progress.MostWeekDays) {
		return badInput(fmt.Errorf("--since %s: a report is about the last %d days at most", since, progress.MostWeekDays))
	}
	return p.withHistory(history.Read, func(s *history.Store) error {
		desk := session.Shelf(session.Options{Data: p.data, Settings: p.settings, Clock: p.clock, Tell: func(says string) { p.warn(cmd, says) }})
		week, err := desk.Week(cmd.Context(), s, since)
		if err != nil {
			return err
		}
		week.Name = r.name
		if err := writeWhole(r.file, func(f io.WriteSeeker) error {
			if text {
				return sheet.WeekText(f, week)
			}
			return sheet.WeekHTML(f, week)
		}); err != nil {
			return err
		}
		if p.json {
			return json.NewEncoder(cmd.OutOrStdout()).Encode(week)
		}
		_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: %s to %s\n", r.file, week.Since, week.Until)
		return err
	})
}

// onePupil reports whether two reports are of one pupil: of one history, or, where one of them
// does not say of which, of one name and other days.
func onePupil(a, b progress.Week) bool {
	if a.History != "" && b.History != "" {
		return a.History == b.History
	}
	return a.Name == b.Name && a.Until != b.Until
}

// namesakes tells pupils of one name apart by their files, and says of whom it did so.
func namesakes(weeks []progress.Week, files []string) (told []string) {
	of := map[string][]string{}
	for i, w := range weeks {
		of[w.Name] = append(of[w.Name], files[i])
	}
	for i := range weeks {
		if name := weeks[i].Name; len(of[name]) > 1 {
			weeks[i].Name = fmt.Sprintf("%s (%s)", name, files[i])
		}
	}
	for _, name := range slices.Sorted(maps.Keys(of)) {
		if len(of[name]) > 1 {
			told = append(told, fmt.Sprintf("%s is the name of %d pupils: %s.", name, len(of[name]), strings.Join(of[name], ", ")))
		}
	}
	return told
}

// pupils makes one table of a folder of reports, and a page where one is asked for.
func (p *program) pupils(cmd *cobra.Command, r reporting) error {
	if r.file != "" {
		if text, err := r.asText(); err != nil || text {
			return cmp.Or(err, badInput(fmt.Errorf("--report %s: the page of pupils ends in .html; the table in text is what is printed", r.file)))
		}
	}
	entries, err := os.ReadDir(r.pupils)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = errors.New("there is no such folder")
		}
		return badInput(fmt.Errorf("--pupils %s: %w; name the folder in which the reports lie", r.pupils, err))
	}
	weeks := []progress.Week{}
	var files []string // of each
	skipped, earlier := 0, 0
	for _, e := range entries {
		path := filepath.Join(r.pupils, e.Name())
		if e.IsDir() || r.file != "" && filepath.Clean(r.file) == path {
			continue
		}
		data, err := gate.Read(path, mostReportBytes)
		var week progress.Week
		if err == nil {
			week, err = sheet.ReadWeek(data)
		}
		if err != nil {
			skipped++
			p.warn(cmd, fmt.Sprintf("%s is skipped: %v", path, cause(err)))
			continue
		}
		if week.Course == nil { // of a program that did not tell these yet
			week.Course, week.Weak = []progress.WeekLesson{}, []progress.WeekPart{}
		}
		if name := []rune(week.Name); len(name) > mostNameLength {
			week.Name = string(name[:mostNameLength])
		}
		week.Name = cmp.Or(strings.TrimSpace(week.Name), strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())))
		i := slices.IndexFunc(weeks, func(w progress.Week) bool { return onePupil(w, week) })
		switch {
		case i < 0:
			weeks, files = append(weeks, week), append(files, e.Name())
		case weeks[i].Until < week.Until:
			weeks[i], files[i], earlier = week, e.Name(), earlier+1
		default:
			earlier++
		}
	}
	same := namesakes(weeks, files)
	slices.SortStableFunc(weeks, func(a, b progress.Week) int {
		return cmp.Or(cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), cmp.Compare(a.Name, b.Name))
	})
	told := same
	if earlier > 0 {
		told = append(told, fmt.Sprintf("Earlier reports of the same pupils: %d.", earlier))
	}
	if skipped > 0 {
		told = append(told, fmt.Sprintf("Files skipped: %d.", skipped))
	}
	table := sheet.PupilsOf(weeks, told...)
	if r.file != "" {
		if err := writeWhole(r.file, func(f io.WriteSeeker) error { return sheet.PupilsHTML(f, table) }); err != nil {
			return err
		}
	}
	if p.json {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]any{"pupils": weeks, "skipped": skipped, "earlier": earlier})
	}
	tw := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
	for _, row := range append([][]string{table.Columns}, table.Rows...) {
		fmt.Fprintln(tw, strings.Join(row, "\t"))
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	_, err = fmt.Fprintln(cmd.OutOrStdout(), table.Says)
	return err
}

package command

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/history"
	"footfall/trainer/plain"
	"footfall/trainer/quote"
)

func newReviewCommand(p *program) *cobra.Command {
	var since string
	var asCSV bool
	var teach reporting
	cmd := &cobra.Command{
		Use:   "review",
		Short: "Look back on your practice",
		Long: `Look back on your practice: minutes and share right over days, weeks and months;
answer times; degree against chord quality; the neck; tempo reached; offset from
the beat; what comes due.

--report FILE writes the last seven days, or those since a day, as a page for your
teacher: minutes, what became firm, tempos, the bars that went worst. FILE ends in
.html or .txt. A teacher puts such files of pupils into a folder: --pupils FOLDER
makes one table of them, and with --report a page.`,
		Example: "  footfall review --since 2026-11-01\n  footfall review --csv > review.csv\n  footfall review --report week.html --name Ann\n  footfall review --pupils reports --report pupils.html",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var from memory.Day
			if since != "" {
				var err error
				if from, err = memory.ParseDay(since); err != nil {
					return badInput(fmt.Errorf("--since %s: write a day like 2026-11-25", since))
				}
			}
			if err := oneOf(cmd, "csv", "json"); err != nil {
				return err
			}
			switch {
			case teach.pupils != "":
				return p.pupils(cmd, teach)
			case teach.file != "":
				return p.report(cmd, teach, from)
			}
			return p.withHistory(history.Read, func(s *history.Store) error {
				v, err := p.lookBack(cmd, s, from)
				if err != nil {
					return err
				}
				switch {
				case p.json:
					return json.NewEncoder(cmd.OutOrStdout()).Encode(v)
				case asCSV:
					return writeTablesCSV(cmd.OutOrStdout(), v.Untitled().Tables())
				}
				if p.plain {
					return plain.Review(cmd.OutOrStdout(), v)
				}
				return printReview(cmd.OutOrStdout(), v)
			})
		},
	}
	cmd.Flags().StringVar(&since, "since", "", "the first day to look at, like 2026-11-25")
	cmd.Flags().BoolVar(&asCSV, "csv", false, "answer in CSV, each row led by its table's name")
	cmd.Flags().StringVar(&teach.file, "report", "", "write a report for your teacher to this file, .html or .txt")
	cmd.Flags().StringVar(&teach.name, "name", "", "your name, for the report")
	cmd.Flags().StringVar(&teach.pupils, "pupils", "", "make one table of the reports in this folder")
	return cmd
}

// writeTablesCSV writes the tables one after the other, each row led by its
// table's name, each table by its columns, all rows filled up to one width.
func writeTablesCSV(w io.Writer, tables []progress.Table) error {
	c := csv.NewWriter(w)
	width := 0
	for _, t := range tables {
		width = max(width, 1+len(t.Columns))
	}
	for _, t := range tables {
		for _, row := range append([][]string{t.Columns}, t.Rows...) {
			record := make([]string, width)
			record[0] = t.Name
			for i, cell := range row {
				record[1+i] = cell
				if _, err := strconv.ParseFloat(cell, 64); err != nil { // a number below 0 is one
					record[1+i] = quote.Cell(cell)
				}
			}
			if err := c.Write(record); err != nil {
				return err
			}
		}
	}
	c.Flush()
	return c.Error()
}

// shownSpans is how many of the latest days, weeks and months are shown.
const shownSpans = 14

// printReview prints a look back: how much was right, then a table after the other,
// led by its title and its columns' names.
func printReview(w io.Writer, v progress.Review) error {
	tables := v.Tables()
	if len(tables) == 0 {
		_, err := fmt.Fprintln(w, "Nothing has been practiced in this time.")
		return err
	}
	fmt.Fprintf(w, "%d right of %d asked.\n", v.Right, v.Asked)
	if v.Passes > 0 {
		fmt.Fprintf(w, "Passes played along: %d, in %.1f minutes.\n", v.Passes, v.PassMinutes)
	}
	for _, t := range tables {
		t = t.Latest(shownSpans)
		fmt.Fprintf(w, "\n%s\n", t.Title)
		tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, row := range append([][]string{t.Columns}, t.Rows...) {
			for i, cell := range row {
				if i > 0 {
					fmt.Fprint(tw, "\t")
				}
				fmt.Fprint(tw, cell)
			}
			fmt.Fprintln(tw)
		}
		if err := tw.Flush(); err != nil {
			return err
		}
	}
	return nil
}

package plain

import (
	"fmt"
	"io"
	"text/tabwriter"

	"footfall/drills/progress"
)

// shownSpans is how many of the latest days, weeks and months are shown.
const shownSpans = 14

// Review writes a look back: how much was right, then a table after the other,
// led by its title and its columns' names.
func Review(w io.Writer, v progress.Review) error {
	tables := v.Tables()
	if len(tables) == 0 {
		_, err := fmt.Fprintln(w, "Nothing has been practised in this time.")
		return err
	}
	fmt.Fprintf(w, "%d right of %d asked.\n", v.Right, v.Asked)
	for _, t := range tables {
		title := t.Title
		switch t.Name {
		case "days", "weeks", "months":
			if over := len(t.Rows) - shownSpans; over > 0 {
				t.Rows = t.Rows[over:]
				title += fmt.Sprintf(", the latest %d", shownSpans)
			}
		}
		fmt.Fprintf(w, "\n%s\n", title)
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

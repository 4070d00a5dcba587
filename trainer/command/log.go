package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/spf13/cobra"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/history"
)

func newLogCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Export, import, back up and check your practice history",
		Long: `Your practice history is one file, kept for you alone. These commands move it
between machines, copy it and check it. Importing merges: what is there already
is left alone, so that importing twice changes nothing.`,
	}
	cmd.AddCommand(newLogExportCommand(p), newLogImportCommand(p), newLogBackupCommand(p), newLogCheckCommand(p))
	return cmd
}

// withHistory opens the history, runs do and closes it.
func (p *program) withHistory(do func(*history.Store) error) error {
	s, err := history.Open(history.Path(p.data), p.clock.Now, nil)
	if err != nil {
		return err
	}
	err = do(s)
	if closeErr := s.Close(); err == nil {
		err = closeErr
	}
	return err
}

func newLogExportCommand(p *program) *cobra.Command {
	var asCSV, summary bool
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write the history to standard output, whole or summed up",
		Long: `Write the history to standard output: everything that is kept as JSON, or the
answers as a CSV table. With --summary, write what a teacher needs to see how
practice went, without single answers.`,
		Example: "  footfall log export > history.json\n  footfall log export --csv > answers.csv\n  footfall log export --summary > for-my-teacher.json",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := oneOf(cmd, "csv", "json"); err != nil {
				return err
			}
			return p.withHistory(func(s *history.Store) error {
				switch {
				case summary && !asCSV:
					return p.exportSummary(cmd, s)
				case summary:
					v, err := p.lookBack(cmd, s, 0)
					if err != nil {
						return err
					}
					return writeTablesCSV(cmd.OutOrStdout(), v.Tables())
				case asCSV:
					return s.ExportCSV(cmd.Context(), cmd.OutOrStdout())
				}
				return s.ExportJSON(cmd.Context(), cmd.OutOrStdout())
			})
		},
	}
	cmd.Flags().BoolVar(&asCSV, "csv", false, "write CSV; JSON is written without")
	cmd.Flags().BoolVar(&summary, "summary", false, "sum up instead of listing every answer")
	return cmd
}

// practiceSummary is the summary file that a student hands to a teacher.
type practiceSummary struct {
	Made string `json:"made"`
	progress.Review
}

func (p *program) exportSummary(cmd *cobra.Command, s *history.Store) error {
	v, err := p.lookBack(cmd, s, 0)
	if err != nil {
		return err
	}
	out := json.NewEncoder(cmd.OutOrStdout())
	out.SetIndent("", "  ")
	return out.Encode(practiceSummary{Made: p.clock.Now().Format(time.RFC3339), Review: v})
}

// lookBack makes the tables of everything since a day.
func (p *program) lookBack(cmd *cobra.Command, s *history.Store, since memory.Day) (progress.Review, error) {
	r, err := s.Look(cmd.Context(), since, memory.DayOf(p.clock.Now()))
	return progress.Look(r), err
}

func newLogImportCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "import FILE | -",
		Short: "Merge an exported history, or a history file, into yours",
		Long: `Merge another history into yours: what "footfall log export" wrote, as JSON or
CSV, or the history file itself. Nothing is taken if anything in it is at fault.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			in, err := openInput(cmd, args[0])
			if err != nil {
				return err
			}
			defer in.Close()
			return p.withHistory(func(s *history.Store) error {
				merged, err := s.Import(cmd.Context(), in)
				var fault *history.ImportError
				if errors.As(err, &fault) {
					return badInput(fmt.Errorf("%s: %w. Nothing was taken", source(args[0]), err))
				}
				if err != nil {
					return err
				}
				if p.json {
					return json.NewEncoder(cmd.OutOrStdout()).Encode(merged)
				}
				fmt.Fprintf(cmd.OutOrStdout(), "New here: %s, %s, %s.\n", counted(merged.Sittings, "sitting"), counted(merged.Answers, "answer"), counted(merged.Takes, "take"))
				return nil
			})
		},
	}
}

func newLogBackupCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a copy of the history to a new file",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return p.withHistory(func(s *history.Store) error {
				err := s.Backup(cmd.Context(), args[0])
				if errors.Is(err, os.ErrExist) {
					return badInput(fmt.Errorf("%s is there already and is left as it is; name a new file", args[0]))
				}
				if path := new(fs.PathError); errors.As(err, &path) {
					return unwritten(args[0], err)
				}
				if err != nil {
					return err
				}
				if p.json {
					return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]string{"file": args[0]})
				}
				fmt.Fprintf(cmd.OutOrStdout(), "Copied to %s.\n", args[0])
				return nil
			})
		},
	}
}

func newLogCheckCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Read the whole history and say whether it is sound",
		Long: `Read the whole history: the file itself, and whether all that is worked out from
the answers still follows from them. What does not is worked out anew.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return p.withHistory(func(s *history.Store) error {
				c, err := s.Check(cmd.Context())
				if err != nil {
					return err
				}
				out := cmd.OutOrStdout()
				switch {
				case p.json:
					err = json.NewEncoder(out).Encode(c)
				case len(c.Faults) == 0 && c.Rebuilt:
					_, err = fmt.Fprintf(out, "%s: %s and %s are sound. What is worked out from them was not, and has been worked out anew.\n", s.File(), counted(c.Answers, "answer"), counted(c.Takes, "take"))
				case len(c.Faults) == 0:
					_, err = fmt.Fprintf(out, "%s: sound, with %s, %s and %s.\n", s.File(), counted(c.Sittings, "sitting"), counted(c.Answers, "answer"), counted(c.Takes, "take"))
				default:
					for _, f := range c.Faults {
						fmt.Fprintln(out, f)
					}
				}
				if err == nil && len(c.Faults) > 0 {
					err = fmt.Errorf("%s has %s; it is left as it is. Take in a backup with: footfall log import FILE", s.File(), counted(len(c.Faults), "fault"))
				}
				return err
			})
		},
	}
}

package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/harmony"
	"footfall/trainer/gate"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

func newLogCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Export, import, back up and check your practice history",
		Example: "  footfall log export > history.json\n" +
			"  footfall log check",
		Long: `Your practice history is one file, kept for you alone. These commands move it
between machines, copy it and check it. Importing merges: what is there already
is left alone, so that importing twice changes nothing.`,
	}
	cmd.AddCommand(newLogExportCommand(p), newLogImportCommand(p), newLogBackupCommand(p), newLogCheckCommand(p))
	return cmd
}

// withHistory opens the history, to be read only or not, runs do and closes it.
func (p *program) withHistory(open func(string, func() time.Time, func() uuid.UUID) (*history.Store, error), do func(*history.Store) error) error {
	s, err := open(history.Path(p.data), p.clock.Now, nil)
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
			return p.withHistory(history.Read, func(s *history.Store) error {
				switch {
				case summary && !asCSV:
					return p.exportSummary(cmd, s)
				case summary:
					v, err := p.lookBack(cmd, s, 0)
					if err != nil {
						return err
					}
					return writeTablesCSV(document(cmd.OutOrStdout()), v.Tables())
				case asCSV:
					return s.ExportCSV(cmd.Context(), document(cmd.OutOrStdout()))
				}
				return s.ExportJSON(cmd.Context(), document(cmd.OutOrStdout()))
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
	out := json.NewEncoder(document(cmd.OutOrStdout()))
	out.SetIndent("", "  ")
	return out.Encode(practiceSummary{Made: p.clock.Now().Format(time.RFC3339), Review: v})
}

// lookBack makes the tables of everything since a day.
func (p *program) lookBack(cmd *cobra.Command, s *history.Store, since memory.Day) (progress.Review, error) {
	desk := session.Shelf(session.Options{Data: p.data, Settings: p.settings, Clock: p.clock, Tell: func(says string) { p.warn(cmd, says) }})
	return desk.LookBack(cmd.Context(), s, since)
}

func newLogImportCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:     "import FILE | -",
		Short:   "Merge an exported history, or a history file, into yours",
		Example: "  footfall log import history.json",
		Long: `Merge another history into yours: what "footfall log export" wrote, as JSON or
CSV, or the history file itself, with what lies in the write-ahead log beside it
where a program was killed. Nothing is taken if anything in it is at fault.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return p.withHistory(history.Open, func(s *history.Store) error {
				merged, err := importFrom(cmd, s, args[0])
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
				fmt.Fprintf(cmd.OutOrStdout(), "New here: %s, %s, %s.\n", harmony.Counted(merged.Sittings, "sitting"), harmony.Counted(merged.Answers, "answer"), harmony.Counted(merged.Takes, "take"))
				return nil
			})
		},
	}
}

// importFrom merges a file, or standard input for "-".
func importFrom(cmd *cobra.Command, s *history.Store, arg string) (history.Merged, error) {
	if arg == "-" {
		return s.Import(cmd.Context(), cmd.InOrStdin())
	}
	merged, err := s.ImportFile(cmd.Context(), arg)
	refused, path := new(gate.Refused), new(fs.PathError)
	if errors.As(err, &refused) && refused.Path == arg || errors.As(err, &path) && path.Path == arg {
		err = unread(arg, err)
	}
	return merged, err
}

func newLogBackupCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:     "backup FILE",
		Short:   "Write a copy of the history to a new file",
		Example: "  footfall log backup history.db",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return p.withHistory(history.Read, func(s *history.Store) error {
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
	var repair bool
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Read the whole history and say whether it is sound",
		Example: "  footfall log check\n" +
			"  footfall log check --repair",
		Long: `Read the whole history: the file itself, and whether all that is worked out from
the answers still follows from them. It also tells what is no fault: items of kinds
that this release does not know, and times in the future. With --repair, indexes and
all that is worked out are made anew; a file that cannot be mended so is kept beside
the new one.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			path, aside := history.Path(p.data), ""
			var c history.Checked
			var err error
			if repair {
				c, aside, err = history.Repair(cmd.Context(), path, p.clock.Now)
			} else {
				err = p.withHistory(history.Read, func(s *history.Store) (err error) {
					c, err = s.Check(cmd.Context())
					return err
				})
			}
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			if p.json {
				err = json.NewEncoder(out).Encode(c)
			} else {
				err = tellChecked(out, path, aside, c)
			}
			if err == nil && len(c.Faults) > 0 {
				err = fmt.Errorf("%s has %s; it is left as it is. footfall log check --repair mends what follows from the answers", path, harmony.Counted(len(c.Faults), "fault"))
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "make indexes and what is worked out from the answers anew")
	return cmd
}

// tellChecked says what a check found.
func tellChecked(out io.Writer, path, aside string, c history.Checked) error {
	var lines []string
	lines = append(lines, c.Faults...)
	if c.Rebuilt {
		lines = append(lines, "What is worked out from the answers was not sound, and has been made anew.")
	}
	if c.LeftOut > 0 {
		lines = append(lines, fmt.Sprintf("%s could not be read and stands in the new file no more: a value in it fits no history.", harmony.Counted(c.LeftOut, "record")))
	}
	if aside != "" {
		lines = append(lines, fmt.Sprintf("The file as it was is kept as %s.", aside))
	}
	if len(c.Faults) == 0 {
		lines = append(lines, fmt.Sprintf("%s: sound, with %s, %s and %s.", path, harmony.Counted(c.Sittings, "sitting"), harmony.Counted(c.Answers, "answer"), harmony.Counted(c.Takes, "take")))
	}
	if c.Unjudged > 0 {
		lines = append(lines, fmt.Sprintf("%s: no verdict yet.", harmony.Counted(c.Unjudged, "take")))
	}
	if c.UnknownItems > 0 {
		lines = append(lines, fmt.Sprintf("%s with %s of kinds that this release does not know: kept, exported, and not asked.",
			harmony.Counted(c.UnknownItems, "item"), harmony.Counted(c.UnknownAnswers, "answer")))
	}
	if c.Ahead > 0 {
		lines = append(lines, fmt.Sprintf("%s dated in the future, the latest %s: a clock was once wrong. It hides nothing from practice.",
			harmony.Counted(c.Ahead, "answer"), c.LatestAhead))
	}
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/drills/lesson"
	"footfall/drills/today"
	"footfall/trainer/plain"
	"footfall/trainer/screen"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// maxLessonBytes bounds what is read as a lesson.
const maxLessonBytes = 1 << 20

func newTodayCommand(p *program) *cobra.Command {
	var ask session.Day
	var lessonArg string
	var towards, by string
	var seed uint64
	cmd := &cobra.Command{
		Use:   "today",
		Short: "Lay out the day's practice",
		Long: `Lay out the day's practice: what is due, the lesson that comes next, a few new
things, passages of the tunes in work with the ramp where it was left, and a last
pass just to play. After 25 minutes, or what your settings say, a break is proposed. The
plan is laid once a day and kept: it stands there again, with what is done, until
the day is over. --towards picks a tune to work towards, and the plan says how far
it is.

On a terminal the plan is a screen; with --plain it is gone through in lines of
text, and where input or output is no terminal it is printed. With --lesson a lesson
is taken: one of the lessons by name or title, or a teacher's file, of which a copy is kept among
your own lessons, the folder lessons beside your tunes. On a terminal its page opens,
elsewhere the rest of the day follows it (a teacher's beside the plan). The lessons are:

    ` + strings.Join(content.LessonNames(), "\n    "),
		Example: "  footfall today --minutes 30\n  footfall today --towards lantern-street --by 2027-01-31\n  footfall today --plain --lesson 01-what-a-degree-is",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if err := oneOf(cmd, "events", "json", "plain"); err != nil {
				return err
			}
			if cmd.Flags().Changed("minutes") && (ask.Minutes < 1 || ask.Minutes > today.MostMinutes) {
				return badInput(fmt.Errorf("--minutes %d: give 1 to %d", ask.Minutes, today.MostMinutes))
			}
			if cmd.Flags().Changed("seed") {
				ask.Seed = &seed
			}
			desk, done, err := p.desk(cmd, &playing{program: p}, nil)
			if err != nil {
				return err
			}
			defer done(&err)
			if lessonArg != "" {
				if ask.Lesson, err = p.readLesson(cmd, desk, lessonArg); err != nil {
					return err
				}
			}
			if ask.Tune != "" {
				if ask.Tune, err = bring(cmd, desk, ask.Tune); err != nil {
					return err
				}
			}
			if by != "" && towards == "" {
				return badInput(errors.New("--by names the day of the tune that --towards names: give both"))
			}
			switch {
			case towards == "none":
				ask.Towards = &today.Towards{}
			case towards != "":
				if ask.Towards, err = desk.Towards(towards, by); err != nil {
					return badInput(err)
				}
			}
			if ask.Lesson != nil && lessonArg != "-" && p.onScreen(cmd) {
				return p.screens(cmd, desk, session.Choice{}, screen.Lessons, screen.LessonOf(ask.Lesson.Name))
			}
			if ask.Lesson == nil && ask.Seed == nil && p.onScreen(cmd) {
				if ask.Towards != nil {
					if _, err := desk.Agenda(ask); err != nil {
						return err
					}
				}
				return p.screens(cmd, desk, session.Choice{}, screen.TodayOf(ask.Tune, ask.Minutes))
			}
			agenda, err := desk.Agenda(ask)
			if err != nil {
				return err
			}
			if p.events {
				if lessonArg == "-" {
					return badInput(errors.New("the lesson cannot come from standard input, where your answers come from: name a file"))
				}
				return sitIn(cmd, desk.DayOf(agenda, false), nil)
			}
			face := plain.New(cmd.InOrStdin(), cmd.OutOrStdout(), desk.Now)
			switch {
			case p.json:
				return json.NewEncoder(cmd.OutOrStdout()).Encode(agenda.Plan())
			case p.plain && lessonArg != "-":
				desk.Hearing.Try()
				face.Sit(desk.DayOf(agenda, false))
			default:
				face.Plan(agenda.Plan())
			}
			return nil
		},
	}
	p.addEventsFlag(cmd)
	f := cmd.Flags()
	f.IntVar(&ask.Minutes, "minutes", 0, "the time you have (that of your settings unless given)")
	f.StringVar(&ask.Tune, "tune", "", "work at this tune first, by name or from a file")
	f.StringVar(&towards, "towards", "", "work towards this tune from now on; none for no tune")
	f.StringVar(&by, "by", "", "the day by which it is wanted, like 2027-01-31")
	f.StringVar(&lessonArg, "lesson", "", "take a lesson: by its name or title, or a file")
	f.Uint64Var(&seed, "seed", 0, "lay out another plan for the same day")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("tune", completeTunes))
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("towards", completeTunes))
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("lesson", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return content.LessonNames(), cobra.ShellCompDirectiveDefault
	}))
	return cmd
}

// readLesson reads a lesson argument: the name of a lesson that is there, a file, of which
// a copy is kept, or - for standard input. Its faults are bad input, all of them told.
func (p *program) readLesson(cmd *cobra.Command, d *session.Desk, arg string) (*lesson.Lesson, error) {
	asFile := strings.ContainsAny(arg, `/\.`)
	l, none := d.LessonCalled(arg)
	if l != nil && !asFile {
		return l, nil
	}
	data, err := readInput(cmd, arg, maxLessonBytes)
	if errors.Is(err, fs.ErrNotExist) && !asFile {
		err = badInput(fmt.Errorf("--lesson %s is neither a lesson nor a file: %w", arg, none))
	}
	if err != nil {
		return nil, err
	}
	l, faults := d.ReadLesson(session.TeachersName(arg), string(data))
	if l != nil {
		if faults, err = d.Unasked(l); err != nil {
			return nil, badInput(fmt.Errorf("%s is no lesson yet: %w", source(arg), err))
		}
		if own, above, ok := lesson.OwnText(string(data)); ok {
			_, unplayable := p.checked(own)
			for _, f := range unplayable {
				f.Line += above
				faults = append(faults, f)
			}
		}
	}
	if len(faults) > 0 {
		return nil, badInput(fileError{arg, fmt.Sprintf("%s is no lesson yet:\n%v", source(arg), faults), faults})
	}
	broken, err := d.Broken(l)
	if err != nil || broken != nil {
		return nil, badInput(fmt.Errorf("%s is no lesson yet: %w", source(arg), errors.Join(append(broken, err)...)))
	}
	book := p.book()
	if arg == "-" {
		book = tunebook.Book{} // it has no name to be kept by
	}
	if l, err = d.TakeIn(l, string(data), book); err != nil {
		p.warn(cmd, fmt.Sprintf("the lesson can be taken now; no copy of it could be kept for another day: %v", err))
	}
	return l, nil
}

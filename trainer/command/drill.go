package command

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/lipgloss"
	"github.com/mattn/go-isatty"
	"github.com/muesli/termenv"
	"github.com/spf13/cobra"

	"footfall/drills"
	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/plain"
	"footfall/trainer/screen"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// newDrillCommand makes the command that asks and scores.
func newDrillCommand(p *program) *cobra.Command {
	var (
		choice  session.Choice
		minutes float64
		seed    uint64
		port    string
	)
	cmd := &cobra.Command{
		Use:   "drill [NAME]",
		Short: "Ask for degrees of a tune's or a set's chords, and score the answers",
		Long: `Drill asks one question after the other and sums up at the end. NAME is the
kind of question, find where none is given:

` + drillNames() + `
Where input or output is no terminal, or with --plain, questions and answers are
lines of text; the word quit or the end of the input ends the sitting. With
--json the summary alone goes to standard output, and the lines to standard
error.

A rhythm (hits) is tapped with the space bar, with enter in lines of text, or
played, while the bass walks. Its beats may be typed instead, such as 1 2+, or
the taps as seconds from the first beat, such as 0.04s 0.79s.`,
		Example: `  footfall drill find --tune "Lantern Street" --minutes 5
  printf '3\n8\nquit\n' | footfall drill --plain --chords "Dm7 G7 Cmaj7"`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeDrills,
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			choice.Drill = string(drills.Kinds[0].Name)
			if len(args) == 1 {
				choice.Drill = args[0]
			}
			if err := cmp.Or(oneOf(cmd, "tune", "chords"), oneOf(cmd, "events", "json", "plain"), limits(cmd, &choice, minutes)); err != nil {
				return err
			}
			if choice.Tune == "" && choice.Chords == "" {
				choice.Chords = drills.Sets[0].Name
			}
			pl := &playing{program: p, port: port}
			desk, done, err := p.desk(cmd, pl, seeded(cmd, seed))
			if err != nil {
				return err
			}
			defer done(&err)
			if choice.Tune != "" {
				if choice.Tune, err = bring(cmd, desk, choice.Tune); err != nil {
					return err
				}
			}
			if !p.onScreen(cmd) && desk.Hearing != nil {
				desk.Hearing.Try()
			}
			s, err := desk.Drill(choice, false)
			switch {
			case p.events || err != nil:
				return sitIn(cmd, s, err)
			case p.onScreen(cmd):
				return p.screensPlaying(cmd, desk, choice, pl, screen.DrillOf(choice))
			}
			out := cmd.OutOrStdout()
			if p.json {
				out = cmd.ErrOrStderr()
			}
			face := plain.New(cmd.InOrStdin(), out, desk.Now)
			if port != "" {
				epoch := clock.Now()
				in, err := p.openPort(port, epoch)
				if err != nil {
					return err
				}
				defer in.Close()
				face.Listen(in, epoch)
			}
			sum := face.Sit(s)
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(sum)
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&choice.Tune, "tune", "", "draw the questions from this tune, by name or from a file")
	f.StringVar(&choice.Chords, "chords", "", "draw them from this set of chords, or from chord symbols with spaces between")
	f.Float64Var(&minutes, "minutes", 0, "end after so many minutes")
	f.IntVar(&choice.Questions, "questions", 0, fmt.Sprintf("end after so many questions (where no minutes are given %d, or the whole line)", session.UsualQuestions))
	addPortFlag(cmd, &port)
	p.addEventsFlag(cmd)
	f.Uint64Var(&seed, "seed", 0, "ask the same questions as another sitting with this seed and the same history")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("tune", completeTunes))
	var sets []string
	for _, s := range drills.Sets {
		sets = append(sets, s.Name+"\t"+s.Says)
	}
	completeFlag(cmd, "chords", sets)
	return cmd
}

// completeDrills completes the name of a drill.
func completeDrills(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	var names []string
	for _, d := range session.Drills() {
		names = append(names, d.Name+"\t"+d.Says)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// seeded gives the seed of the flag where it is given.
func seeded(cmd *cobra.Command, seed uint64) func() uint64 {
	if !cmd.Flags().Changed("seed") {
		return nil
	}
	return func() uint64 { return seed }
}

// limits checks where the sitting is to end.
func limits(cmd *cobra.Command, c *session.Choice, minutes float64) error {
	if cmd.Flags().Changed("minutes") && !(minutes > 0 && minutes <= 24*60) {
		return badInput(fmt.Errorf("--minutes %g: give a number over 0, up to %d", minutes, 24*60))
	}
	if cmd.Flags().Changed("questions") && c.Questions < 1 {
		return badInput(fmt.Errorf("--questions %d: give a number from 1", c.Questions))
	}
	c.Length = time.Duration(math.Round(minutes * float64(time.Minute)))
	return nil
}

// again runs a command within one that reads lines, in lines of text too.
func (p *program) again(cmd *cobra.Command, words []string) {
	root := New(cmd.OutOrStdout())
	args := append(words, "--plain")
	if p.data != "" {
		args = append(args, "--data", p.data)
	}
	root.SetArgs(args)
	root.SetIn(strings.NewReader(""))
	root.SetErr(cmd.OutOrStdout())
	if err := root.Execute(); err != nil {
		fmt.Fprintln(cmd.OutOrStdout(), short(err))
	}
}

// runBare is footfall without a command: the screens, or where input or output
// is no terminal, the choice in lines of text. In JSON it lists what there is.
func (p *program) runBare(cmd *cobra.Command) (err error) {
	desk, done, err := p.desk(cmd, &playing{program: p}, nil)
	if err != nil {
		return err
	}
	defer done(&err)
	if p.json {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(offers(desk))
	}
	if !p.onScreen(cmd) {
		face := plain.New(cmd.InOrStdin(), cmd.OutOrStdout(), desk.Now)
		face.Tell("edit", "A tune is a text that you write in an editor of your own.",
			"footfall tune format NAME prints one to begin with, in another key with --key.",
			"Save it in the folder "+p.book().Folder()+" with the ending .tune, and it is listed here from the next start on.",
			"footfall tune check FILE names each fault with its line. footfall walk FILE composes a bass line, with --judge it says what is good and bad about yours.")
		face.Tell("inputs", "What hears your playing: MIDI ports, named pipes, the microphone.",
			"footfall listen --ports lists those that are there.",
			"footfall listen --port NAME says each note that it hears; with --calibrate you are led through its set-up, a line at a time.",
			"An input that is set up answers drills and is scored when you play along.")
		face.Run(func(words []string) { p.again(cmd, words) }, "chord", "tune", "walk", "settings", "shape", "log", "manual")
		desk.Hearing.Try()
		face.Menu(desk)
		return nil
	}
	pl := &playing{program: p}
	s := p.services(cmd, desk, session.Choice{}, pl)
	_, unset := os.Stat(p.settingsPath())
	s.FirstStart = errors.Is(unset, fs.ErrNotExist) && desk.Fresh()
	return screen.Run(cmd.InOrStdin(), unwrapped(cmd.OutOrStdout()), s)
}

// offer is something that can be picked, for scripts.
type offer struct {
	Name  string `json:"name"`
	Title string `json:"title,omitempty"`
	Says  string `json:"says"`
}

// offers lists what can be practised, and with what.
func offers(d *session.Desk) map[string][]offer {
	all := map[string][]offer{}
	for _, dr := range session.Drills() {
		all["drills"] = append(all["drills"], offer{Name: dr.Name, Says: dr.Says})
	}
	for _, s := range drills.Sets {
		all["chords"] = append(all["chords"], offer{s.Name, s.Title, s.Says})
	}
	for _, t := range slices.Concat(d.AllTunes(), d.LessonTunes()) {
		all["tunes"] = append(all["tunes"], offer{t.Name, t.Tune.Title, t.Says()})
	}
	return all
}

// screens opens the screens, with the pages named over the first one.
func (p *program) screens(cmd *cobra.Command, desk *session.Desk, c session.Choice, over ...page.ID) error {
	return p.screensPlaying(cmd, desk, c, &playing{program: p}, over...)
}

// screensPlaying is screens with what play-alongs go by.
func (p *program) screensPlaying(cmd *cobra.Command, desk *session.Desk, c session.Choice, pl *playing, over ...page.ID) error {
	return screen.Run(cmd.InOrStdin(), unwrapped(cmd.OutOrStdout()), p.services(cmd, desk, c, pl), over...)
}

// services are what the screens are made of.
func (p *program) services(cmd *cobra.Command, desk *session.Desk, c session.Choice, pl *playing) *screen.Services {
	r := lipgloss.DefaultRenderer()
	if b := p.settings.Look.Background; b != "auto" {
		r.SetHasDarkBackground(b == "dark")
	}
	ascii := p.settings.Look.ASCII || asciiOnly() || fewGlyphs(os.Getenv("TERM"))
	p.colorless = p.colorless || r.ColorProfile() == termenv.Ascii
	look := theme.New
	if p.colorless { // by NO_COLOR or the kind of terminal: weight and underline stay
		r.SetColorProfile(termenv.ANSI)
		look = theme.Colourless
	}
	pl.listenTo(desk)
	s := &screen.Services{
		Theme: look(r, ascii), Mouse: p.settings.Look.Mouse, AskBackground: p.settings.Look.Background == "auto" && !fewGlyphs(os.Getenv("TERM")),
		Desk: desk, Guard: new(screen.Guard), Book: p.book(),
		Questions: c.Questions, Length: c.Length, Notice: strings.Join(p.warnings, "\n"), Passage: pl.passage,
		GoOn:   time.Duration(p.settings.Drill.GoOnS * float64(time.Second)),
		Input:  func() (listen.Input, error) { return pl.input(clock.Now()) },
		Inputs: pl.gear(desk.Neck.Tuning),
	}
	s.Settings = screen.Settings{
		Now: p.settings, Path: p.ownSettingsPath(),
		Hold: func(set settings.Settings) (*screen.Services, error) {
			again, played := *p, *pl
			again.settings, again.warnings, played.program = set, nil, &again
			with, err := desk.With(set)
			if err != nil {
				return nil, err
			}
			services := again.services(cmd, with, c, &played)
			services.Guard = s.Guard
			return services, nil
		},
	}
	return s
}

// fewGlyphs reports whether a kind of terminal has a fixed font that lacks lines
// of two weights: the console of Linux and the BSDs, and the VT series (common
// practice, no source).
func fewGlyphs(term string) bool {
	switch term {
	case "linux", "cons25", "ansi":
		return true
	}
	return strings.HasPrefix(term, "vt")
}

// onScreen reports whether a command opens the screens: where nothing else is asked
// for, and a person sits there.
func (p *program) onScreen(cmd *cobra.Command) bool {
	return !p.plain && !p.json && !p.events && onTerminal(cmd)
}

// onTerminal reports whether a person sits at both ends, on a terminal that can
// be drawn on.
func onTerminal(cmd *cobra.Command) bool {
	return isTerminal(cmd.InOrStdin()) && isTerminal(unwrapped(cmd.OutOrStdout())) && os.Getenv("TERM") != "dumb"
}

func isTerminal(v any) bool {
	f, ok := v.(*os.File)
	return ok && (isatty.IsTerminal(f.Fd()) || isatty.IsCygwinTerminal(f.Fd()))
}

// drillNames lists the drills with what each trains.
func drillNames() string {
	var b strings.Builder
	for _, d := range session.Drills() {
		fmt.Fprintf(&b, "  %-6s %s\n", d.Name, d.Says)
	}
	return b.String()
}

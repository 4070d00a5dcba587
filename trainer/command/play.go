package command

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
	"footfall/trainer/plain"
	"footfall/trainer/screen"
	"footfall/trainer/screen/inputs"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// playing is how a command plays along, or the screens do.
type playing struct {
	*program
	// passage is what the flags ask for, its tune left open.
	passage session.Passage
	comping string
	port    string
	tempo   float64
	silent  bool
	free    bool
}

func newPlayCommand(p *program) *cobra.Command {
	pl := &playing{program: p}
	cmd := &cobra.Command{
		Use:   "play TUNE",
		Short: "Play along with a tune: count-in, click, the model, the tempo ramp",
		Example: "  footfall play lantern-street --tempo 92\n" +
			"  footfall play tin-kettle-blues --ramp 60:120+4 --layer bass\n" +
			"  footfall play key-ring --free --plain",
		Long: `Play a tune along with a click, with its bass line and shapes as a model. An input
(see footfall listen) is scored note by note; without one you judge a pass
yourself. Where input or output is no terminal, or with --plain, each bar is said in
a line while the one before it sounds, and one pass is played, or as many as lead a ramp
to its end where all are clean, unless --passes says otherwise. With --json the last
pass's score goes to standard output, and the lines to standard error.

With --free the line is your own: the program follows the form and judges each bar
as it passes, clear, thin, lost or silent, with a reason. No bass row is needed.

A ramp such as 60:120+4 climbs from 60 to 120 by 4 a pass; 60:120+4,ladder3 climbs
after three clean passes in a row and falls after one that failed;
60:120,alternate plays slow and fast in turn.

TUNE is the name or title of a tune, a file, or - for standard input.`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeTunes,
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if err := cmp.Or(oneOf(cmd, "tempo", "ramp"), oneOf(cmd, "events", "json", "plain")); err != nil {
				return err
			}
			if r, err := ramp.Parse(pl.passage.Ramp); cmd.Flags().Changed("ramp") && err == nil && r.Floor == r.Target {
				return badInput(fmt.Errorf("--ramp %s stays at one tempo: write a climb such as 60:120+4, or --tempo %g", pl.passage.Ramp, r.Floor))
			}
			if cmd.Flags().Changed("passes") && pl.passage.Passes < 1 {
				return badInput(fmt.Errorf("--passes %d: give a number from 1", pl.passage.Passes))
			}
			if pl.free {
				if cmd.Flags().Changed("layer") || pl.comping != "" {
					return badInput(errors.New("--free asks for the bass alone: leave out --layer and --comping"))
				}
				pl.passage.Layer = session.FreeLayer
			}
			if cmd.Flags().Changed("tempo") {
				if err := checkTempo(pl.tempo); err != nil {
					return badInput(err)
				}
				pl.passage.Ramp = fmt.Sprintf("%g", pl.tempo)
			}
			t, err := readTune(cmd, args[0])
			if err != nil {
				return err
			}
			if p.events && args[0] == "-" {
				return badInput(errors.New("the tune cannot come from standard input, where your answers come from: name a file"))
			}
			if t, err = comped(t, pl.comping); err != nil {
				return err
			}
			desk, done, err := p.desk(cmd, pl, nil)
			if err != nil {
				return err
			}
			defer done(&err)
			pl.passage.Tune = session.Tune{Name: tuneName(cmd, args[0]), Tune: t, Path: tunePath(cmd, args[0])}
			if p.onScreen(cmd) {
				desk.Put(pl.passage.Tune)
				return p.screensPlaying(cmd, desk, session.Choice{}, pl, screen.PlayOf(pl.passage.Tune.Name))
			}
			pl.passage = pl.passage.ToItsEnd()
			if p.events {
				s, err := desk.Passes(pl.passage)
				return sitIn(cmd, s, err)
			}
			s, err := desk.PlayAlong(pl.passage)
			if err != nil {
				return badInput(err)
			}
			out := cmd.OutOrStdout()
			if p.json {
				out = cmd.ErrOrStderr()
			}
			input := cmd.InOrStdin()
			if args[0] == "-" {
				input = noInput{}
			}
			plain.New(input, out, desk.Now).Play(s)
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(playedOf(s))
			}
			return nil
		},
	}
	addLayerFlag(cmd, &pl.passage.Layer)
	addCompingFlag(cmd, &pl.comping)
	addSchoolFlag(cmd, &pl.passage.School)
	p.addEventsFlag(cmd)
	f := cmd.Flags()
	f.StringVar(&pl.passage.Section, "section", "", "play this section alone")
	f.Float64Var(&pl.tempo, "tempo", 0, "BPM, 30 to 300 (the tune's own unless given)")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("section", completeSections))
	f.BoolVar(&pl.free, "free", false, "make the line up: each bar is judged by whether its chords are to be heard")
	f.StringVar(&pl.passage.Ramp, "ramp", "", "the tempo over the passes, such as 60:120+4")
	f.IntVar(&pl.passage.Passes, "passes", 0, "end after so many passes")
	f.StringVar(&pl.port, "port", "", "the input: a port's name or a path, none for none")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("port", completePorts))
	f.BoolVar(&pl.silent, "silent", false, "open no sound device: the click is seen, not heard")
	return cmd
}

// noInput is a standard input that has been read already.
type noInput struct{}

func (noInput) Read([]byte) (int, error) { return 0, errors.New("standard input holds the tune") }

// input opens the port that is picked; nil where there is none, or several of
// which none is named.
func (pl *playing) input(began time.Time) (listen.Input, error) {
	if pl.port == "none" {
		return nil, nil
	}
	port := pl.current()
	if port == "" {
		return nil, nil
	}
	return pl.openPort(port, began)
}

// listenTo lets a desk's play-alongs be heard and sound as the flags ask.
func (pl *playing) listenTo(d *session.Desk) {
	d.Sounding.Input, d.Sounding.KeepDelay, d.Sounding.Sound.Mute = pl.input, pl.keepDelay, pl.silent
	if port := pl.settings.Play.AnswerPort; port != "" && pl.settings.Play.Answer != "" {
		d.Sounding.Answer.Input = func(time.Time) (listen.Input, error) {
			return guard.InTime(port, func() (listen.Input, error) { return listen.Open(port, listen.Options{}) }, func(in listen.Input) { _ = in.Close() })
		}
	}
}

// keepDelay keeps how much later than was known a port is.
func (pl *playing) keepDelay(port string, by time.Duration, notes int) error {
	return pl.inputs().Later(port, by, notes, pl.delay())
}

// current is the port that is listened to, "" for none.
func (pl *playing) current() string {
	if pl.port == "none" {
		return ""
	}
	port, err := pl.pickPort(pl.port)
	if err != nil {
		return ""
	}
	return port
}

// gear is what the page of inputs works with.
func (pl *playing) gear(tuning fretboard.Tuning) inputs.Gear {
	store := pl.inputs()
	return inputs.Gear{
		Store: store, Present: listen.Present, Open: listen.Open, Current: pl.current,
		Pick: func(port string) error {
			pl.port = port // from now on, whatever the flags and the settings say
			return store.Use(port)
		},
		Setting: pl.settings.Listen.Port, Tuning: tuning,
		Sound: sound.Options{Mute: pl.silent}, Tempo: taps.UsualTempo, Bars: taps.UsualBars,
	}
}

// playedJSON is the answer of play --json: the score of the last pass that was
// listened to, and every pass.
type playedJSON struct {
	*scored
	Free *walkedFreely `json:"free,omitempty"`
	session.PlayedSummary
}

func playedOf(s *session.PlayAlong) playedJSON {
	results := s.Results()
	out := playedJSON{PlayedSummary: session.SumOf(s.Arrangement(), results)}
	for _, r := range results {
		if r.Free != nil {
			free := walkedFreelyOf(s.Arrangement().Tune, r.Tempo, r.Free)
			out.Free = &free
		}
		if r.Score != nil {
			sc := scoredOf(s.Arrangement(), r.Tempo, r.Score)
			out.scored = &sc
		}
	}
	return out
}

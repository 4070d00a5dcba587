package command

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
	"footfall/trainer/plain"
	"footfall/trainer/playalong"
	"footfall/trainer/screen"
	"footfall/trainer/screen/inputs"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// playing is one run of the play command, or the play-along of the screens.
type playing struct {
	*program
	layer, section, ramp, port string
	tempo                      float64
	passes                     int
	silent                     bool
}

func newPlayCommand(p *program) *cobra.Command {
	pl := &playing{program: p}
	cmd := &cobra.Command{
		Use:   "play TUNE",
		Short: "Play along with a tune: count-in, click, the model, the tempo ramp",
		Long: `Play a tune along with a click, with its bass line and shapes as a model. An input
(see footfall listen) is scored note by note; without one you judge a pass
yourself. Where input or output is no terminal, or with --plain, each bar is called
out in a line on its first beat, and one pass is played unless --passes says
otherwise. With --json the last pass's score goes to standard output, and the lines
to standard error.

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
			if cmd.Flags().Changed("passes") && pl.passes < 1 {
				return badInput(fmt.Errorf("--passes %d: give a number from 1", pl.passes))
			}
			if cmd.Flags().Changed("tempo") {
				if err := checkTempo(pl.tempo); err != nil {
					return badInput(err)
				}
			}
			t, err := readTune(cmd, args[0])
			if err != nil {
				return err
			}
			name := tuneName(cmd, args[0])
			desk, done, err := p.desk(cmd, nil)
			if err != nil {
				return err
			}
			defer done(&err)
			if !p.plain && !p.json && !p.events && onTerminal(cmd) {
				desk.Put(session.Tune{Name: name, Tune: t, Path: tunePath(cmd, args[0])})
				return p.screensPlaying(cmd, desk, session.Choice{}, pl, screen.PlayOf(name))
			}
			if pl.passes == 0 {
				pl.passes = 1
			}
			if p.events {
				if args[0] == "-" {
					return badInput(errors.New("the tune cannot come from standard input, where your answers come from: name a file"))
				}
				s, err := desk.Passes(session.Passage{Tune: session.Tune{Name: name, Tune: t}, Section: pl.section, Layer: pl.layer, Ramp: pl.plan(t), Passes: pl.passes})
				return sitIn(cmd, s, err)
			}
			s, in, err := pl.open(desk, session.Tune{Name: name, Tune: t})
			if err != nil {
				return badInput(err)
			}
			defer in()
			defer s.Close()
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
	addLayerFlag(cmd, &pl.layer)
	p.addEventsFlag(cmd)
	f := cmd.Flags()
	f.StringVar(&pl.section, "section", "", "play this section alone")
	f.Float64Var(&pl.tempo, "tempo", 0, "quarter notes a minute, 30 to 300 (the tune's own unless given)")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("section", completeSections))
	f.StringVar(&pl.ramp, "ramp", "", "the tempo over the passes, such as 60:120+4")
	f.IntVar(&pl.passes, "passes", 0, "end after so many passes")
	f.StringVar(&pl.port, "port", "", "the input: a port's name or a path, none for none")
	f.BoolVar(&pl.silent, "silent", false, "open no sound device: the click is seen, not heard")
	return cmd
}

// noInput is a standard input that has been read already.
type noInput struct{}

func (noInput) Read([]byte) (int, error) { return 0, errors.New("standard input holds the tune") }

// plan is the ramp that the flags ask for, as ramp.Parse reads it.
func (pl *playing) plan(t *tune.Tune) string {
	return cmp.Or(pl.ramp, fmt.Sprintf("%g", cmp.Or(pl.tempo, t.Tempo)))
}

// progress is the tempo plan that the flags ask for.
func (pl *playing) progress(t *tune.Tune) (ramp.Progress, error) {
	r, err := ramp.Parse(pl.plan(t))
	if err != nil {
		return ramp.Progress{}, fmt.Errorf("--%w", err)
	}
	return r.Start(), nil
}

// open makes the session and opens the input. done lets the input go.
func (pl *playing) open(d *session.Desk, t session.Tune) (s *playalong.Session, done func(), err error) {
	layer, err := tune.ParseLayer(pl.layer)
	if err != nil {
		return nil, nil, err
	}
	progress, err := pl.progress(t.Tune)
	if err != nil {
		return nil, nil, err
	}
	set := pl.settings
	click, err := sound.ClickOf(set.Sound.Click)
	if err != nil {
		return nil, nil, err
	}
	score := take.DefaultSettings()
	score.Window = time.Duration(set.Listen.WindowMS * float64(time.Millisecond))
	began := clock.Now()
	in, err := pl.input(began)
	if err != nil {
		return nil, nil, err
	}
	done = func() {
		if in != nil {
			in.Close()
		}
	}
	gear := playalong.Gear{Sound: sound.Options{Mute: pl.silent}, Began: began, Score: score, Now: d.Now}
	way := memory.Own
	if in != nil {
		gear.Input, way = in, memory.MIDI
		if _, heard := listen.IsMicrophone(in.Name()); heard {
			way = memory.Microphone
		}
	}
	if d.History != nil {
		gear.Keep = (&takes{history: d.History, tune: t.Name, section: pl.section, way: way, kept: map[int]uuid.UUID{}}).keep
	}
	s, err = playalong.Open(playalong.Choice{
		Tune: t.Tune, Neck: d.Neck, Hand: d.Hand, Layer: layer, Section: pl.section, Ramp: progress, Passes: pl.passes,
		CountIn: set.Sound.CountIn, Click: click, Falling: set.Sound.Swing == "falling",
		Mix: sound.Mix{ClickDB: set.Sound.ClickDB, BassDB: set.Sound.BassDB, ShapesDB: set.Sound.ShapesDB},
	}, gear)
	if err != nil {
		done()
		return nil, nil, err
	}
	return s, done, nil
}

// along opens play-alongs for the face in lines.
func (p *program) along(d *session.Desk) plain.Along {
	return func(q plain.Passage) (*playalong.Session, func(), error) {
		pl := &playing{program: p, layer: cmp.Or(q.Layer, fretboard.BassHalves.String()), section: q.Section, ramp: q.Ramp, passes: q.Passes}
		return pl.open(d, q.Tune)
	}
}

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

// takes keeps the passes of one play-along.
type takes struct {
	history       session.History
	tune, section string
	way           memory.Way
	sitting       uuid.UUID
	last          time.Time // the end of the pass kept last
	kept          map[int]uuid.UUID
}

// keep keeps a pass, and when it comes again its verdict.
func (k *takes) keep(r playalong.Result) error {
	ctx := context.Background()
	if id, there := k.kept[r.Pass]; there {
		return k.history.JudgePass(ctx, id, r.Clean, r.Ramp.String())
	}
	if session.AwayBetween(k.last, r.At) {
		k.sitting = uuid.Nil
	}
	k.last = r.At.Add(r.Length)
	if k.sitting == uuid.Nil {
		sit, err := k.history.Begin(ctx, history.Sitting{Began: r.At, Drill: "play", Tune: k.tune})
		if err != nil && sit.ID == uuid.Nil {
			return err
		}
		k.sitting = sit.ID
	}
	t := history.Take{
		Sitting: k.sitting, At: r.At, Way: k.way, Tempo: r.Tempo, Length: r.Length, Judged: r.Judged, Clean: r.Clean, Ramp: r.Ramp.String(),
		Item: memory.Item{Kind: memory.Passage, Tune: k.tune, Section: k.section, Layer: r.Layer.String()},
	}
	if sc := r.Score; sc != nil {
		t.Expected, t.Matched, t.Missed, t.Extra, t.Wrong = sc.Expected, sc.Matched, sc.Missed, sc.Extra, sc.Wrong
		t.Mean, t.Spread = sc.Lead(), sc.Timing.Spread
		t.Events = takeEvents(sc)
	}
	t, err := k.history.AppendTake(ctx, t)
	k.kept[r.Pass] = t.ID
	return err
}

// takeEvents lists a score's events as the history keeps them.
func takeEvents(sc *take.Score) []history.TakeEvent {
	var events []history.TakeEvent
	for i, e := range sc.Events {
		o := sc.Outcomes[i]
		if !o.Verdict.Known() {
			continue
		}
		want := append(append([]take.Want{}, e.Free...), e.Notes...)[0]
		x := history.TakeEvent{Bar: e.At.Bar, Beat: e.At.Beat, Off: e.At.Off, Place: want.Place, MIDI: want.MIDI, Offset: o.Offset}
		switch {
		case o.Verdict.Right():
			x.Verdict = "matched"
		case o.Verdict.Wrong():
			x.Verdict = "wrong"
		default:
			x.Verdict = "missed"
		}
		events = append(events, x)
	}
	for _, j := range sc.Extras {
		events = append(events, history.TakeEvent{MIDI: sc.Played[j].MIDI, Verdict: "extra"})
	}
	return events
}

// playedPass is a pass as scripts read it.
type playedPass struct {
	Pass    int     `json:"pass"`
	Tempo   float64 `json:"tempo"`
	LengthS float64 `json:"length_s"`
	Judged  bool    `json:"judged"`
	Clean   bool    `json:"clean"`
	Ramp    string  `json:"ramp"`
}

// played is the answer of play --json: the score of the last pass that was
// listened to, and every pass.
type playedJSON struct {
	*scored
	Tune   string       `json:"tune"`
	Layer  string       `json:"layer"`
	Passes []playedPass `json:"passes"`
}

func playedOf(s *playalong.Session) playedJSON {
	a := s.Arrangement()
	out := playedJSON{Tune: a.Tune.Title, Layer: a.Layer.String(), Passes: []playedPass{}}
	for _, r := range s.Results() {
		if r.Score != nil {
			sc := scoredOf(a, r.Tempo, r.Score)
			out.scored = &sc
		}
		out.Passes = append(out.Passes, playedPass{r.Pass, r.Tempo, r.Length.Seconds(), r.Judged, r.Clean, r.Ramp.String()})
	}
	return out
}

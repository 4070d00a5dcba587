package command

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
	"footfall/trainer/sound"
)

// What --calibrate may be given.
const (
	calibrateStrings = "strings"
	calibrateDelay   = "delay"
)

// Calibration taps: two bars of four at an easy tempo. Common practice, no
// source.
const (
	calibrateTempo = 90
	calibrateBars  = 2
)

// listening is one run of the listen command.
type listening struct {
	*program
	cmd       *cobra.Command
	store     listen.Store
	port      string
	ports     bool
	calibrate string
	length    time.Duration
	// tempo, bars and sound are how calibration clicks.
	tempo float64
	bars  int
	sound sound.Options
}

func newListenCommand(p *program) *cobra.Command {
	return (&listening{program: p, tempo: calibrateTempo, bars: calibrateBars}).command()
}

func (l *listening) command() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "listen",
		Short: "Show what an input hears, list the inputs, or calibrate one",
		Long: `Show the notes that an input hears, as they come, until you press ctrl-c.

An input is a MIDI port by its name, or the path of a MIDI device file or of a
named pipe. Without --port it is the one of the settings, the one used last, or the only one
there is. A port that is missing is waited for.

--calibrate asks for each open string, plucked along with a click, and learns its
channel, transposition and delay. --calibrate=delay learns the delay alone, from
any notes played along with a click: that is for keyboards. What is learned is
kept for that port and used whenever it is listened to.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			l.cmd = cmd
			l.store = listen.StoreIn(filepath.Dir(history.Path("")))
			return l.run()
		},
	}
	f := cmd.Flags()
	f.BoolVar(&l.ports, "ports", false, "list the inputs that are there now")
	f.StringVar(&l.port, "port", "", "the input: a port's name or a path")
	f.StringVar(&l.calibrate, "calibrate", "", "learn the strings, or with =delay the delay alone")
	f.Lookup("calibrate").NoOptDefVal = calibrateStrings
	f.DurationVar(&l.length, "for", 0, "stop after so long, such as 30s")
	return cmd
}

func (l *listening) run() error {
	switch {
	case l.ports && l.calibrate != "":
		return badInput(errors.New("--ports and --calibrate do not go together: give one of them"))
	case l.calibrate != "" && l.calibrate != calibrateStrings && l.calibrate != calibrateDelay:
		return badInput(fmt.Errorf("--calibrate=%s: give %s or %s", l.calibrate, calibrateStrings, calibrateDelay))
	case l.length < 0:
		return badInput(fmt.Errorf("--for %v: give a length of time, such as 30s", l.length))
	case l.ports:
		return l.list()
	}
	if err := l.pick(); err != nil {
		return err
	}
	if l.calibrate != "" {
		return l.learn()
	}
	return l.monitor()
}

// listedPort is a port as scripts read it.
type listedPort struct {
	Name string `json:"name"`
	Path string `json:"path,omitempty"`
	// Last says whether it was used last.
	Last         bool    `json:"last"`
	Strings      int     `json:"strings_learned"`
	StringsKnown bool    `json:"strings_known"`
	DelayMS      float64 `json:"delay_ms"`
	SpreadMS     float64 `json:"spread_ms"`
}

func (l *listening) list() error {
	there, err := listen.Ports()
	if err != nil {
		return err
	}
	last, err := l.store.Last()
	if err != nil {
		return err
	}
	ports := []listedPort{}
	for _, port := range there {
		c, err := l.store.Calibration(port.Name)
		if err != nil {
			return err
		}
		ports = append(ports, listedPort{
			Name: port.Name, Path: port.Path, Last: port.Name == last,
			Strings: len(c.Strings), StringsKnown: c.StringsKnown(),
			DelayMS: inMS(c.Delay.Median), SpreadMS: inMS(c.Delay.Spread),
		})
	}
	out := l.cmd.OutOrStdout()
	if l.json {
		return json.NewEncoder(out).Encode(ports)
	}
	if len(ports) == 0 {
		_, err := fmt.Fprintln(out, "No MIDI input is plugged in. A named pipe can be given by its path: footfall listen --port PATH")
		return err
	}
	for _, port := range ports {
		says := "not calibrated"
		if port.Strings > 0 || port.DelayMS != 0 {
			says = fmt.Sprintf("delay %.0f ms, spread %.0f ms, strings not known", port.DelayMS, port.SpreadMS)
		}
		if port.StringsKnown {
			says = fmt.Sprintf("delay %.0f ms, spread %.0f ms, %d strings known", port.DelayMS, port.SpreadMS, port.Strings)
		}
		if port.Last {
			says += ", used last"
		}
		if _, err := fmt.Fprintf(out, "%s  (%s)\n", port.Name, says); err != nil {
			return err
		}
	}
	return nil
}

// pick settles on a port: the one named, the one of the settings, the one used
// last, or the only one.
func (l *listening) pick() error {
	if l.port == "" {
		l.port = l.settings.Listen.Port
	}
	if l.port != "" {
		if strings.ContainsRune(l.port, filepath.Separator) {
			path, err := filepath.Abs(l.port)
			l.port = path // so that it is found again from another folder
			return err
		}
		return nil
	}
	last, err := l.store.Last()
	if err != nil || last != "" {
		l.port = last
		return err
	}
	there, err := listen.Ports()
	if err != nil {
		return err
	}
	if len(there) == 1 {
		l.port = there[0].Name
		return nil
	}
	if len(there) == 0 {
		return badInput(errors.New("no MIDI input is plugged in: plug one in, or give the path of a named pipe with --port"))
	}
	names := make([]string, len(there))
	for i, port := range there {
		names[i] = port.Name
	}
	return badInput(fmt.Errorf("there are several inputs: give one with --port: %s", strings.Join(names, ", ")))
}

// heardNote is a note as scripts read it.
type heardNote struct {
	At         float64 `json:"at_s"`
	On         bool    `json:"on"`
	MIDI       int     `json:"midi"`
	Note       string  `json:"note"`
	Cents      float64 `json:"cents"`
	Channel    int     `json:"channel"`
	String     int     `json:"string"`
	Velocity   float64 `json:"velocity"`
	Confidence float64 `json:"confidence"`
}

// monitor prints what comes, and on standard error how the input is doing.
func (l *listening) monitor() error {
	epoch := time.Now()
	delay := time.Duration(l.settings.Listen.DelayMS * float64(time.Millisecond))
	in, err := l.store.Open(l.port, func() time.Duration { return time.Since(epoch) }, delay)
	if err != nil {
		return badInput(err)
	}
	defer in.Close()
	var over <-chan time.Time
	if l.length > 0 {
		over = time.After(l.length)
	}
	look := time.NewTicker(100 * time.Millisecond)
	defer look.Stop()
	line := ""
	for {
		if now := in.Status().Line; now != line {
			line = now
			fmt.Fprintln(l.cmd.ErrOrStderr(), line)
		}
		select {
		case <-over:
			return nil
		case <-l.cmd.Context().Done():
			return nil
		case <-look.C:
		case n := <-in.Notes():
			if err := l.print(n); err != nil {
				return err
			}
		}
	}
}

func (l *listening) print(n listen.Note) error {
	out := l.cmd.OutOrStdout()
	if l.json {
		return json.NewEncoder(out).Encode(heardNote{
			At: n.At.Seconds(), On: n.On, MIDI: n.MIDI, Note: pitchName(n.MIDI), Cents: n.Cents,
			Channel: n.Channel, String: n.String, Velocity: n.Velocity, Confidence: n.Confidence,
		})
	}
	if !n.On {
		return nil
	}
	str := "not known"
	if n.String > 0 {
		str = fmt.Sprint(n.String)
	}
	_, err := fmt.Fprintf(out, "%9.3f s  %-4s string %s, channel %d, velocity %.0f\n", n.At.Seconds(), pitchName(n.MIDI), str, n.Channel, 127*n.Velocity)
	return err
}

// pitchName names a MIDI note number, black keys as flats: 46 is Bb2.
func pitchName(midi int) string {
	for _, alter := range []int8{0, -1} {
		for letter := range 7 {
			if p, ok := harmony.PitchOf(harmony.Note{Letter: harmony.Letter(letter), Alter: alter}, midi); ok {
				return p.String()
			}
		}
	}
	return fmt.Sprint(midi)
}

// learn calibrates: it asks in whole lines, so that it can be answered by a
// script and heard by a screen reader.
func (l *listening) learn() error {
	epoch := time.Now()
	in, err := listen.Open(l.port, listen.Options{Now: func() time.Duration { return time.Since(epoch) }})
	if err != nil {
		return badInput(err)
	}
	defer in.Close()
	ask := bufio.NewScanner(l.cmd.InOrStdin())
	l.say("Calibrating %s. A click counts four, then goes on for %d beats: play on each of them.", l.port, 4*l.bars)
	var c listen.Calibration
	if l.calibrate == calibrateDelay {
		if c, err = l.store.Calibration(l.port); err == nil {
			c.Delay, err = l.learnDelay(in, epoch, ask)
		}
		for i := range c.Strings {
			c.Strings[i].Delay = nil // the one that was just learned holds for all
		}
	} else {
		c, err = l.learnStrings(in, epoch, ask)
	}
	if err != nil {
		return err
	}
	if err := errors.Join(l.store.Learn(l.port, c), l.store.Use(l.port)); err != nil {
		return err
	}
	if l.json {
		return json.NewEncoder(l.cmd.OutOrStdout()).Encode(c)
	}
	for _, s := range c.Strings {
		if s.Delay != nil {
			l.say("String %d: channel %d, transposed by %+d, delay %.1f ms, spread %.1f ms.", s.String, s.Channel, s.Transpose, inMS(s.Delay.Median), inMS(s.Delay.Spread))
		}
	}
	l.say("Delay of the port: %.1f ms, spread %.1f ms.", inMS(c.Delay.Median), inMS(c.Delay.Spread))
	if l.calibrate == calibrateStrings && !c.StringsKnown() {
		l.say("All strings come on one channel: which string is played cannot be told, and nothing will be said of it.")
	}
	l.say("Kept for %s.", l.port)
	return nil
}

// errUnfinished is returned where the player stops before the end.
var errUnfinished = errors.New("the calibration was not finished; nothing was kept")

func (l *listening) learnDelay(in listen.Input, epoch time.Time, ask *bufio.Scanner) (listen.Delay, error) {
	for {
		if err := l.ready("Play any note with each click.", ask); err != nil {
			return listen.Delay{}, err
		}
		round, err := l.round(in, epoch)
		if err != nil {
			return listen.Delay{}, err
		}
		var taken []time.Duration
		for _, n := range round.Notes {
			if n.On {
				taken = append(taken, n.At)
			}
		}
		delay, err := listen.LearnDelay(taken, round.Beats)
		if err == nil {
			return delay, nil
		}
		l.say("%s. %v. Once more.", in.Status().Line, err)
	}
}

func (l *listening) learnStrings(in listen.Input, epoch time.Time, ask *bufio.Scanner) (listen.Calibration, error) {
	neck, _ := l.settings.Instrument()
	tuning := neck.Tuning
	var learned []listen.StringCalibration
	for str := len(tuning); str >= 1; {
		prompt := fmt.Sprintf("String %d, open (%s): pluck it with each click.", str, pitchName(tuning.Open(str)))
		if err := l.ready(prompt, ask); err != nil {
			return listen.Calibration{}, err
		}
		round, err := l.round(in, epoch)
		if err != nil {
			return listen.Calibration{}, err
		}
		s, err := listen.LearnString(str, tuning.Open(str), round.Notes, round.Beats)
		if err != nil {
			l.say("%s. %v. Once more.", in.Status().Line, err)
			continue
		}
		learned = append(learned, s)
		str--
	}
	return listen.FromStrings(learned), nil
}

// ready waits for the player.
func (l *listening) ready(prompt string, ask *bufio.Scanner) error {
	l.say("%s Press enter to begin, or type q to stop.", prompt)
	if !ask.Scan() {
		return errors.Join(errUnfinished, ask.Err())
	}
	if strings.EqualFold(strings.TrimSpace(ask.Text()), "q") {
		return errUnfinished
	}
	return nil
}

func (l *listening) round(in listen.Input, epoch time.Time) (taps.Round, error) {
	ctx, stop := context.WithCancel(l.cmd.Context())
	defer stop()
	return taps.Play(ctx, in, taps.Options{
		Epoch: epoch, Tempo: l.tempo, Bars: l.bars, Sound: l.sound,
		Beat: func(beat int) {
			switch {
			case beat <= 0:
				l.say("  count %d", beat+4)
			default:
				l.say("  beat %d", beat)
			}
		},
	})
}

// say speaks to the player: on standard error where standard output is JSON.
func (l *listening) say(format string, args ...any) {
	var out io.Writer = l.cmd.OutOrStdout()
	if l.json {
		out = l.cmd.ErrOrStderr()
	}
	fmt.Fprintf(out, format+"\n", args...)
}

func inMS(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

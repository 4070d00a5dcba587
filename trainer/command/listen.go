package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/listen"
	"footfall/trainer/listen/taps"
	"footfall/trainer/sound"
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
	return (&listening{program: p, tempo: taps.UsualTempo, bars: taps.UsualBars}).command()
}

func (l *listening) command() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "listen",
		Short: "Show what an input hears, list the inputs, or calibrate one",
		Example: "  footfall listen --ports\n" +
			"  footfall listen --calibrate",
		Long: `Show the notes that an input hears, as they come, until you press ctrl-c.

An input is a MIDI port by its name, the path of a MIDI device file or of a named
pipe, or microphone, which hears a guitar through the computer's sound input and
shows its level and a tuner; "microphone: NAME" is one of several. Without --port it
is the one of the settings, the one used last, or the only one
there is. A port that is missing is waited for.

--calibrate asks for each open string, plucked along with a click, and learns its
channel, transposition and delay. --calibrate=delay learns the delay alone, from
any notes played along with a click: that is for keyboards. What is learned is
kept for that port and used whenever it is listened to. With a microphone
--calibrate learns the room in five seconds: the noise, the level and how you are
tuned; --calibrate=delay how late it is.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			l.cmd = cmd
			l.store = l.inputs()
			return l.run()
		},
	}
	f := cmd.Flags()
	f.BoolVar(&l.ports, "ports", false, "list the inputs that are there now")
	addPortFlag(cmd, &l.port)
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
	port, err := l.pickPort(l.port)
	if err != nil {
		return err
	}
	if l.port = port; port == "" {
		return errors.New("no input is plugged in: plug one in, or give the path of a named pipe with --port" + forMicrophones("; "))
	}
	if device, ok := listen.IsMicrophone(l.port); ok {
		switch l.calibrate {
		case calibrateStrings:
			return l.setUp(device)
		case "":
			return l.meter(device)
		}
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
	// SetUp says whether a microphone's room was learned.
	SetUp bool `json:"set_up,omitempty"`
}

func (l *listening) list() error {
	known, err := l.store.Known(listen.Present)
	if err != nil {
		return err
	}
	ports := []listedPort{}
	for _, port := range known {
		if !port.There {
			continue
		}
		c := port.Calibration
		ports = append(ports, listedPort{
			Name: port.Name, Path: port.Path, Last: port.Last,
			Strings: len(c.Strings), StringsKnown: c.StringsKnown(),
			DelayMS: inMS(c.Delay.Median), SpreadMS: inMS(c.Delay.Spread), SetUp: c.Room != nil,
		})
	}
	out := l.cmd.OutOrStdout()
	if l.json {
		return json.NewEncoder(out).Encode(ports)
	}
	if len(ports) == 0 {
		_, err := fmt.Fprintln(out, "No input is plugged in. A named pipe can be given by its path: footfall listen --port PATH"+forMicrophones(". "))
		return err
	}
	for _, port := range ports {
		says := "not calibrated"
		if port.Strings > 0 || port.DelayMS != 0 {
			says = fmt.Sprintf("delay %.0f ms, spread %.0f ms, strings not known", port.DelayMS, port.SpreadMS)
		}
		if port.SetUp {
			says = "set up"
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

// forMicrophones says behind a mark what would bring microphones to this system,
// where something that is installed would.
func forMicrophones(mark string) string {
	if remedy := listen.MicrophoneRemedy(); remedy != "" {
		return mark + "For microphones: " + remedy
	}
	return ""
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

// monitor prints what comes.
func (l *listening) monitor() error {
	in, err := l.openPort(l.port, clock.Now())
	if err != nil {
		return err
	}
	defer in.Close()
	return l.follow(in, 100*time.Millisecond, func() error { return nil }, l.print)
}

// follow hands on the notes of an input until the time is over or the command is
// stopped, calls look so often, and tells on standard error how the input is
// doing.
func (l *listening) follow(in listen.Input, every time.Duration, look func() error, note func(listen.Note) error) error {
	var over <-chan time.Time
	if l.length > 0 {
		over = time.After(l.length)
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	line := ""
	for {
		if now := in.Status().Line; now != line {
			line = now
			fmt.Fprintln(l.cmd.ErrOrStderr(), line)
		}
		var err error
		select {
		case <-over:
			return nil
		case <-l.cmd.Context().Done():
			return nil
		case <-tick.C:
			err = look()
		case n := <-in.Notes():
			err = note(n)
		case s := <-in.Strums():
			err = l.printStrum(s)
		}
		if err != nil {
			return err
		}
	}
}

func (l *listening) print(n listen.Note) error {
	out := l.cmd.OutOrStdout()
	if n.Rang {
		return nil
	}
	if l.json {
		return json.NewEncoder(out).Encode(heardNote{
			At: n.At.Seconds(), On: n.On, MIDI: n.MIDI, Note: harmony.FlatName(n.MIDI), Cents: n.Cents,
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
	_, err := fmt.Fprintf(out, "%9.3f s  %-4s string %s, channel %d, velocity %.0f\n", n.At.Seconds(), harmony.FlatName(n.MIDI), str, n.Channel, 127*n.Velocity)
	return err
}

func inMS(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

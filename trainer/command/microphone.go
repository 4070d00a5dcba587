package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"footfall/harmony"
	"footfall/trainer/listen"
	"footfall/trainer/listen/hearing"
)

// meterEvery is how often the level and the tuner are told.
const meterEvery = 500 * time.Millisecond

// metered is what a microphone hears, as scripts read it.
type metered struct {
	At    float64      `json:"at_s"`
	Level float64      `json:"level_db"`
	Tuner *tunerAnswer `json:"tuner"`
}

// tunerAnswer is the open string that sounds and how far off it is.
type tunerAnswer struct {
	String int     `json:"string"`
	MIDI   int     `json:"midi"`
	Note   string  `json:"note"`
	Hz     float64 `json:"hz"`
	Cents  float64 `json:"cents"`
}

// microphone opens a microphone with the strings of the player's tuning.
func (l *listening) microphone(device string, epoch time.Time) (*listen.Microphone, []int, error) {
	neck, _ := l.settings.Instrument()
	tuning := neck.Tuning
	open := make([]int, len(tuning))
	for i := range open {
		open[i] = tuning.Open(i + 1)
	}
	c, err := l.store.Calibration(l.port)
	if err != nil {
		return nil, nil, err
	}
	o := listen.Options{Now: func() time.Duration { return time.Since(epoch) }, Calibration: c}
	return listen.OpenMicrophone(device, o, open), open, nil
}

// meter prints the level, the tuner and the notes as they come.
func (l *listening) meter(device string) error {
	epoch := time.Now()
	in, open, err := l.microphone(device, epoch)
	if err != nil {
		return err
	}
	defer in.Close()
	if err := l.store.Use(l.port); err != nil {
		return err
	}
	look := func() error {
		if in.Status().State != listen.Hearing {
			return nil
		}
		return l.printMeter(in, open, time.Since(epoch))
	}
	return l.follow(in, meterEvery, look, l.printByEar)
}

func (l *listening) printMeter(in *listen.Microphone, open []int, at time.Duration) error {
	m := metered{At: at.Seconds(), Level: rounded(in.Level(), 1)}
	if r, ok := in.Tuner(); ok {
		m.Tuner = &tunerAnswer{r.String + 1, open[r.String], harmony.FlatName(open[r.String]), rounded(r.Frequency, 2), rounded(r.Cents, 1)}
	}
	out := l.cmd.OutOrStdout()
	if l.json {
		return json.NewEncoder(out).Encode(m)
	}
	says := ""
	if t := m.Tuner; t != nil {
		says = fmt.Sprintf("   string %d, %s: %s", t.String, t.Note, inTune(t.Cents))
	}
	_, err := fmt.Fprintf(out, "level %4.0f dB %s%s\n", m.Level, bar(m.Level), says)
	return err
}

// printByEar prints a note whose string nobody can tell.
func (l *listening) printByEar(n listen.Note) error {
	if l.json {
		return l.print(n)
	}
	if !n.On {
		return nil
	}
	sure := fmt.Sprintf("sure to %.0f %%", 100*n.Confidence)
	if n.Confidence < listen.Sure {
		sure = "not sure"
	}
	_, err := fmt.Fprintf(l.cmd.OutOrStdout(), "%9.3f s  %-4s %s, %s\n", n.At.Seconds(), harmony.FlatName(n.MIDI), inTune(n.Cents), sure)
	return err
}

// closeEnough is how many cents off a string may be and pass for in tune: about
// what a listener can tell of two tones after each other. Common practice, no
// source.
const closeEnough = 5

func inTune(cents float64) string {
	switch {
	case cents > closeEnough:
		return fmt.Sprintf("%.0f cents sharp", cents)
	case cents < -closeEnough:
		return fmt.Sprintf("%.0f cents flat", -cents)
	}
	return "in tune"
}

// bar draws a level from −60 to 0 dB in 20 characters.
func bar(db float64) string {
	n := min(20, max(0, int((db+60)/3)))
	return strings.Repeat("=", n) + strings.Repeat("-", 20-n)
}

// setUp learns the room of a microphone and keeps it.
func (l *listening) setUp(device string) error {
	in, _, err := l.microphone(device, time.Now())
	if err != nil {
		return err
	}
	defer in.Close()
	learned, err := in.SetUp()
	if err != nil {
		return err
	}
	l.say("Setting up %s: be still for a second, then play any notes on the low strings, about %.0f seconds in all.", l.port, hearing.SetupSeconds)
	wait := hearing.SetupSeconds*time.Second + 10*time.Second
	if l.length > 0 {
		wait = l.length
	}
	var room hearing.Room
	select {
	case room = <-learned:
	case <-l.cmd.Context().Done():
		return errUnfinished
	case <-time.After(wait):
		return fmt.Errorf("%w: %s", errUnfinished, in.Status().Line)
	}
	if fault := room.Fault(); fault != "" {
		return errors.New(fault + " Nothing was kept; run it again.")
	}
	c, err := l.store.Calibration(l.port)
	if err != nil {
		return err
	}
	c.Room = &room
	if err := errors.Join(l.store.Learn(l.port, c), l.store.Use(l.port)); err != nil {
		return err
	}
	if l.json {
		return json.NewEncoder(l.cmd.OutOrStdout()).Encode(room)
	}
	l.say("%s Kept for %s.", room, l.port)
	return nil
}

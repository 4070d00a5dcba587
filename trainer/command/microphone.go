package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
)

// meterEvery is how often the level and the tuner are told.
const meterEvery = 500 * time.Millisecond

// metered is what a microphone hears, as scripts read it.
type metered struct {
	At    float64      `json:"at_s"`
	Level float64      `json:"level_db"`
	Noise float64      `json:"noise_db"`
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
	o := listen.Options{Now: func() time.Duration { return clock.Since(epoch) }, Calibration: c, Strings: open}
	return listen.OpenMicrophone(device, o), open, nil
}

// meter prints the level, the tuner and the notes as they come.
func (l *listening) meter(device string) error {
	epoch := clock.Now()
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
		return l.printMeter(in, open, clock.Since(epoch))
	}
	return l.follow(in, meterEvery, look, l.printByEar)
}

func (l *listening) printMeter(in *listen.Microphone, open []int, at time.Duration) error {
	shown := in.Meter()
	m := metered{At: at.Seconds(), Level: rounded(shown.Level, 1), Noise: rounded(shown.Floor, 1)}
	if r := shown.Reading; shown.Sounds {
		m.Tuner = &tunerAnswer{r.String + 1, open[r.String], harmony.FlatName(open[r.String]), rounded(r.Frequency, 2), rounded(r.Cents, 1)}
	}
	out := l.cmd.OutOrStdout()
	if l.json {
		return json.NewEncoder(out).Encode(m)
	}
	_, err := fmt.Fprintln(out, shown.Line(open))
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
	if n.Unsure() {
		sure = "not sure"
	}
	_, err := fmt.Fprintf(l.cmd.OutOrStdout(), "%9.3f s  %-4s %s, %s\n", n.At.Seconds(), harmony.FlatName(n.MIDI), listen.InTune(n.Cents), sure)
	return err
}

// heardChord is a chord as scripts read it.
type heardChord struct {
	At float64 `json:"at_s"`
	// Chord is the chance, over 0 to 1, that a chord sounded above the bass.
	Chord float64 `json:"chord"`
}

// printStrum prints that a chord was struck. Which one is told only of one that is
// expected.
func (l *listening) printStrum(s listen.Strum) error {
	out := l.cmd.OutOrStdout()
	switch {
	case l.json:
		return json.NewEncoder(out).Encode(heardChord{s.At.Seconds(), rounded(s.Heard.Chance, 3)})
	case s.Heard.Chance < listen.Sure:
		return nil
	}
	_, err := fmt.Fprintf(out, "%9.3f s  a chord above it, sure to %.0f %%\n", s.At.Seconds(), 100*s.Heard.Chance)
	return err
}

// setUp learns the room of a microphone and keeps it.
func (l *listening) setUp(device string) error {
	in, _, err := l.microphone(device, clock.Now())
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

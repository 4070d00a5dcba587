package command

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/trainer/history"
	"footfall/trainer/plain"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// desk opens what practice needs. seed gives chance for each new sitting; nil
// is a new chance each time. done keeps what has not been kept yet, closes the
// history, and sets its error where there is none yet.
func (p *program) desk(cmd *cobra.Command, seed func() uint64) (d *session.Desk, done func(*error), err error) {
	k, err := history.Keep(history.Path(p.data), p.clock.Now, nil)
	if err != nil {
		return nil, nil, err
	}
	_, _, _ = p.book().Convert() // the data folder is there now: what comes into it is of today
	if line := k.Notice(); line != "" {
		p.warn(cmd, line)
	}
	switch {
	case p.events:
		p.clock.Stop()
		if seed == nil {
			seed = p.clockSeed()
		}
	case seed == nil:
		seed = rand.Uint64
	}
	neck, hand := p.settings.Instrument()
	d = &session.Desk{Neck: neck, Hand: hand, History: k, Now: p.clock.Now, Clock: p.clock, Seed: seed, Minutes: p.settings.Today.Minutes, BreakAfter: p.settings.Today.BreakMinutes}
	for _, name := range content.TuneNames() {
		if t, ok := content.Tune(name); ok {
			d.Tunes = append(d.Tunes, session.Tune{Name: name, Tune: t})
		}
	}
	own, errs := p.book().Tunes()
	for _, err := range errs {
		p.warn(cmd, err.Error())
	}
	for _, t := range own {
		d.Put(session.Tune{Name: t.Name, Tune: t.Tune, Path: t.Path})
	}
	done = func(err *error) {
		if fault := k.Close(); *err == nil {
			*err = fault
		}
	}
	return d, done, nil
}

// clockSeed gives chance for each new sitting that is the same at the same time by
// the clock, so that a script meets the same day twice.
func (p *program) clockSeed() func() uint64 {
	n := uint64(0)
	return func() uint64 {
		n++
		return uint64(p.clock.Now().UnixNano()) + n
	}
}

// addEventsFlag adds --events, for programs that sit in for the player.
func (p *program) addEventsFlag(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&p.events, "events", false, "let a program sit in for the player: an event a line goes out in JSON, a command a line comes in")
}

// sitIn lets a program sit in for the player of a session.
func sitIn(cmd *cobra.Command, s *session.Session, err error) error {
	if err != nil {
		return unbegun(err)
	}
	return plain.Events(cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr(), s)
}

// unbegun is the error of practice that could not begin: the history's, or the
// player's own.
func unbegun(err error) error {
	if history.TroubleOf(err) != history.Unknown {
		return err
	}
	return badInput(err)
}

// book is the player's own tunes.
func (p *program) book() tunebook.Book { return bookIn(p.data) }

// convertTunes rewrites the player's tunes of the first build, once, and says so.
func (p *program) convertTunes(cmd *cobra.Command) {
	n, kept, err := p.book().Convert()
	if n > 0 {
		p.warn(cmd, fmt.Sprintf("a . in the hits row rests now, and a * leaves the beat to the layer: %s of yours say it so, and sound as before; as they were they are kept in %s",
			counted(n, "tune"), strings.Join(kept, " and ")))
	}
	if err != nil {
		p.warn(cmd, "tunes of the first build could not be brought up to date, and are tried again next time: "+err.Error())
	}
}

// bookIn returns the tunes of a data folder, "" for the user's own.
func bookIn(data string) tunebook.Book { return tunebook.In(filepath.Dir(history.Path(data))) }

// bring returns the name that a tune has on the desk: that of a built-in one, by
// name or title, or of a file, which is added.
func bring(cmd *cobra.Command, d *session.Desk, arg string) (string, error) {
	t, err := d.Tune(arg)
	switch {
	case err == nil:
		return t.Name, nil
	case arg == "-":
		return "", badInput(errors.New("the tune cannot come from standard input, where your answers come from: name a file"))
	case !strings.ContainsAny(arg, `/\.`):
		return "", badInput(err)
	}
	own, err := readTune(cmd, arg)
	if err != nil {
		return "", err
	}
	d.Put(session.Tune{Name: tuneName(cmd, arg), Tune: own, Path: arg})
	return tuneName(cmd, arg), nil
}

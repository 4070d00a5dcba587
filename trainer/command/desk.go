package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/history"
	"footfall/trainer/plain"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// desk opens what practice needs, heard by pl, nil for nobody. seed gives chance for
// each new sitting; nil is a new chance each time. done keeps what has not been kept
// yet, closes the history, and sets its error where there is none yet.
func (p *program) desk(cmd *cobra.Command, pl *playing, seed func() uint64) (d *session.Desk, done func(*error), err error) {
	d, err = session.Open(session.Options{
		Data: p.data, Settings: p.settings, Clock: p.clock, Scripted: p.events, Seed: seed, Tell: func(says string) { p.warn(cmd, says) },
	})
	if err != nil {
		return nil, nil, err
	}
	if pl != nil {
		pl.listenTo(d)
	}
	return d, func(err *error) {
		if fault := d.Close(); *err == nil {
			*err = fault
		}
	}, nil
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
func (p *program) book() tunebook.Book { return session.Book(p.data) }

// convertTunes rewrites the player's tunes of the first build, once, and says so.
func (p *program) convertTunes(cmd *cobra.Command) {
	n, kept, err := p.book().Convert()
	if n > 0 {
		p.warn(cmd, fmt.Sprintf("a . in the hits row rests now, and a * leaves the beat to the layer; rewritten, to sound as before: %s of yours. What was in the files is kept in %s.",
			harmony.Counted(n, "tune"), strings.Join(kept, " and ")))
	}
	if err != nil {
		p.warn(cmd, "tunes of the first build could not be brought up to date, and are tried again next time: "+err.Error())
	}
}

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

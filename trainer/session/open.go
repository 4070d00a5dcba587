package session

import (
	"cmp"
	"errors"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"time"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/settings"
	"footfall/trainer/sound"
	"footfall/trainer/tunebook"
)

// Options say what practice is opened with.
type Options struct {
	// Data is the folder of the history and of the player's own tunes, "" for the
	// usual one.
	Data     string
	Settings settings.Settings
	Clock    *clock.Clock
	// Scripted is set where a program sits in for the player: the clock stands still
	// but for what is told, and chance comes from it, so that a script meets the same
	// day twice.
	Scripted bool
	// Seed gives chance for each new sitting; nil is a new chance each time.
	Seed func() uint64
	// Tell is told what is wrong and ends nothing, a line each.
	Tell func(string)
}

// Open opens what practice needs: the history, the tunes and the player's
// instrument. Close the desk after use.
func Open(o Options) (*Desk, error) {
	k, err := history.Keep(history.Path(o.Data), o.Clock.Now, nil)
	if err != nil {
		return nil, err
	}
	_, _, _ = Book(o.Data).Convert() // the data folder is there now: what comes into it is of today
	if line := k.Notice(); line != "" {
		o.Tell(line)
	}
	if o.Scripted {
		o.Clock.Stop()
	}
	switch {
	case o.Seed != nil:
	case o.Scripted:
		o.Seed = seeds(o.Clock)
	default:
		o.Seed = rand.Uint64
	}
	neck, hand := o.Settings.Instrument()
	d := &Desk{
		Neck: neck, Hand: hand, School: o.Settings.School(), History: k, Now: o.Clock.Now, Clock: o.Clock, Seed: o.Seed, close: k.Close,
		Minutes: o.Settings.Today.Minutes, BreakAfter: o.Settings.Today.BreakMinutes,
	}
	if d.Sounding, err = soundingOf(o.Settings); err != nil {
		k.Close()
		return nil, err
	}
	if !o.Scripted {
		d.Hearing = NewHearing(sound.Options{}, o.Settings.Sound.Verdicts)
	}
	d.shelve(o)
	return d, nil
}

// With is a desk like this one, with its history and its tunes, at which other settings
// hold. Close either of them, not both. The error names a word that is none.
func (d *Desk) With(set settings.Settings) (*Desk, error) {
	sounding, err := soundingOf(set)
	if err != nil {
		return nil, err
	}
	if d.Hearing != nil {
		d.Hearing.Cue(set.Sound.Verdicts)
	}
	neck, hand := set.Instrument()
	return &Desk{
		Tunes: slices.Clone(d.AllTunes()), Neck: neck, Hand: hand, School: set.School(), Taught: d.Taught, History: d.History,
		Minutes: set.Today.Minutes, BreakAfter: set.Today.BreakMinutes, Sounding: sounding, Hearing: d.Hearing,
		close: d.close, Now: d.Now, Clock: d.Clock, Seed: d.Seed,
	}, nil
}

// shelve puts the tunes there are, and what teachers gave, on the desk.
func (d *Desk) shelve(o Options) {
	for _, name := range content.TuneNames() {
		if t, ok := content.Tune(name); ok {
			d.Tunes = append(d.Tunes, Tune{Name: name, Tune: t})
		}
	}
	own, errs := Book(o.Data).Tunes()
	for _, err := range errs {
		o.Tell(err.Error())
	}
	for _, t := range own {
		d.Put(Tune{Name: t.Name, Tune: t.Tune, Path: t.Path})
	}
	d.shelveLessons(Book(o.Data), o.Tell)
}

// Shelf is a desk to look at: the tunes and the player's instrument, without a history.
func Shelf(o Options) *Desk {
	d := &Desk{Now: o.Clock.Now, Clock: o.Clock}
	d.Neck, d.Hand = o.Settings.Instrument()
	d.shelve(o)
	return d
}

// Close keeps what has not been kept yet and closes the history.
func (d *Desk) Close() error {
	if d.close == nil {
		return nil
	}
	return d.close()
}

// Book is the player's own tunes in a data folder, "" for the usual one.
func Book(data string) tunebook.Book { return tunebook.In(filepath.Dir(history.Path(data))) }

// Inputs is where ports and what was learned of them are remembered.
func Inputs(data string) listen.Store { return listen.StoreIn(filepath.Dir(history.Path(data))) }

// seeds gives chance that is the same at the same time by a clock.
func seeds(c *clock.Clock) func() uint64 {
	n := uint64(0)
	return func() uint64 {
		n++
		return uint64(c.Now().UnixNano()) + n
	}
}

// soundingOf is how the settings let play-alongs sound; nobody listens.
func soundingOf(set settings.Settings) (Sounding, error) {
	keeping, err := TimekeepingOf(set)
	rest, restErr := RestOf(set.Play.Rest)
	score := take.DefaultSettings()
	score.Window = time.Duration(set.Listen.WindowMS * float64(time.Millisecond))
	answer := AnswerBy{Pedal: set.Play.Answer == settings.AnswerPedal}
	if note, err := harmony.ParsePitch(set.Play.Answer); err == nil {
		answer.MIDI = note.MIDI()
	}
	return Sounding{
		Rest: rest, Answer: answer,
		CountIn: set.Sound.CountIn, Time: keeping, Falling: set.Sound.Swing == "falling", Ghosts: set.Sound.GhostNotes, Score: score,
		Mix: sound.Mix{ClickDB: set.Sound.ClickDB, BassDB: set.Sound.BassDB, ShapesDB: set.Sound.ShapesDB},
	}, cmp.Or(err, restErr)
}

// TimekeepingOf is what keeps time as the settings have it. The error names a word
// that is none.
func TimekeepingOf(set settings.Settings) (t playing.Timekeeping, err error) {
	background, err1 := playing.BackgroundOf(set.Sound.Background)
	click, err2 := playing.ClickOf(set.Sound.Click)
	return playing.Timekeeping{Background: background, Click: click}, errors.Join(err1, err2)
}

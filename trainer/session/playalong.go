package session

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony/tune"
	"footfall/trainer/clock"
	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// Sounding is how play-alongs sound, and how they are heard.
type Sounding struct {
	Sound sound.Options
	// CountIn is the bars counted in, 1 or 2.
	CountIn int
	Time    playing.Timekeeping
	Mix     sound.Mix
	// Ghosts adds dead notes to the line.
	Ghosts bool
	// Falling makes the swing ratio of a tune that swings fall with the tempo
	// instead of keeping to the tune's.
	Falling bool
	// Rest says after which passes there is a bar of rest.
	Rest RestBar
	// Answer says how the player answers without a hand.
	Answer AnswerBy
	// Score says how passes are judged.
	Score take.Settings
	// Input opens what hears the player, its clock at 0 at a moment of the machine's;
	// nil, or a nil input, is no listener. The play-along closes it.
	Input func(epoch time.Time) (listen.Input, error)
	// KeepDelay keeps that a port is so much later than was known, early below 0, as so
	// many notes told; nil where nothing of ports is kept. It may take its time.
	KeepDelay func(port string, by time.Duration, notes int) error
}

// AnswerBy is how the player says a word on the last pass without letting go of the
// instrument: once for clean, once more for not clean.
type AnswerBy struct {
	// Pedal is any switch pedal of a MIDI input, MIDI the number of a note that is played
	// while no pass is; 0 is none.
	Pedal bool
	MIDI  int
	// Input opens a MIDI input for the answer alone, as Sounding's Input is opened; nil
	// takes the answer from what hears the player.
	Input func(epoch time.Time) (listen.Input, error)
}

// PlayAlong is one play-along from the count-in to the last pass: the arrangement as
// music, the transport, the ear that listens, the score of each pass and the tempo of
// the next. It tells on Events what happens, by itself, from Play to Close. Its
// methods may be called from any goroutine, and none of them waits for a device or
// the disk, but Close.
type PlayAlong struct {
	passage  Passage
	desk     *Desk
	sounding Sounding
	player   *sound.Player
	input    listen.Input // nil where nobody listens
	answers  listen.Input // of a pedal; nil where it has no input of its own
	epoch    time.Time
	events   chan Event
	stop     chan struct{}
	wake     chan struct{}
	keep     chan Result
	closing  sync.Once
	done     sync.WaitGroup

	mu       sync.Mutex
	follower *follower
	a        *fretboard.Arrangement
	bars     take.Bars
	progress ramp.Progress // after the last pass judged
	planned  ramp.Progress // of the pass now playing
	passes   int           // begun
	running  bool
	ended    bool
	began    time.Time
	due      bool // the time there was is over
	// fresh is set until the first pass by the plan begins, planAt is the musical time at
	// which the plan was made, and old is set where the last pass is from before.
	fresh, old bool
	planAt     time.Duration
	restEnds   time.Time    // of a ladder that waits for a word
	worst      []take.Tally // bars of all passes, the worst first
	marks      map[place]Mark
	isFree     bool
	written    fretboard.Layer // what a line that is written was played in before
	// walks are the verdicts on bars walked freely, lastWalked the latest.
	walks      map[int]Walked
	lastWalked Walked
	extra      int // notes of the pass that nothing asked for
	results    []Result
	judging    bool
	clicked    uint64 // bars whose clicks the ear was told
	sleeps     int64  // of the machine, seen so far
	notice     string
	beat       Beat
	held       int    // the bar that was paused in, until it is played; 0 for none
	paused     bool   // by the player, or by a sleep, in a pass or its count-in
	said       string // the notice told last
	finished   bool   // Over was told
	delayKept  int    // the pass whose delay was kept
}

// place is something asked for in a pass, which is numbered as the transport
// does.
type place struct {
	pass int
	at   tune.Position
	kind fretboard.Kind
}

// Mark is how something asked for seems to have gone so far.
type Mark struct {
	Verdict take.Verdict
	Offset  time.Duration
}

// PlayAlong makes a play-along, at rest. The error is the passage's fault, such as a
// section there is not, or says why its input cannot be opened.
func (d *Desk) PlayAlong(p Passage) (*PlayAlong, error) {
	a, bars, plan, err := p.read(d)
	if err != nil {
		return nil, err
	}
	s := &PlayAlong{
		passage: p, desk: d, sounding: d.Sounding, a: a, bars: bars, progress: plan, planned: plan, marks: map[place]Mark{}, isFree: p.free(), fresh: true, walks: map[int]Walked{}, epoch: clock.Now(),
		events: make(chan Event, listen.Backlog), stop: make(chan struct{}), wake: make(chan struct{}, 1), keep: make(chan Result, 16),
	}
	err = s.listen()
	if err == nil {
		err = s.open()
	}
	if err != nil {
		s.deaf()
		return nil, err
	}
	return s, nil
}

// listen opens the inputs. One that does not answer in time is told of, and not heard.
func (s *PlayAlong) listen() error {
	for _, in := range []struct {
		open func(time.Time) (listen.Input, error)
		into *listen.Input
	}{{s.sounding.Input, &s.input}, {s.sounding.Answer.Input, &s.answers}} {
		if in.open == nil {
			continue
		}
		var err error
		*in.into, err = in.open(s.epoch)
		switch {
		case errors.Is(err, guard.ErrSilent):
			s.notice = err.Error() + ", so nobody listens to it."
		case err != nil:
			return err
		}
	}
	return nil
}

// deaf lets the inputs go.
func (s *PlayAlong) deaf() {
	for _, in := range []listen.Input{s.input, s.answers} {
		if in != nil {
			in.Close()
		}
	}
}

func (s *PlayAlong) open() error {
	score, err := s.music()
	if err != nil {
		return err
	}
	if s.player, err = sound.Open(score, s.sounding.Sound); err != nil {
		return err
	}
	if err = errors.Join(s.player.SetCourse(s.course()), s.player.SetTime(s.sounding.Time), s.player.SetMix(s.sounding.Mix)); err != nil {
		s.player.Close()
		return err
	}
	s.follower = newFollower(s.input, s.epoch, s.player, s.task(), s.sounding.Score)
	s.done.Add(2)
	guard.Go(s.run)
	guard.Go(s.keeping)
	return nil
}

// way is how the player is heard.
func (s *PlayAlong) way() memory.Way {
	if s.input == nil {
		return memory.Own
	}
	if _, heard := listen.IsMicrophone(s.input.Name()); heard {
		return memory.Microphone
	}
	return memory.MIDI
}

// task is what the follower listens for.
func (s *PlayAlong) task() task { return task{arrangement: s.a, bars: s.bars, free: s.isFree} }

// music is the arrangement as the sound plays it, at the tempo of the pass to
// come.
func (s *PlayAlong) music() (*playing.Score, error) {
	score, err := playing.Of(s.a, s.sounding.Ghosts)
	if err != nil {
		return nil, err
	}
	score.Tempo = s.planned.Tempo
	score.Swing.Falling = score.Swing.Falling || s.sounding.Falling && !score.Swing.Straight()
	return score, nil
}

// course is how the passes follow each other. What waits for a word stops after each pass,
// since how fast the next one is depends on it.
func (s *PlayAlong) course() sound.Course {
	c := sound.Course{CountIn: s.sounding.CountIn, CountEach: s.rests(), First: s.bars.First, Last: s.bars.Last, Passes: s.passage.Passes}
	if s.waits() {
		c.Passes = 1
	}
	return c
}

// waits reports whether the next pass waits for the judgement of this one: in a ladder, and
// where a ramp climbs, nobody listens and there is a rest to say it in.
func (s *PlayAlong) waits() bool {
	r := s.progress.Ramp
	return r.Mode == ramp.Ladder || r.Mode == ramp.Up && r.Floor < r.Target && s.input == nil && s.rests()
}

// Events tells what happens, in order: Beat, Marked, Missed, Pass, Notice, and Over
// when every pass asked for has been played. It is the same at each call, and is closed
// by Close. A reader that is so late that listen.Backlog events wait for it holds up the
// following, not the sound and not the input.
func (s *PlayAlong) Events() <-chan Event { return s.events }

// Play starts with the count-in, or goes on from where Pause left.
func (s *PlayAlong) Play() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.running, s.paused, s.notice = true, false, ""
	if s.began.IsZero() {
		s.began = s.desk.Now()
	}
	defer s.rouse()
	return s.player.Play()
}

// rouse ends the rest of the session's goroutine.
func (s *PlayAlong) rouse() {
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// Pause silences the music and keeps its bar. The pass it falls in is not
// judged.
func (s *PlayAlong) Pause() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.pause()
}

func (s *PlayAlong) pause() error {
	now := s.player.Now()
	if now.State == sound.Playing {
		s.held = now.Point.Bar
	}
	s.paused = s.paused || s.running && (now.State == sound.Playing || now.State == sound.Counting)
	s.running = false
	defer s.rouse()
	return s.player.Pause()
}

// Close stops the sound and following, lets the input go, and waits until what was
// played is kept.
func (s *PlayAlong) Close() {
	s.closing.Do(func() {
		close(s.stop)
		s.player.Close()
	})
	s.done.Wait()
	s.deaf()
}

// Running reports whether the music plays or counts in.
func (s *PlayAlong) Running() bool { return locked(s, func() bool { return s.running }) }

// locked reads something of a play-along.
func locked[T any](s *PlayAlong, read func() T) T {
	s.mu.Lock()
	defer s.mu.Unlock()
	return read()
}

// Now says what is heard now.
func (s *PlayAlong) Now() sound.Now { return s.player.Now() }

// Coming returns the bar that will sound after the one that sounds now, counted through
// the form, and false where none will.
func (s *PlayAlong) Coming() (bar int, more bool) {
	now := s.player.Now()
	s.mu.Lock()
	defer s.mu.Unlock()
	span := s.follower.span()
	switch now.State {
	case sound.Counting:
		if s.held > 0 {
			return s.held, true
		}
		return span.First, true
	case sound.Playing:
		next := s.follower.after(now.Point.Bar)
		return next, next > now.Point.Bar || s.goesOn()
	}
	return span.First, s.goesOn()
}

// goesOn reports whether another pass follows the one that is played.
func (s *PlayAlong) goesOn() bool {
	return !s.due && (s.passage.Passes == 0 || s.passes < s.passage.Passes)
}

// GoesOn reports whether another pass follows the one that is played.
func (s *PlayAlong) GoesOn() bool { return locked(s, s.goesOn) }

// Arrangement returns what is played.
func (s *PlayAlong) Arrangement() *fretboard.Arrangement {
	return locked(s, func() *fretboard.Arrangement { return s.a })
}

// Bars returns the bars that are looped, counted through the form.
func (s *PlayAlong) Bars() take.Bars { return locked(s, func() take.Bars { return s.bars }) }

// Progress returns the tempo plan as it stands.
func (s *PlayAlong) Progress() ramp.Progress {
	return locked(s, func() ramp.Progress { return s.progress })
}

// Passes returns how many passes have begun.
func (s *PlayAlong) Passes() int { return locked(s, func() int { return s.passes }) }

// Asked returns how many passes were asked for, 0 for no end.
func (s *PlayAlong) Asked() int { return s.passage.Passes }

// Results returns the passes done, oldest first.
func (s *PlayAlong) Results() []Result {
	return locked(s, func() []Result { return slices.Clone(s.results) })
}

// MarkOf returns how something asked for in the pass now playing seems to have
// gone so far; false where nothing is known yet.
func (s *PlayAlong) MarkOf(at tune.Position, kind fretboard.Kind) (Mark, bool) {
	pass := s.player.Now().Pass
	s.mu.Lock()
	defer s.mu.Unlock()
	m, ok := s.marks[place{pass, at, kind}]
	return m, ok
}

// SoFar counts what was asked for in the pass now playing and has passed: what was right,
// what was another note, and what was missed.
func (s *PlayAlong) SoFar() (right, wrong, missed int) {
	pass := s.player.Now().Pass
	s.mu.Lock()
	defer s.mu.Unlock()
	for at, m := range s.marks {
		switch {
		case at.pass != pass:
		case m.Verdict.Right():
			right++
		case m.Verdict.Wrong():
			wrong++
		case m.Verdict == take.Missed:
			missed++
		}
	}
	return right, wrong, missed
}

// Extra returns how many notes of the pass nothing asked for, so far.
func (s *PlayAlong) Extra() int { return locked(s, func() int { return s.extra }) }

// Silent reports whether nothing is heard: the sound is off, or there is none.
func (s *PlayAlong) Silent() bool { return s.player.Status() != "" }

// Listens reports whether there is an input.
func (s *PlayAlong) Listens() bool { return s.input != nil }

// Click returns the beats that click.
func (s *PlayAlong) Click() playing.Click { return s.Time().Click }

// Time returns what keeps time.
func (s *PlayAlong) Time() playing.Timekeeping {
	return locked(s, func() playing.Timekeeping { return s.sounding.Time })
}

// Ghosts reports whether dead notes are added to the line.
func (s *PlayAlong) Ghosts() bool { return locked(s, func() bool { return s.sounding.Ghosts }) }

// Mix returns the levels and mutes.
func (s *PlayAlong) Mix() sound.Mix { return locked(s, func() sound.Mix { return s.sounding.Mix }) }

// Notice is lines for the player: what is wrong with the input, the sound or
// the history; empty if nothing is.
func (s *PlayAlong) Notice() string { return locked(s, s.notices) }

func (s *PlayAlong) notices() string {
	if s.notice != "" {
		return s.notice
	}
	var lines []string
	if s.input != nil {
		if st := s.input.Status(); st.State != listen.Hearing {
			lines = append(lines, st.Line)
		}
	}
	if line := s.player.Status(); line != "" {
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

package playalong

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/listen/along"
	"footfall/trainer/sound"
)

// Choice is what a player picked to play.
type Choice struct {
	// Tune and Neck are what is arranged, Hand what plays it.
	Tune *tune.Tune
	Neck fretboard.Neck
	Hand fretboard.Hand
	// Layer is how much of the arrangement is asked.
	Layer fretboard.Layer
	// Section is the section played, its first time through the form; empty is the
	// whole form.
	Section string
	// Ramp is the tempo plan, Passes how many passes there are, 0 without end.
	Ramp   ramp.Progress
	Passes int
	// CountIn is the bars counted in, 1 or 2.
	CountIn int
	Click   sound.Click
	Mix     sound.Mix
	// Falling makes the swing ratio of a tune that swings fall with the tempo
	// instead of keeping to the tune's.
	Falling bool
}

// Gear is what a session is played with.
type Gear struct {
	Sound sound.Options
	// Input hears the player; nil is no listener. Its notes are stamped by a clock
	// that counts from Began.
	Input listen.Input
	Began time.Time
	// Score says how passes are judged.
	Score take.Settings
	// Now tells the time.
	Now func() time.Time
	// Keep stores a pass, at its end and again when it is judged later; nil forgets
	// it.
	Keep func(Result) error
}

// Session is one play-along. Its methods are for one goroutine at a time; Poll
// must be called often while it runs, at least ten times a second.
type Session struct {
	choice Choice
	gear   Gear
	player *sound.Player
	a      *fretboard.Arrangement
	bars   take.Bars

	progress ramp.Progress   // after the last pass judged
	planned  ramp.Progress   // of the pass now playing
	follower *along.Follower // nil where nobody listens
	seen     uint64
	clicked  uint64 // bars whose clicks the ear was told
	passes   int    // begun
	running  bool
	pass     *pass
	ended    []*pass // wait to be judged
	marks    map[place]Mark
	extra    int // notes of the pass that nothing asked for
	results  []Result
	judging  bool
	sleeps   int64 // of the machine, seen so far
	notice   string
}

// pass is a pass while it is played.
type pass struct {
	number  int
	tempo   float64
	layer   fretboard.Layer
	planned ramp.Progress
	start   harmony.Instant
	end     harmony.Instant
	bars    int
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

// Result is how a pass went.
type Result struct {
	// Pass counts from 1.
	Pass  int
	Tempo float64
	// At is when it began, Length how long it lasted.
	At     time.Time
	Length time.Duration
	Layer  fretboard.Layer
	// Score is nil where nobody listened. Of the results of a session only the last
	// has it: it holds every note.
	Score *take.Score
	// Judged is set when Clean is known: from the score, or from the player.
	Judged, Clean bool
	// Why says why a scored pass is not clean.
	Why string
	// Ramp is the plan after this pass.
	Ramp ramp.Progress
}

// Open makes a session, at rest. The error is the choice's fault: a tune that
// cannot be arranged, a section there is not.
func Open(c Choice, g Gear) (*Session, error) {
	a, err := fretboard.Arrange(c.Tune, c.Neck, c.Hand, c.Layer)
	if err != nil {
		return nil, err
	}
	bars, err := sectionBars(c.Tune, c.Section)
	if err != nil {
		return nil, err
	}
	s := &Session{choice: c, gear: g, a: a, bars: bars, progress: c.Ramp, planned: c.Ramp, marks: map[place]Mark{}}
	score, err := s.music()
	if err != nil {
		return nil, err
	}
	if s.player, err = sound.Open(score, g.Sound); err != nil {
		return nil, err
	}
	err = errors.Join(s.player.SetCourse(s.course()), s.player.SetClick(c.Click), s.player.SetMix(c.Mix))
	if err != nil {
		s.player.Close()
		return nil, err
	}
	if g.Input != nil {
		s.follower = along.Follow(along.Options{Input: g.Input, Epoch: g.Began, Clock: s.player, Task: s.task(), Settings: g.Score})
	}
	return s, nil
}

// task is what the follower listens for.
func (s *Session) task() along.Task { return along.Task{Arrangement: s.a, Bars: s.bars} }

// sectionBars returns the bars of a section's first time through the form, all
// bars for no name.
func sectionBars(t *tune.Tune, name string) (take.Bars, error) {
	form := t.Unroll()
	if name == "" {
		return take.Bars{First: 1, Last: len(form)}, nil
	}
	section := t.Section(name)
	if section == nil {
		return take.Bars{}, fmt.Errorf("the tune has no section %q; its form is %s", name, strings.Join(t.FormOrder(), " "))
	}
	for i, fb := range form {
		if fb.Section == name {
			return take.Bars{First: i + 1, Last: i + len(section.Bars)}, nil
		}
	}
	return take.Bars{}, fmt.Errorf("section %q is not played in the form %s; pick one that is", name, strings.Join(t.FormOrder(), " "))
}

// music is the arrangement as the sound plays it, at the tempo of the pass to
// come.
func (s *Session) music() (*sound.Score, error) {
	score, err := sound.FromArrangement(s.a)
	if err != nil {
		return nil, err
	}
	score.Tempo = s.planned.Tempo
	score.Swing.Falling = s.choice.Falling && s.choice.Tune.Swing.Long != s.choice.Tune.Swing.Short
	return score, nil
}

// course is how the passes follow each other. A ladder stops after each pass,
// since how fast the next one is depends on it.
func (s *Session) course() sound.Course {
	c := sound.Course{CountIn: s.choice.CountIn, First: s.bars.First, Last: s.bars.Last, Passes: s.choice.Passes}
	if s.waits() {
		c.Passes = 1
	}
	return c
}

// waits reports whether the next pass waits for the judgement of this one.
func (s *Session) waits() bool { return s.progress.Ramp.Mode == ramp.Ladder }

// Play starts with the count-in, or goes on from where Pause left.
func (s *Session) Play() error {
	s.running, s.notice = true, ""
	return s.player.Play()
}

// Pause silences the music and keeps its bar. The pass it falls in is not
// judged.
func (s *Session) Pause() error {
	s.running = false
	return s.player.Pause()
}

// Running reports whether the music plays or counts in.
func (s *Session) Running() bool { return s.running }

// Close stops the sound and following. The input is left to its owner.
func (s *Session) Close() {
	if s.follower != nil {
		s.follower.Close()
	}
	s.player.Close()
}

// News is what the ear hears, to be handed to Tell; nil where nobody listens.
func (s *Session) News() <-chan along.News {
	if s.follower == nil {
		return nil
	}
	return s.follower.News()
}

// Now says what is heard now.
func (s *Session) Now() sound.Now { return s.player.Now() }

// Arrangement returns what is played.
func (s *Session) Arrangement() *fretboard.Arrangement { return s.a }

// Bars returns the bars that are looped, counted through the form.
func (s *Session) Bars() take.Bars { return s.bars }

// Progress returns the tempo plan as it stands.
func (s *Session) Progress() ramp.Progress { return s.progress }

// Passes returns how many passes have begun.
func (s *Session) Passes() int { return s.passes }

// Results returns the passes done, oldest first. It must not be changed.
func (s *Session) Results() []Result { return s.results }

// MarkOf returns how something asked for in the pass now playing seems to have
// gone so far; false where nothing is known yet.
func (s *Session) MarkOf(at tune.Position, kind fretboard.Kind) (Mark, bool) {
	m, ok := s.marks[place{s.player.Now().Pass, at, kind}]
	return m, ok
}

// Extra returns how many notes of the pass nothing asked for, so far.
func (s *Session) Extra() int { return s.extra }

// Judging reports whether the session waits for Judge.
func (s *Session) Judging() bool { return s.judging }

// Notice is lines for the player: what is wrong with the input, the sound or
// the history; empty if nothing is.
func (s *Session) Notice() string {
	if s.notice != "" {
		return s.notice
	}
	var lines []string
	if in := s.gear.Input; in != nil {
		if st := in.Status(); st.State != listen.Hearing {
			lines = append(lines, st.Line)
		}
	}
	if line := s.player.Status(); line != "" {
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// Listens reports whether there is an input.
func (s *Session) Listens() bool { return s.gear.Input != nil }

// Package along follows a player through passes of a tune: it brings together
// what an input hears and what the sound plays, marks each note as it comes,
// and grades each pass when it is over.
//
// It knows inputs, the sound's clock and the scoring. It must never know
// screens: they show its news.
package along

import (
	"sync"
	"time"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/guard"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// PlayedOf is a note's beginning as it is graded, its time as stamped.
func PlayedOf(n listen.Note) take.Played {
	return take.Played{Time: n.At, MIDI: n.MIDI, String: n.String, Doubt: 1 - n.Confidence, Rival: n.Rival}
}

// StrumOf is a strum as it is graded, its time as stamped.
func StrumOf(s listen.Strum) take.Strum {
	return take.Strum{Time: s.At, Hit: func(classes []int) (take.Verdict, float64) {
		hit, likely := s.Heard.Hit(classes)
		return verdicts[hit], likely
	}}
}

var verdicts = map[hearing.Hit]take.Verdict{
	hearing.Heard: take.Matched, hearing.NotSure: take.Unsure, hearing.NotHeard: take.Missed,
}

// Clock is what is asked of the sound; a sound.Player is one.
type Clock interface {
	// When says what is heard at a moment.
	When(time.Time) sound.Now
	// Since returns the bars played after the first n ever, and the number to ask
	// with next time.
	Since(n uint64) ([]sound.Played, uint64)
}

// Options say whom to follow through what.
type Options struct {
	Input listen.Input
	// Epoch is the moment at which the input's clock (listen.Options.Now) was 0.
	Epoch time.Time
	Clock Clock
	// Task is what is to be played; Ask changes it.
	Task     Task
	Settings take.Settings
}

// Task is what is to be played.
type Task struct {
	Arrangement *fretboard.Arrangement
	// Bars are those of a pass, as the sound's course has them.
	Bars take.Bars
}

// News is what happened: a Marked, a Missed, a Followed or a Graded.
type News interface{ news() }

// Marked is a note that was played, or a strum that an ear heard, of which Played
// has the time alone. Extra is true, and Expected, Verdict and Offset mean nothing,
// where nothing asked for it.
type Marked struct {
	Pass     int
	Played   take.Played
	Extra    bool
	Expected take.Expected
	Verdict  take.Verdict
	Offset   time.Duration
	// Stamped is when the input heard it.
	Stamped time.Time
}

// Missed is an event whose time has passed with nothing played for it. Verdict
// is Missed, or NotHeard where the input was away.
type Missed struct {
	Pass     int
	Expected take.Expected
	Verdict  take.Verdict
}

// Graded is a pass that is over. Times within the score are from its start.
type Graded struct {
	Pass  int
	Score *take.Score
	// Whole is false where the pass was broken off, or begun in its middle: it is
	// shown, but no ramp goes by it.
	Whole bool
	// Tempo is that of its first bar, in quarter notes a minute, and Length how
	// long it lasted.
	Tempo  float64
	Length time.Duration
}

// Followed tells that from now on marks go by where the player was found to be: Shift
// later than asked, early below 0. What was marked before stays as it was told.
type Followed struct {
	Pass  int
	Shift time.Duration
}

func (Marked) news()   {}
func (Missed) news()   {}
func (Graded) news()   {}
func (Followed) news() {}

// look is how often the follower looks at the transport and for missed events.
// Notes are marked as they come.
const look = 10 * time.Millisecond

// restLook is how often it looks while nothing plays.
const restLook = 25 * look

// Follower follows one player. Its methods may be called from any goroutine.
type Follower struct {
	news chan News
	stop chan struct{}
	once sync.Once
	done sync.WaitGroup

	mu sync.Mutex
	s  *steps
}

// Follow starts following. The input is read until Close and must be read by
// nobody else meanwhile; it is not closed.
func Follow(o Options) *Follower {
	f := &Follower{news: make(chan News, listen.Backlog), stop: make(chan struct{}), s: newSteps(o)}
	f.done.Add(1)
	guard.Go(func() { f.run(o.Input) })
	return f
}

// News returns the channel of what happened, the same at each call, in order. It
// is closed after Close, and when the input is closed. A reader that is so
// late that listen.Backlog news wait for it holds up the follower, not the input.
func (f *Follower) News() <-chan News { return f.news }

// Ask changes what is to be played, from the next bar on.
func (f *Follower) Ask(t Task) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.s.task = t
}

// Close stops following. A pass that is not over is not graded.
func (f *Follower) Close() {
	f.once.Do(func() { close(f.stop) })
	f.done.Wait()
}

func (f *Follower) run(in listen.Input) {
	defer f.done.Done()
	defer close(f.news)
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		var news []News
		select {
		case <-f.stop:
			return
		case n, ok := <-in.Notes():
			if !ok {
				return
			}
			news = f.step(func() []News { return f.s.hear(n) })
		case st := <-in.Strums():
			news = f.step(func() []News { return f.s.strum(st) })
		case now := <-tick.C:
			news = f.step(func() []News { return f.s.look(now) })
			tick.Reset(f.every())
		}
		for _, n := range news {
			select {
			case f.news <- n:
			case <-f.stop:
				return
			}
		}
	}
}

// every is how soon to look again.
func (f *Follower) every() time.Duration {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.s.idle() {
		return restLook
	}
	return look
}

func (f *Follower) step(do func() []News) []News {
	f.mu.Lock()
	defer f.mu.Unlock()
	return do()
}

package session

import (
	"cmp"
	"errors"
	"slices"
	"sync"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// Tapping is the music of a question that is answered by tapping, from its count-in to
// its last bar, and what is tapped to it. It goes on and ends by itself. Its methods may
// be called from any goroutine, and none of them waits for a device, but Close.
type Tapping struct {
	player  *sound.Player
	score   *playing.Score
	length  time.Duration
	beats   chan TapBeat
	stop    chan struct{}
	closing sync.Once

	mu    sync.Mutex
	taps  []tap
	start time.Duration // of the first bar, by the music; 0 before it has begun
}

// tap is a strike in musical time.
type tap struct {
	at  time.Duration
	way memory.Way
	// midi is the pitch that an ear heard, 0 for none.
	midi int
}

// TapBeat is where the music is, told at each beat and offbeat. Bars of the count-in
// are 0 and below.
type TapBeat struct {
	Bar, Beat int
	Off       bool
}

const (
	// strumSpread is how far the notes of one strum lie apart, and how fast a key that
	// is held comes again: less is one tap.
	strumSpread = 60 * time.Millisecond
	// tapLate is how long after the last bar a tap may come.
	tapLate = 100 * time.Millisecond
)

// Tap begins the music of the question that waits. The error says why it cannot be
// tapped.
func (s *Session) Tap() (*Tapping, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	q := s.questions()
	if q == nil {
		return nil, errors.New("no question waits for taps")
	}
	asked, ok := q.waiting.(drills.Tapped)
	switch {
	case !ok:
		return nil, errors.New("this question is not tapped")
	case s.desk.Clock.Stopped():
		return nil, errors.New("the clock stands still: type the beats")
	}
	a, err := asked.Along()
	if err != nil {
		return nil, err
	}
	q.hush()
	q.tapping, err = s.desk.tapping(a)
	if err == nil {
		q.sitting.FirstKey(s.desk.Now())
	}
	return q.tapping, err
}

// questions are those that a session asks now, nil for none.
func (s *Session) questions() *questions {
	q, ok := s.run.(*questions)
	if d, day := s.run.(*steps); day {
		q, ok = d.run.(*questions)
	}
	if !ok || q.waiting == nil {
		return nil
	}
	return q
}

// hush ends the music of taps.
func (q *questions) hush() {
	if t := q.tapping; t != nil {
		q.tapping = nil
		guard.Go(t.Close)
	}
}

func (d *Desk) tapping(a *fretboard.Arrangement) (*Tapping, error) {
	score, err := playing.Of(a, false)
	if err != nil {
		return nil, err
	}
	p, err := sound.Open(score, d.Sounding.Sound)
	if err != nil {
		return nil, err
	}
	course := sound.Course{CountIn: max(1, d.Sounding.CountIn), Passes: 1}
	if err := errors.Join(p.SetCourse(course), p.SetTime(d.Sounding.Time), p.SetMix(d.Sounding.Mix), p.Play()); err != nil {
		p.Close()
		return nil, err
	}
	t := &Tapping{player: p, score: score, beats: make(chan TapBeat, listen.Backlog), stop: make(chan struct{})}
	for _, b := range score.Bars {
		t.length += time.Duration(b.Meter.Quarters() * float64(time.Minute) / score.Tempo)
	}
	guard.Go(t.follow)
	return t, nil
}

// follow tells the beats, until the music is over and what may be late has come.
func (t *Tapping) follow() {
	defer close(t.beats)
	tick := time.NewTicker(look)
	defer tick.Stop()
	var last TapBeat
	var since uint64
	for {
		select {
		case <-t.stop:
			return
		case <-tick.C:
		}
		var bars []sound.Played
		bars, since = t.player.Since(since)
		t.mu.Lock()
		for _, b := range bars {
			if b.State == sound.Playing && t.start == 0 {
				t.start = b.Start.Duration()
			}
		}
		start := t.start
		t.mu.Unlock()
		now := t.player.Now()
		if t.player.Sleeps() > 0 || start > 0 && now.At.Duration() > start+t.length+tapLate+listen.EarLag {
			return
		}
		off := now.Part*2 >= harmony.Parts
		if now.State == sound.Playing {
			off = now.Part >= now.Bar.OffPart()
		}
		if b := (TapBeat{now.Point.Bar, now.Beat, off}); b != last && (now.State == sound.Playing || now.State == sound.Counting) {
			last = b
			select {
			case t.beats <- b:
			default: // nobody looks
			}
		}
	}
}

// Beats tells where the music is, and is closed when it is over.
func (t *Tapping) Beats() <-chan TapBeat { return t.beats }

// Bars is how many bars are tapped.
func (t *Tapping) Bars() int { return len(t.score.Bars) }

// Strike takes a key that was struck just now.
func (t *Tapping) Strike(way memory.Way) { t.add(clock.Now(), tap{way: way}) }

// Heard takes a note or a strum that an input heard at a moment; midi is 0 for a strum.
func (t *Tapping) Heard(at time.Time, midi int, byEar bool) {
	if byEar {
		t.add(at, tap{way: memory.Microphone, midi: midi})
		return
	}
	t.add(at, tap{way: memory.MIDI})
}

func (t *Tapping) add(at time.Time, n tap) {
	n.at = t.player.When(at).At.Duration()
	t.mu.Lock()
	defer t.mu.Unlock()
	t.taps = append(t.taps, n)
}

// Status is a line on what is wrong with the sound, empty if nothing is.
func (t *Tapping) Status() string { return t.player.Status() }

// Close ends the music.
func (t *Tapping) Close() {
	t.closing.Do(func() { close(t.stop) })
	t.player.Close()
}

// Reply is what was tapped, counted from the first beat. What came before, in the
// count-in, is none of it, and what an ear hears of the program's own bass is not either.
func (t *Tapping) Reply() drills.Reply {
	t.mu.Lock()
	defer t.mu.Unlock()
	r := drills.Reply{Form: drills.FormTaps, Final: true}
	if t.start == 0 {
		return r
	}
	taps := slices.Clone(t.taps)
	slices.SortStableFunc(taps, func(a, b tap) int { return cmp.Compare(a.at, b.at) })
	beat := time.Duration(t.score.Bars[0].Meter.BeatQuarters() * float64(time.Minute) / t.score.Tempo)
	last := -strumSpread - t.length
	for _, n := range taps {
		at := n.at - t.start
		if at < -beat/2 || at > t.length+tapLate || at-last < strumSpread || n.midi > 0 && t.walks(n.midi, at) {
			continue
		}
		last = at
		r.Taps, r.Way = append(r.Taps, at), n.way
	}
	return r
}

// walks reports whether the program's bass begins a note of a pitch at a time, or an
// octave of it, as an ear may hear it.
func (t *Tapping) walks(midi int, at time.Duration) bool {
	placed := harmony.Place(harmony.Bar{Meter: t.score.Bars[0].Meter, Tempo: t.score.Tempo, Swing: t.score.Swing}, 0)
	for i, b := range t.score.Bars {
		if i > 0 {
			next := placed.Bar
			next.Meter = b.Meter
			placed = placed.Next(next)
		}
		for _, n := range b.Notes {
			if away := (placed.Beat(n.Beat, n.Off).Duration() - at).Abs(); (n.MIDI-midi)%12 == 0 && away < 2*strumSpread {
				return true
			}
		}
	}
	return false
}

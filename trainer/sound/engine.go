package sound

import (
	"math"

	"footfall/fretboard/playing"
	"footfall/harmony"
)

// Engine generates the sound and moves the transport. Render and Advance are
// for one caller at a time (the device's callback, the wall clock or a file
// writer); they allocate nothing and take no lock. Every other method may be
// called from anywhere at any time.
type Engine struct {
	queue queue
	log   barLog
	rate  int

	// All below belongs to the caller of Render.

	frames int64 // generated so far
	lead   int64 // samples of silence before the first bar
	now    settings
	next   settings // from the next bar line on
	moves  transport

	bar    harmony.PlacedBar
	end    int64 // the sample of the bar's end
	half   int   // the next half beat of what keeps time, and its sample
	halfAt int64
	note   int // the next note of the bar, and its sample
	noteAt int64

	struck  uint32 // notes so far
	drums   drums
	strings [playing.MaxStrings]stringVoice
	gains   [playing.Parts]float32 // the levels at present
	want    [playing.Parts]float32 // and those they move to
	bus     [playing.Parts][chunk]float32
	limiter limiter
	soft    float32 // the master level, which rises to 1 from the first sample
	rise    float32
}

// settings are what takes effect on a bar line.
type settings struct {
	score     *playing.Score
	course    Course
	tempo     float64
	passTempo float64 // 0: none waits for the next pass
	swing     harmony.Swing
	time      playing.Timekeeping
	mix       Mix
}

// stringVoice is one string of the instrument. A string struck again fades its
// old note out on one delay line while the new one begins on the other.
type stringVoice struct {
	lines [2]pluck
	part  [2]playing.Part
	live  int
	endAt int64 // the sample at which the live note is damped; 0 never
}

const (
	chunk       = 256
	softSeconds = 0.05
	leadSeconds = 0.1
	never       = math.MaxInt64
)

// NewEngine returns an engine that plays a score at a rate in samples a second,
// at rest.
func NewEngine(rate int, s *playing.Score) (*Engine, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	e := &Engine{
		rate: rate, drums: newDrums(rate), limiter: newLimiter(rate),
		lead:  int64(leadSeconds * float64(rate)),
		rise:  float32(1 / (softSeconds * float64(rate))),
		queue: queue{sent: make(chan struct{}, 1)},
	}
	e.next = settings{score: s, tempo: s.Tempo, swing: s.Swing, mix: DefaultMix, course: Course{CountIn: 1}}
	e.take()
	e.gains = e.want
	for i := range e.strings {
		for j := range e.strings[i].lines {
			e.strings[i].lines[j] = newPluck(rate)
		}
	}
	return e, nil
}

// Delay returns by how many samples the sound comes out of Render after its
// place, the limiter's look-ahead.
func (e *Engine) Delay() int { return e.limiter.delay }

// Render fills buf with the next samples, one channel, none over Ceiling in
// magnitude.
func (e *Engine) Render(buf []float32) {
	e.obey()
	for len(buf) > 0 {
		n := e.until(min(len(buf), chunk))
		e.mix(buf[:n])
		e.frames += int64(n)
		buf = buf[n:]
		e.pass(true)
	}
	e.log.made.Store(e.frames)
}

// Advance moves the transport on by so many samples in silence.
func (e *Engine) Advance(samples int64) {
	e.obey()
	for samples > 0 {
		n := e.until(int(min(samples, never>>32)))
		e.frames += int64(n)
		samples -= int64(n)
		e.pass(false)
	}
	e.log.made.Store(e.frames)
}

// until returns the samples up to the next thing to do, at most limit.
func (e *Engine) until(limit int) int {
	due := int64(never)
	if e.moves.running() {
		due = min(e.end, e.halfAt, e.noteAt)
	}
	for i := range e.strings {
		if s := &e.strings[i]; s.endAt != 0 {
			due = min(due, s.endAt)
		}
	}
	return int(min(int64(limit), max(0, due-e.frames)))
}

// pass does all that is due at the present sample.
func (e *Engine) pass(sounding bool) {
	for i := range e.strings {
		if s := &e.strings[i]; s.endAt != 0 && s.endAt <= e.frames {
			s.damp(dampSeconds, e.rate)
		}
	}
	if !e.moves.running() {
		return
	}
	for e.moves.running() && e.end <= e.frames {
		e.barLine()
	}
	if !e.moves.running() {
		return
	}
	for e.halfAt <= e.frames {
		if stroke := e.stroke(); sounding && stroke.Drum != playing.Silence {
			e.drums.strike(stroke)
		}
		e.half++
		e.placeHalf()
	}
	for e.noteAt <= e.frames {
		e.strike(&e.notes()[e.note], sounding)
		e.note++
		e.placeNote()
	}
}

// barLine lets what waits take effect and begins the bar that comes next.
func (e *Engine) barLine() {
	starting := e.moves.state == starting
	first, last := e.next.course.span(len(e.next.score.Bars))
	if e.moves.step(e.next.course, first, last) {
		e.takePassTempo()
	}
	if !e.moves.running() {
		e.rest(dampSeconds)
		return
	}
	e.take()
	number := e.moves.number
	if e.moves.counting() {
		number = e.moves.target
	}
	bar := harmony.Bar{Meter: e.now.score.Bars[number-1].Meter, Tempo: e.now.tempo, Swing: e.now.swing}
	if starting {
		e.bar = harmony.Place(bar, harmony.InstantOfSample(e.frames, e.rate))
	} else {
		e.bar = e.bar.Next(bar)
	}
	e.end = e.bar.End().Sample(e.rate)
	e.half, e.note = 0, 0
	e.placeHalf()
	e.placeNote()
	e.log.add(Played{State: e.moves.state, Pass: e.moves.pass, Number: e.moves.number, Start: e.bar.Start(), Bar: bar})
}

// take lets everything that waits for a bar line take effect.
func (e *Engine) take() {
	e.now = e.next
	e.want = e.now.mix.gains()
}

func (e *Engine) takePassTempo() {
	if e.next.passTempo != 0 {
		e.next.tempo, e.next.passTempo = e.next.passTempo, 0
	}
}

func (e *Engine) notes() []playing.Note {
	if e.moves.counting() {
		return nil
	}
	return e.now.score.Bars[e.moves.number-1].Notes
}

// stroke returns what keeps time at the next half beat.
func (e *Engine) stroke() playing.Stroke {
	if e.moves.counting() {
		return playing.CountIn(e.half)
	}
	return e.now.time.At(e.bar.Bar, e.half, e.moves.played)
}

func (e *Engine) placeHalf() {
	e.halfAt = never
	if e.half < e.bar.Meter.Halves() {
		beat, off := harmony.BeatOf(e.half)
		e.halfAt = e.bar.Beat(beat, off).Sample(e.rate)
	}
}

func (e *Engine) placeNote() {
	e.noteAt = never
	if notes := e.notes(); e.note < len(notes) {
		e.noteAt = notes[e.note].Start(e.bar).Sample(e.rate)
	}
}

func (e *Engine) strike(n *playing.Note, sounding bool) {
	e.struck++
	s := &e.strings[n.String-1]
	s.damp(fadeSeconds, e.rate)
	if !sounding {
		return
	}
	s.live = 1 - s.live
	s.part[s.live] = n.Part
	s.lines[s.live].strike(n.MIDI, n.Velocity, e.rate, e.struck)
	if n.Dead {
		s.lines[s.live].fade(deadSeconds, e.rate)
	}
	if end, ends := n.End(e.bar, e.now.score.Bars[e.moves.number:]); ends {
		s.endAt = end.Sample(e.rate)
	}
}

func (s *stringVoice) damp(seconds float64, rate int) {
	s.lines[s.live].fade(seconds, rate)
	s.endAt = 0
}

// rest damps every string and logs that nothing plays from here on.
func (e *Engine) rest(seconds float64) {
	e.take()
	for i := range e.strings {
		e.strings[i].damp(seconds, e.rate)
	}
	number := e.moves.number
	if e.moves.state == Paused {
		number = e.moves.target
	}
	e.log.add(Played{State: e.moves.state, Pass: e.moves.pass, Number: number, Start: harmony.InstantOfSample(e.frames, e.rate), Bar: e.bar.Bar})
}

// obey carries out the commands that wait.
func (e *Engine) obey() {
	for {
		c, ok := e.queue.receive()
		if !ok {
			return
		}
		e.carryOut(&c)
		if !e.moves.running() {
			e.take()
		}
	}
}

func (e *Engine) carryOut(c *command) {
	switch c.verb {
	case doPlay:
		if !e.moves.running() {
			first, _ := e.next.course.span(len(e.next.score.Bars))
			if e.moves.start(e.next.course, first) {
				e.takePassTempo()
			}
			e.end = e.frames + e.lead
			e.halfAt, e.noteAt = never, never
		}
	case doPause, doStop:
		running := e.moves.running()
		e.moves.halt(c.verb == doPause)
		if running {
			e.rest(dampSeconds / 2)
		}
	case doSkip:
		e.moves.skip = true
	case setScore:
		e.next.score = c.score
	case setCourse:
		e.next.course = c.course
	case setTempo:
		e.next.tempo = c.tempo
	case setPassTempo:
		e.next.passTempo = c.tempo
	case setTime:
		e.next.time = c.time
	case setMix:
		e.next.mix = c.mix
		e.now.mix.ClickDB, e.now.mix.BassDB, e.now.mix.ShapesDB = c.mix.ClickDB, c.mix.BassDB, c.mix.ShapesDB
		e.want = e.now.mix.gains()
	}
}

// mix adds up the voices into out, at most chunk samples.
func (e *Engine) mix(out []float32) {
	n := len(out)
	for p := range e.bus {
		clear(e.bus[p][:n])
	}
	e.drums.add(e.bus[playing.PartClick][:n])
	for i := range e.strings {
		for j := range e.strings[i].lines {
			e.strings[i].lines[j].add(e.bus[e.strings[i].part[j]][:n])
		}
	}
	// A level that changes does so over about 10 ms, not with a jump.
	const change = 100
	clear(out)
	for p, want := range e.want {
		gain, bus := e.gains[p], e.bus[p][:n]
		step := (want - gain) * min(1, change*float32(n)/float32(e.rate)) / float32(n)
		for i, s := range bus {
			gain += step
			out[i] += s * gain
		}
		if d := want - gain; d < 1e-5 && d > -1e-5 {
			gain = want
		}
		e.gains[p] = gain
	}
	for i := 0; e.soft < 1 && i < n; i++ {
		e.soft = min(1, e.soft+e.rise)
		out[i] *= e.soft
	}
	e.limiter.process(out)
}

// Quiet reports whether nothing sounds or is about to. It is for the caller of
// Render.
func (e *Engine) Quiet() bool {
	if e.moves.running() || !e.drums.quiet() {
		return false
	}
	for i := range e.strings {
		for j := range e.strings[i].lines {
			if e.strings[i].lines[j].sounding {
				return false
			}
		}
	}
	return true
}

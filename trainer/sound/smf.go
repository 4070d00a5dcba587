package sound

import (
	"fmt"
	"io"
	"math"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Numbers of the General MIDI Level 1 sound set (MIDI Manufacturers Association):
// steel guitar and the channel of percussion.
const (
	steelGuitar      = 25
	percussion       = 9 // channel 10, counted from 0
	ticksPerQuarter  = 960
	clocksPerQuarter = 24
)

// percussionKeys are the keys of General MIDI's percussion: high and low wood block,
// pedal hi-hat, acoustic and electric snare. In the brush kit of General MIDI 2
// (program 41, from memory) the last two are a brush's tap and its swirl.
var percussionKeys = [playing.Drums]uint8{
	playing.Accent: 76, playing.Tick: 77, playing.Chick: 44, playing.Tap: 38, playing.Sweep: 40,
}

const brushKit = 40 // counted from 0

// WriteSMF writes one pass of a score as a Standard MIDI File of format 1, the
// count-in, or else bar 1 beat 1, at tick 0: a track with title, tempo, meter, key
// signature and section markers, a track for each string on the channel of the
// string's number, lowest string first, and what keeps time on channel 10.
// Velocities are those that are heard; levels are the player's.
func WriteSMF(w io.Writer, s *playing.Score, x Export) error {
	if err := s.Check(); err != nil {
		return err
	}
	if err := (Course{CountIn: x.CountIn}).Check(len(s.Bars)); err != nil {
		return err
	}
	file := smf.NewSMF1()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	p := placed(s, x.CountIn)
	tracks := []smf.Track{p.conductor()}
	for n := s.Strings; n >= 1; n-- {
		tracks = append(tracks, p.track(n))
	}
	tracks = append(tracks, p.timekeeper(x.Time))
	for _, t := range tracks {
		var at uint32
		for _, e := range t {
			at += e.Delta
		}
		t.Close(p.tick(p.end()) - at)
		if err := file.Add(t); err != nil {
			return err
		}
	}
	_, err := file.WriteTo(w)
	return err
}

// pass is a score with its bars in time, those of the count-in first.
type pass struct {
	*playing.Score
	counts []harmony.PlacedBar
	bars   []harmony.PlacedBar
}

func placed(s *playing.Score, counts int) pass {
	p := pass{Score: s}
	bar := harmony.Place(s.Timed(0), 0)
	for range counts {
		p.counts = append(p.counts, bar)
		bar = bar.Next(bar.Bar)
	}
	for i := range s.Bars {
		if i > 0 {
			bar = bar.Next(s.Timed(i))
		}
		p.bars = append(p.bars, bar)
	}
	return p
}

func (p *pass) end() harmony.Instant { return p.bars[len(p.bars)-1].End() }

// tick returns the nearest tick to a time.
func (p *pass) tick(at harmony.Instant) uint32 {
	return uint32(math.Round(at.Duration().Minutes() * p.Tempo * ticksPerQuarter))
}

// timed is a message and its tick.
type timed struct {
	at  uint32
	msg []byte
}

// trackOf turns messages into a track; those of one tick keep their order.
func trackOf(events []timed) smf.Track {
	slices.SortStableFunc(events, func(a, b timed) int { return int(a.at) - int(b.at) })
	var t smf.Track
	var last uint32
	for _, e := range events {
		t.Add(e.at-last, e.msg)
		last = e.at
	}
	return t
}

func (p *pass) conductor() smf.Track {
	sharps := p.Key.Signature()
	events := []timed{
		{0, smf.MetaTrackSequenceName(p.Title)},
		{0, smf.MetaTempo(p.Tempo)},
		{0, smf.MetaKey(uint8(p.Key.Tonic.Semitone()), !p.Key.Minor, uint8(max(sharps, -sharps)), sharps < 0)},
	}
	var meter tune.Meter
	for _, b := range slices.Concat(p.counts, p.bars) {
		if b.Meter != meter {
			meter = b.Meter
			clocks := uint8(clocksPerQuarter * meter.BeatQuarters())
			events = append(events, timed{p.tick(b.Start()), smf.MetaTimeSig(uint8(meter.Upper), uint8(meter.Lower), clocks, 8)})
		}
	}
	for i, b := range p.bars {
		if name := p.Bars[i].Section; name != "" {
			events = append(events, timed{p.tick(b.Start()), smf.MetaMarker(name)})
		}
	}
	return trackOf(events)
}

func (p *pass) track(number int) smf.Track {
	channel := uint8(number - 1)
	events := []timed{
		{0, smf.MetaTrackSequenceName(fmt.Sprintf("String %d", number))},
		{0, midi.ProgramChange(channel, steelGuitar)},
	}
	end := p.tick(p.end())
	sounding, stop := uint8(0), uint32(0) // stop 0: nothing sounds
	for i, b := range p.Bars {
		for _, n := range b.Notes {
			if n.String != number {
				continue
			}
			at := p.tick(n.Start(p.bars[i]))
			if stop > 0 {
				events = append(events, timed{min(stop, at), midi.NoteOff(channel, sounding)})
			}
			sounding, stop = uint8(n.MIDI), end
			if off, ends := n.End(p.bars[i], p.Bars[i+1:]); ends {
				stop = min(end, max(at+1, p.tick(off)))
			}
			events = append(events, timed{at, midi.NoteOn(channel, sounding, n.Velocity)})
		}
	}
	if stop > 0 {
		events = append(events, timed{stop, midi.NoteOff(channel, sounding)})
	}
	return trackOf(events)
}

// timekeeper writes what keeps time, each stroke an eighth of its beat long.
func (p *pass) timekeeper(t playing.Timekeeping) smf.Track {
	events := []timed{{0, smf.MetaTrackSequenceName("Click")}}
	if t.In(p.Timed(0)) == playing.Brushes {
		events = append(events, timed{0, midi.ProgramChange(percussion, brushKit)})
	}
	write := func(b harmony.PlacedBar, stroke func(half int) playing.Stroke) {
		for half := range b.Meter.Halves() {
			s := stroke(half)
			if s.Drum == playing.Silence {
				continue
			}
			beat, off := harmony.BeatOf(half)
			at, key := p.tick(b.Beat(beat, off)), percussionKeys[s.Drum]
			events = append(events,
				timed{at, midi.NoteOn(percussion, key, s.Velocity)},
				timed{at + uint32(b.Meter.BeatQuarters()*ticksPerQuarter/8), midi.NoteOff(percussion, key)})
		}
	}
	for _, b := range p.counts {
		write(b, playing.CountIn)
	}
	for i, b := range p.bars {
		write(b, func(half int) playing.Stroke { return t.At(b.Bar, half, i) })
	}
	return trackOf(events)
}

package sound

import (
	"fmt"
	"io"
	"math"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Numbers of the General MIDI Level 1 sound set (MIDI Manufacturers
// Association): steel guitar, percussion channel and wood blocks.
const (
	steelGuitar      = 25
	percussion       = 9 // channel 10, counted from 0
	highWoodBlock    = 76
	lowWoodBlock     = 77
	ticksPerQuarter  = 960
	clickVelocity    = 90
	accentVelocity   = 120
	clocksPerQuarter = 24
)

// WriteSMF writes one pass of a score as a Standard MIDI File of format 1, bar 1
// beat 1 at tick 0: a track with title, tempo, meter, key signature and section
// markers, a track for each string on the channel of the string's number, lowest
// string first, and the click on channel 10.
func WriteSMF(w io.Writer, s *Score) error {
	if err := s.Check(); err != nil {
		return err
	}
	file := smf.NewSMF1()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	starts := barTicks(s)
	end := starts[len(s.Bars)]
	tracks := []smf.Track{conductorTrack(s, starts)}
	for n := s.Strings; n >= 1; n-- {
		tracks = append(tracks, stringTrack(s, n, starts))
	}
	tracks = append(tracks, clickTrack(s, starts))
	for _, t := range tracks {
		var at uint32
		for _, e := range t {
			at += e.Delta
		}
		t.Close(end - at)
		if err := file.Add(t); err != nil {
			return err
		}
	}
	_, err := file.WriteTo(w)
	return err
}

// barTicks returns the tick of each bar line, the last one's included.
func barTicks(s *Score) []uint32 {
	starts := make([]uint32, 1, len(s.Bars)+1)
	for i, b := range s.Bars {
		starts = append(starts, starts[i]+uint32(b.Meter.Beats())*beatTicks(b.Meter))
	}
	return starts
}

func beatTicks(m tune.Meter) uint32 { return uint32(ticksPerQuarter * m.BeatQuarters()) }

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

func conductorTrack(s *Score, starts []uint32) smf.Track {
	sharps := s.Key.Signature()
	events := []timed{
		{0, smf.MetaTrackSequenceName(s.Title)},
		{0, smf.MetaTempo(s.Tempo)},
		{0, smf.MetaKey(uint8(s.Key.Tonic.Semitone()), !s.Key.Minor, uint8(max(sharps, -sharps)), sharps < 0)},
	}
	var meter tune.Meter
	for i, b := range s.Bars {
		if b.Meter != meter {
			meter = b.Meter
			clocks := uint8(clocksPerQuarter * meter.BeatQuarters())
			events = append(events, timed{starts[i], smf.MetaTimeSig(uint8(meter.Upper), uint8(meter.Lower), clocks, 8)})
		}
		if b.Section != "" {
			events = append(events, timed{starts[i], smf.MetaMarker(b.Section)})
		}
	}
	return trackOf(events)
}

func stringTrack(s *Score, number int, starts []uint32) smf.Track {
	channel := uint8(number - 1)
	events := []timed{
		{0, smf.MetaTrackSequenceName(fmt.Sprintf("String %d", number))},
		{0, midi.ProgramChange(channel, steelGuitar)},
	}
	end := starts[len(starts)-1]
	sounding, stop := uint8(0), uint32(0) // stop 0: nothing sounds
	for i, b := range s.Bars {
		for _, n := range b.Notes {
			if n.String != number {
				continue
			}
			half := harmony.HalfOf(n.Beat, n.Off)
			at := starts[i] + tickOf(s, b.Meter, half)
			if stop > 0 {
				events = append(events, timed{min(stop, at), midi.NoteOff(channel, sounding)})
			}
			sounding, stop = uint8(n.MIDI), end
			if n.Halves > 0 {
				stop = endOf(s, starts, i, half+n.Halves)
				if n.Short {
					stop -= min(beatTicks(b.Meter)/clip, (stop-at)/2)
				}
				stop = min(end, stop)
			}
			events = append(events, timed{at, midi.NoteOn(channel, sounding, uint8(math.Ceil(float64(n.Velocity)*127)))})
		}
	}
	if stop > 0 {
		events = append(events, timed{stop, midi.NoteOff(channel, sounding)})
	}
	return trackOf(events)
}

// endOf returns the tick of a half beat of a bar, counted from 0, that may lie in
// one of those after it.
func endOf(s *Score, starts []uint32, bar, half int) uint32 {
	for ; bar+1 < len(s.Bars) && half >= s.Bars[bar].Meter.Halves(); bar++ {
		half -= s.Bars[bar].Meter.Halves()
	}
	return starts[bar] + tickOf(s, s.Bars[bar].Meter, half)
}

// tickOf returns the tick of a half beat within its bar, swung.
func tickOf(s *Score, m tune.Meter, half int) uint32 {
	beat, off := harmony.BeatOf(half)
	at := uint32(beat-1) * beatTicks(m)
	if off {
		b := harmony.Bar{Meter: m, Tempo: s.Tempo, Swing: s.Swing}
		at += uint32(math.Round(float64(beatTicks(m)) * float64(b.OffPart()) / harmony.Parts))
	}
	return at
}

func clickTrack(s *Score, starts []uint32) smf.Track {
	events := []timed{{0, smf.MetaTrackSequenceName("Click")}}
	for i, b := range s.Bars {
		for beat := range b.Meter.Beats() {
			at := starts[i] + uint32(beat)*beatTicks(b.Meter)
			key, velocity := uint8(lowWoodBlock), uint8(clickVelocity)
			if beat == 0 {
				key, velocity = highWoodBlock, accentVelocity
			}
			events = append(events,
				timed{at, midi.NoteOn(percussion, key, velocity)},
				timed{at + beatTicks(b.Meter)/4, midi.NoteOff(percussion, key)})
		}
	}
	return trackOf(events)
}

package listen

import (
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/drivers"
)

// stream turns the bytes of a MIDI cable into notes. Messages are put together
// by gomidi's reader; stream keeps it from taking a status byte for data where
// a message was cut short, which that reader (v2.3.16) would do.
type stream struct {
	reader *drivers.Reader
	hand   func(Note)
	at     time.Duration

	// due is how many data bytes the message in hand still lacks; whole is how
	// many a message of the running status has, 0 where there is none.
	due, whole int
	// skipping is true within SysEx and undefined messages.
	skipping bool
	broken   int
}

func newStream(hand func(Note)) *stream {
	s := &stream{hand: hand}
	// The reader makes a buffer of this size at each SysEx, even when told to
	// pass SysEx over.
	s.reader = drivers.NewReader(drivers.ListenConfig{SysExBufferSize: 1}, s.message)
	return s
}

// write takes bytes that arrived at a time and returns how many bytes or
// messages of them were broken.
func (s *stream) write(bytes []byte, at time.Duration) int {
	s.at, s.broken = at, 0
	for i := range bytes {
		if s.admit(bytes[i]) {
			s.reader.EachMessage(bytes[i:i+1], 0)
		}
	}
	return s.broken
}

// admit follows where in a message a byte falls and says whether the reader may
// have it. The lengths are those of MIDI 1.0, table 1 to 3.
func (s *stream) admit(b byte) bool {
	switch {
	case b >= 0xF8: // real time: may fall inside any message
		return false
	case b < 0x80:
		switch {
		case s.skipping:
		case s.due > 0:
			s.due--
		case s.whole > 0:
			s.due = s.whole - 1
		default:
			s.broken++
			return false
		}
		return true
	}
	if s.due > 0 {
		s.broken++
		s.reader.Reset()
	}
	s.due, s.whole, s.skipping = 0, 0, false
	switch {
	case b < 0xF0:
		s.whole = 2
		if b>>4 == 0xC || b>>4 == 0xD {
			s.whole = 1
		}
		s.due = s.whole
	case b == 0xF1 || b == 0xF3:
		s.due = 1
	case b == 0xF2:
		s.due = 2
	case b == 0xF0 || b == 0xF4 || b == 0xF5:
		s.skipping = true
	}
	return true
}

func (s *stream) message(bytes []byte, _ int32) {
	if n, ok := noteOf(bytes); ok {
		n.At = s.at
		s.hand(n)
	}
}

// The switch pedals are controllers 64 to 69, which are down from 64 of 127 on (MIDI 1.0,
// table 3).
const firstPedal, lastPedal, pedalDown = 64, 69, 64

// noteOf reads a whole MIDI message as a note without its time.
func noteOf(message midi.Message) (Note, bool) {
	var channel, key, velocity uint8
	switch {
	case message.GetControlChange(&channel, &key, &velocity) && key >= firstPedal && key <= lastPedal:
		return Note{pedal: true, On: velocity >= pedalDown}, true
	case message.GetNoteStart(&channel, &key, &velocity):
		return Note{
			On: true, MIDI: int(key), Channel: int(channel) + 1,
			Velocity: float64(velocity) / 127, Confidence: 1,
		}, true
	case message.GetNoteEnd(&channel, &key):
		return Note{MIDI: int(key), Channel: int(channel) + 1, Confidence: 1}, true
	}
	return Note{}, false
}

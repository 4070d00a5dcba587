package midifile

import (
	"fmt"

	"gitlab.com/gomidi/midi/v2/smf"
)

// MaxNotes is how many notes and changes of tempo a file may hold: an hour of them at
// twenty-five a second.
const MaxNotes = 100_000

// Events tells the events of a Standard MIDI File of metrical or SMPTE time, the tracks
// one after the other, with their times in ticks from the file's beginning. A message has
// its status byte, and is lost at the next call. The error names the first place where the
// file's lengths do not add up, or says that it holds more than MaxNotes; then nothing is
// told.
func Events(data []byte, tell func(track int, at int64, message smf.Message)) error {
	notes := 0
	err := walkTracks(data, func(_ int, _ int64, m smf.Message) {
		if m[0]>>4 == 9 || isTempo(m) {
			notes++
		}
	})
	if err == nil && notes > 2*MaxNotes { // a note may end by a second message of its kind
		err = fmt.Errorf("the MIDI file holds over %d notes and changes of tempo; cut it into shorter takes", MaxNotes)
	}
	if err != nil {
		return err
	}
	return walkTracks(data, tell)
}

// isTempo tells a change of tempo, a meta event of the kind 0x51 (SMF 1.0).
func isTempo(m smf.Message) bool { return len(m) > 1 && m[0] == 0xff && m[1] == 0x51 }

func walkTracks(data []byte, tell func(track int, at int64, message smf.Message)) error {
	if len(data) < 14 || string(data[:4]) != "MThd" {
		return fmt.Errorf("not a Standard MIDI File: it does not begin with MThd")
	}
	at := 8 + size32(data[4:])
	if at < 14 || at > len(data) {
		return fmt.Errorf("the MIDI file is damaged: its header is cut short")
	}
	all := int(data[10])<<8 | int(data[11])
	tracks := all
	for at < len(data) && tracks > 0 {
		if len(data)-at < 8 {
			return fmt.Errorf("the MIDI file is damaged: it breaks off at byte %d", at)
		}
		end := at + 8 + size32(data[at+4:])
		if end > len(data) || end < at {
			return fmt.Errorf("the MIDI file is damaged: the part that starts at byte %d is cut short", at)
		}
		if string(data[at:at+4]) == "MTrk" {
			tracks--
			n := all - tracks - 1
			if bad := walk(data[at+8:end], func(at int64, m smf.Message) { tell(n, at, m) }); bad >= 0 {
				return fmt.Errorf("the MIDI file is damaged: an event does not fit its track at byte %d", at+8+bad)
			}
		}
		at = end
	}
	if tracks > 0 {
		return fmt.Errorf("the MIDI file is damaged: %d of its tracks are missing", tracks)
	}
	return nil
}

func size32(b []byte) int {
	return int(b[0])<<24 | int(b[1])<<16 | int(b[2])<<8 | int(b[3])
}

// walk tells the events of a track and returns the offset of the first that does not fit
// it, −1 if all do. Events are those of SMF 1.0: a time, a status byte that channel
// messages may leave out, data.
func walk(track []byte, tell func(at int64, message smf.Message)) int {
	at := 0
	now := int64(0)
	status := byte(0)
	var short [3]byte
	// quantity reads a variable-length number, of at most four bytes.
	quantity := func() (int, bool) {
		n := 0
		for i := 0; i < 4 && at < len(track); i++ {
			b := track[at]
			at++
			n = n<<7 | int(b&0x7f)
			if b < 0x80 {
				return n, true
			}
		}
		return 0, false
	}
	for at < len(track) {
		start := at
		delta, ok := quantity()
		if !ok || at >= len(track) {
			return start
		}
		now += int64(delta)
		begins := at
		if b := track[at]; b >= 0x80 {
			status = b
			at++
		}
		length := 0
		switch {
		case status == 0xff:
			if at++; at > len(track) { // the kind of the meta event
				return start
			}
			n, ok := quantity()
			if !ok {
				return start
			}
			length, status = n, 0
		case status == 0xf0 || status == 0xf7:
			n, ok := quantity()
			if !ok {
				return start
			}
			length, status = n, 0
		case status >= 0xf0 || status < 0x80:
			return start
		case status>>4 == 0xc || status>>4 == 0xd:
			length = 1
		default:
			length = 2
		}
		data := at
		if at += length; at > len(track) {
			return start
		}
		if status == 0 {
			tell(now, track[begins:at:at])
		} else {
			short[0] = status
			tell(now, short[:1+copy(short[1:], track[data:at])])
		}
	}
	return -1
}

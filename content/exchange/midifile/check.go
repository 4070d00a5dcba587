package midifile

import "fmt"

// Check walks over a Standard MIDI File of metrical or SMPTE time and reports the
// first place where its lengths do not add up. A reader that trusts a length can
// be made to ask for memory without end, so check before reading.
func Check(data []byte) error {
	if len(data) < 14 || string(data[:4]) != "MThd" {
		return fmt.Errorf("not a Standard MIDI File: it does not begin with MThd")
	}
	at := 8 + size32(data[4:])
	if at < 14 || at > len(data) {
		return fmt.Errorf("the MIDI file is damaged: its header is cut short")
	}
	tracks := int(data[10])<<8 | int(data[11])
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
			if bad := walk(data[at+8 : end]); bad >= 0 {
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

// walk returns the offset of the first event that does not fit a track, −1 if
// all do. Events are those of SMF 1.0: a time, a status byte that channel
// messages may leave out, data.
func walk(track []byte) int {
	at := 0
	status := byte(0)
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
		if _, ok := quantity(); !ok || at >= len(track) {
			return start
		}
		if b := track[at]; b >= 0x80 {
			status = b
			at++
		}
		length := 0
		switch {
		case status == 0xff:
			at++ // the kind of the meta event
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
		if at += length; at > len(track) {
			return start
		}
	}
	return -1
}

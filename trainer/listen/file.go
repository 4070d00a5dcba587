package listen

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/content/exchange/midifile"
)

// MaxFile is the size of the largest MIDI file that is read: an hour of playing on a guitar
// that bends each of its strings a hundred times a second.
const MaxFile = 16 << 20

// ReadFile reads the notes of a Standard MIDI File of format 0 or 1 in order of
// time, the file's beginning being time 0. Times follow every tempo change, on
// whatever track it stands, or the SMPTE frames where the file counts in those.
// Channel 10 is percussion in General MIDI, a click as a rule: its notes are left
// out, unless the file has no others. The error says what is wrong with a file that is none, cut short, or of format 2.
func ReadFile(data []byte) ([]Note, error) {
	var ticks []tick
	tracks := 0
	err := midifile.Events(data, func(track int, at int64, m smf.Message) {
		tracks = max(tracks, track+1)
		if n, ok := noteOf(midi.Message(m)); ok && !n.pedal {
			n.track = track
			ticks = append(ticks, tick{at: at, note: n})
		} else if len(m) >= 6 && m[0] == 0xFF && m[1] == 0x51 {
			if tempo := int64(m[3])<<16 | int64(m[4])<<8 | int64(m[5]); tempo > 0 {
				ticks = append(ticks, tick{at: at, tempo: tempo})
			}
		}
	})
	if err != nil {
		return nil, err
	}
	// MThd, its length, format, number of tracks, division: SMF 1.0.
	if data[8] == 0 && data[9] == 2 {
		return nil, errors.New("a MIDI file of format 2 holds separate pieces: save the one you played as format 0 or 1")
	}
	perSecond, err := smpteRate(data[12], data[13])
	if err != nil {
		return nil, err
	}
	quarter := int64(data[12])<<8 | int64(data[13])
	if quarter == 0 {
		return nil, errors.New("the MIDI file is damaged: it has 0 ticks to a quarter note")
	}
	for i := range ticks {
		ticks[i].note.tracks = tracks
	}
	notes, err := notesOf(ticks, quarter, perSecond)
	return withoutClick(notes), err
}

func withoutClick(notes []Note) []Note {
	click := func(n Note) bool { return n.Channel == 10 }
	if !slices.ContainsFunc(notes, func(n Note) bool { return !click(n) }) {
		return notes
	}
	return slices.DeleteFunc(notes, click)
}

// smpteRate returns the ticks a second of a division in frames, 0 for one in
// ticks to a quarter note.
func smpteRate(high, low byte) (float64, error) {
	if high < 0x80 {
		return 0, nil
	}
	frames := float64(-int8(high))
	switch frames {
	case 24, 25, 30:
	case 29:
		frames = 30_000.0 / 1001 // thirty drop-frame
	default:
		return 0, fmt.Errorf("the MIDI file counts %g frames a second; SMF 1.0 knows 24, 25, 29 and 30", frames)
	}
	if low == 0 {
		return 0, errors.New("the MIDI file is damaged: it has 0 ticks to a frame")
	}
	return frames * float64(low), nil
}

// tick is a note or a change of tempo at a place in the file.
type tick struct {
	at    int64
	tempo int64 // microseconds a quarter note; 0 for a note
	note  Note
}

// longestTake bounds what a file holds; its times have room in what they are reckoned in.
const longestTake = 24 * time.Hour

func notesOf(ticks []tick, quarter int64, perSecond float64) ([]Note, error) {
	slices.SortStableFunc(ticks, func(a, b tick) int { return cmp.Compare(a.at, b.at) })
	var (
		notes []Note
		tempo = int64(500_000) // 120 a minute until the file says otherwise: SMF 1.0
		last  int64
		spent int64 // microseconds times ticks a quarter, up to last
	)
	for _, t := range ticks {
		seconds := (float64(spent) + float64(t.at-last)*float64(tempo)) / float64(quarter) / 1e6
		if perSecond > 0 {
			seconds = float64(t.at) / perSecond
		}
		if seconds > longestTake.Seconds() {
			return nil, errors.New("the MIDI file is longer than a day: cut it into shorter takes")
		}
		spent += (t.at - last) * tempo
		last = t.at
		if t.tempo > 0 {
			tempo = t.tempo
			continue
		}
		n := t.note
		if perSecond > 0 {
			n.At = time.Duration(seconds * float64(time.Second))
		} else {
			n.At = time.Duration(spent/quarter)*time.Microsecond +
				time.Duration(spent%quarter)*time.Microsecond/time.Duration(quarter)
		}
		notes = append(notes, n)
	}
	return notes, nil
}

package listen

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// The open strings of standard tuning, the highest first.
var openStrings = []int{64, 59, 55, 50, 45, 40}

// struck are notes of a channel each, half a second long, half a second apart.
func struck(notes ...[2]int) (out []Note) {
	for i, n := range notes {
		at := time.Duration(i) * 500 * time.Millisecond
		out = append(out, Note{At: at, On: true, Channel: n[0], MIDI: n[1]}, Note{At: at + 490*time.Millisecond, Channel: n[0], MIDI: n[1]})
	}
	return out
}

// onTracks are the same on a track each of a file that has so many, all on one channel.
func onTracks(tracks int, notes ...[2]int) []Note {
	out := struck(notes...)
	for i := range out {
		out[i].Channel, out[i].track, out[i].tracks = 1, notes[i/2][0], tracks
	}
	return out
}

func TestStringsOfAFile(t *testing.T) {
	for name, c := range map[string]struct {
		notes []Note
		want  []int // by note, 0 for none told
	}{
		"the highest string first":       {struck([2]int{6, 43}, [2]int{5, 48}, [2]int{4, 53}, [2]int{3, 57}), []int{6, 5, 4, 3}},
		"from channel 11 on":             {struck([2]int{16, 43}, [2]int{15, 48}, [2]int{13, 60}), []int{6, 5, 3}},
		"from channel 3 on":              {struck([2]int{8, 43}, [2]int{7, 48}, [2]int{5, 57}, [2]int{3, 66}), []int{6, 5, 3, 1}},
		"tracks, the lowest first":       {onTracks(6, [2]int{0, 43}, [2]int{1, 48}, [2]int{5, 67}), []int{6, 5, 1}},
		"tracks after one for the tempo": {onTracks(7, [2]int{6, 43}, [2]int{5, 48}, [2]int{1, 67}), []int{6, 5, 1}},
		"tracks of other music":          {onTracks(4, [2]int{0, 43}, [2]int{1, 48}, [2]int{3, 67}), []int{0, 0, 0}},
		"the lowest first":               {struck([2]int{1, 43}, [2]int{2, 46}, [2]int{6, 70}), []int{6, 5, 1}},
		"one channel for all":            {struck([2]int{1, 43}, [2]int{1, 48}, [2]int{1, 53}), []int{0, 0, 0}},
		"below any order's string":       {struck([2]int{1, 43}, [2]int{6, 41}), []int{0, 0}},
		"high notes that two orders fit": {struck([2]int{3, 64}, [2]int{4, 64}), []int{0, 0}},
		"a channel of no string":         {struck([2]int{6, 43}, [2]int{5, 48}, [2]int{9, 60}), []int{0, 0, 0}},
	} {
		TellStrings(c.notes, openStrings)
		var got []int
		for _, n := range c.notes {
			if n.On {
				got = append(got, n.String)
			}
		}
		assert.Equal(t, c.want, got, name)
	}
	together := []Note{
		{On: true, Channel: 6, MIDI: 43}, {On: true, Channel: 6, MIDI: 47}, {On: true, Channel: 5, MIDI: 50},
		{At: time.Second, Channel: 6, MIDI: 43}, {At: time.Second, Channel: 6, MIDI: 47}, {At: time.Second, Channel: 5, MIDI: 50},
	}
	TellStrings(together, openStrings)
	assert.Zero(t, together[0].String, "one string sounds one note")
}

// As many notes as a file may hold, all at once: it comes to an end.
func TestStringsOfAHundredThousandNotesAtOnce(t *testing.T) {
	var notes []Note
	for i := range 50_000 {
		notes = append(notes, Note{Channel: 1 + i%2, MIDI: 64 + i%3, On: true})
	}
	for range 50_000 {
		notes = append(notes, Note{Channel: 1, MIDI: 70})
	}
	TellStrings(notes, []int{64, 59, 55, 50, 45, 40})
	assert.Equal(t, []int{1, 2}, []int{notes[0].String, notes[1].String})
}

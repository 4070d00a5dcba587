package listen

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func hear(bytes ...byte) (notes []Note, broken int) {
	s := newStream(func(n Note) { notes = append(notes, n) })
	broken = s.write(bytes, 7*time.Second)
	return notes, broken
}

func on(channel, midi int) Note {
	return Note{At: 7 * time.Second, On: true, MIDI: midi, Channel: channel, Velocity: 64.0 / 127, Confidence: 1}
}

func off(channel, midi int) Note {
	return Note{At: 7 * time.Second, MIDI: midi, Channel: channel, Confidence: 1}
}

// The rules are those of the MIDI 1.0 Detailed Specification: running status,
// real time anywhere, note-on with velocity 0, SysEx ended by any status byte.
func TestStream(t *testing.T) {
	for _, c := range []struct {
		name   string
		bytes  []byte
		want   []Note
		broken int
	}{
		{"on and off", []byte{0x90, 40, 64, 0x80, 40, 9}, []Note{on(1, 40), off(1, 40)}, 0},
		{"velocity 0 ends", []byte{0x95, 40, 64, 0x95, 40, 0}, []Note{on(6, 40), off(6, 40)}, 0},
		{"running status", []byte{0x90, 40, 64, 43, 64, 40, 0}, []Note{on(1, 40), on(1, 43), off(1, 40)}, 0},
		{"clock inside a message", []byte{0x90, 0xF8, 40, 0xFE, 64, 0xF8, 43, 0xFF, 64}, []Note{on(1, 40), on(1, 43)}, 0},
		{"system exclusive between", []byte{0x90, 40, 64, 0xF0, 0x7E, 1, 2, 3, 0xF7, 0x90, 43, 64}, []Note{on(1, 40), on(1, 43)}, 0},
		{"clock inside system exclusive", []byte{0xF0, 1, 0xF8, 2, 0xF7, 0x90, 43, 64}, []Note{on(1, 43)}, 0},
		{"system exclusive cut off", []byte{0xF0, 1, 2, 0x91, 43, 64}, []Note{on(2, 43)}, 0},
		{"system exclusive ends running status", []byte{0x90, 40, 64, 0xF0, 1, 0xF7, 43, 64}, []Note{on(1, 40)}, 2},
		{"data with no status", []byte{1, 2, 3, 0x90, 40, 64}, []Note{on(1, 40)}, 3},
		{"a message cut short", []byte{0x90, 40, 0x91, 43, 64}, []Note{on(2, 43)}, 1},
		{"cut short by system common", []byte{0x90, 40, 0xF2, 1, 2, 0x90, 43, 64}, []Note{on(1, 43)}, 1},
		{"song position cut short", []byte{0xF2, 1, 0x90, 43, 64}, []Note{on(1, 43)}, 1},
		{"undefined status", []byte{0xF4, 1, 2, 0xF5, 0x90, 43, 64}, []Note{on(1, 43)}, 0},
		{"mono mode and bends", []byte{0xB0, 0x7C, 0, 0xB0, 0x7E, 6, 0xE0, 0, 64, 0xC0, 5, 0xD0, 6, 0x93, 50, 64}, []Note{on(4, 50)}, 0},
		{"single data byte, running", []byte{0xC0, 5, 6, 7, 0x90, 40, 64}, []Note{on(1, 40)}, 0},
		{"tune request", []byte{0xF6, 0x90, 40, 64}, []Note{on(1, 40)}, 0},
		{"lone end of exclusive", []byte{0xF7, 0x90, 40, 64}, []Note{on(1, 40)}, 0},
	} {
		notes, broken := hear(c.bytes...)
		assert.Equal(t, c.want, notes, c.name)
		assert.Equal(t, c.broken, broken, c.name)
		// However the bytes are cut up, the notes are the same.
		var cut []Note
		s := newStream(func(n Note) { cut = append(cut, n) })
		for i := range c.bytes {
			s.write(c.bytes[i:i+1], 7*time.Second)
		}
		assert.Equal(t, notes, cut, c.name)
	}
}

// plainStream is the slow and plain oracle for the fuzz test: it knows lengths
// and nothing else.
func plainStream(bytes []byte) (notes [][3]byte) {
	var message []byte
	length := func(status byte) int {
		switch {
		case status >= 0xC0 && status < 0xE0:
			return 2
		case status < 0xF0:
			return 3
		}
		return 0
	}
	for _, b := range bytes {
		switch {
		case b >= 0xF8:
			continue
		case b >= 0x80:
			message = []byte{b}
		case len(message) > 0:
			message = append(message, b)
		}
		if len(message) > 0 && length(message[0]) == len(message) {
			if s := message[0] >> 4; s == 8 || s == 9 {
				notes = append(notes, [3]byte(message))
			}
			message = message[:1]
		}
	}
	return notes
}

func FuzzStream(f *testing.F) {
	f.Add([]byte{0x90, 40, 64, 43, 0, 0xF0, 1, 2, 0xF7})
	f.Add([]byte{0x90, 40, 0x91, 43, 64, 0xF2, 1, 0xF8, 0xC1, 2, 3})
	f.Add([]byte{0xF4, 1, 0x80, 0x90, 0xFE, 1, 0xFF, 2})
	f.Fuzz(func(t *testing.T, bytes []byte) {
		if len(bytes) > 1<<10 { // what is longer says the same more slowly
			return
		}
		notes, broken := hear(bytes...)
		var got [][3]int
		for _, n := range notes {
			if !n.pedal {
				got = append(got, [3]int{n.MIDI, n.Channel, int(math.Round(127 * n.Velocity))})
			}
		}
		var want [][3]int
		for _, m := range plainStream(bytes) {
			velocity := 0 // of an end
			if m[0]>>4 == 9 {
				velocity = int(m[2])
			}
			want = append(want, [3]int{int(m[1]), int(m[0]&15) + 1, velocity})
		}
		if !slices.Equal(want, got) || broken > len(bytes) {
			t.Fatalf("%d broken, want %v, got %v", broken, want, got)
		}
	})
}

// An hour of a MIDI cable that carries nothing but noise, 31,250 baud being
// 3,125 bytes a second, grows no memory.
func TestHourOfNoiseGrowsNoMemory(t *testing.T) {
	r := rand.NewChaCha8([32]byte{1})
	f := NewFeed("noise", Options{}, "")
	s := newStream(f.Hand)
	buffer := make([]byte, 3125)
	second := func(n int) {
		for range n {
			r.Read(buffer)
			f.Break(s.write(buffer, 0))
			for len(f.notes) > 0 {
				<-f.notes
			}
		}
	}
	heap := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	minutes := 60
	if testing.Short() {
		minutes = 10
	}
	second(60)
	before := heap()
	second(60 * (minutes - 1))
	after := heap()
	assert.Less(t, after, before+64<<10)
	status := f.Status()
	assert.NotZero(t, status.Messages)
	assert.NotZero(t, status.Broken)
	assert.Zero(t, status.Dropped)
}

func BenchmarkStream(b *testing.B) {
	bytes := []byte{0x90, 40, 64, 0x80, 40, 0}
	s := newStream(func(Note) {})
	b.SetBytes(int64(len(bytes)))
	b.ReportAllocs()
	for b.Loop() {
		s.write(bytes, 0)
	}
}

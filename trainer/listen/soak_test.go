package listen

import (
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// A million notes of a cable, with the SysEx and the active sensing that go
// between them, leave nothing behind.
func TestAMillionNotesOfMIDI(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	notes := 0
	s := newStream(func(Note) { notes++ })
	play := func(n int) uint64 {
		for i := range n {
			at := time.Duration(i) * 30 * time.Millisecond
			s.write([]byte{0x90, byte(40 + i%40), 80, byte(40 + i%40), 0, 0xFE}, at)
			if i%100 == 0 {
				s.write([]byte{0xF0, 0x7E, 1, 2, 3, 4, 5, 6, 7, 8, 0xF7, 0xB0, 7}, at) // and a message cut short
			}
		}
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	early := play(60_000)
	late := play(940_000)
	assert.Equal(t, 2_000_000, notes)
	assert.Less(t, int64(late)-int64(early), int64(1<<16))
}

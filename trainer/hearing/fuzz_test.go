package hearing

import (
	"encoding/binary"
	"math"
	"testing"
)

// Whatever comes in, in blocks of any length, the events of a note come in their
// order and its numbers are sound.
func FuzzPush(f *testing.F) {
	f.Add([]byte{0, 0, 255, 127, 0, 128}, uint16(3), uint32(48000))
	f.Add([]byte("a pluck would be another thing"), uint16(700), uint32(8000))
	f.Fuzz(func(t *testing.T, raw []byte, block uint16, rate uint32) {
		rate = MinRate + rate%40000
		if rate%100 != 0 || len(raw) < 2 {
			return // odd rates take long to prepare and nothing else
		}
		a, err := New(int(rate))
		if err != nil {
			t.Fatal(err)
		}
		s := make([]float32, 8000)
		for i := range s {
			k := 2 * (i * 7 % (len(raw) / 2))
			s[i] = float32(int16(binary.LittleEndian.Uint16(raw[k:]))) / (1 << 15)
		}
		var events []Event
		step := max(1, int(block))
		for i := 0; i < len(s); i += step {
			events = a.Push(s[i:min(i+step, len(s))], events)
		}
		events = a.Flush(events)
		state := map[int]Kind{}
		for _, e := range events {
			if e.Kind == Strummed || e.Kind == Doubted {
				continue
			}
			was, known := state[e.ID]
			ok := false
			switch e.Kind {
			case Began:
				ok = !known
			case Revised, Surer, Withdrawn, Settled:
				ok = known && (was == Began || was == Revised || was == Surer)
			case Rang:
				ok = was == Settled
			case Ended:
				ok = was == Settled || was == Rang
			}
			n := e.Note
			if !ok || math.IsNaN(n.Onset+n.Duration+n.Cents+n.Level+n.Confidence) || n.Confidence < 0 || n.Confidence > 1 || n.Duration < 0 {
				t.Fatalf("event %d of note %d after %d: %+v", e.Kind, e.ID, was, n)
			}
			state[e.ID] = e.Kind
		}
		for id, k := range state {
			if k != Ended && k != Withdrawn {
				t.Fatalf("note %d is left at %d", id, k)
			}
		}
	})
}

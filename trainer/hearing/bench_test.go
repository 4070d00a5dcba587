package hearing

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkPush hears a line with chords at 48 kHz, in blocks of 256 samples.
// Budget: 10 % of one core, 533 µs a block. Reported as part of real time.
func BenchmarkPush(b *testing.B) {
	k := synthetic(5, 48000, "both")
	a, err := New(k.rate)
	if err != nil {
		b.Fatal(err)
	}
	events := make([]Event, 0, 64)
	at := 0
	b.ReportAllocs()
	for b.Loop() {
		if at+256 > len(k.samples) {
			at = 0
		}
		events = a.Push(k.samples[at:at+256], events[:0])
		at += 256
	}
	b.ReportMetric(100*b.Elapsed().Seconds()/(float64(b.N)*256/48000), "%core")
}

func TestPushAllocatesNothing(t *testing.T) {
	k := synthetic(6, 48000, "both")
	a, err := New(k.rate)
	require.NoError(t, err)
	events := make([]Event, 0, 256)
	at := 0
	allocs := testing.AllocsPerRun(600, func() {
		if at+256 > len(k.samples) {
			at = 0
		}
		events = a.Push(k.samples[at:at+256], events[:0])
		at += 256
	})
	require.Zero(t, allocs)
}

// BenchmarkNew opens an analyser. Budget: 100 ms, so that a command does not wait.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(48000); err != nil {
			b.Fatal(err)
		}
	}
}

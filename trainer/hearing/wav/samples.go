package wav

import (
	"encoding/binary"
	"math"
)

// exponents counts samples of four bytes by what they would be as float.
type exponents struct{ plausible, nonzero int }

func (e *exponents) count(order binary.ByteOrder, data []byte) {
	for i := 0; i+4 <= len(data); i += 4 {
		v := order.Uint32(data[i:])
		if v == 0 || v == 1<<31 {
			continue
		}
		e.nonzero++
		if x := math.Abs(float64(math.Float32frombits(v))); x > 1e-9 && x < 4 {
			e.plausible++
		}
	}
}

// mislabelled turns a 32-bit whole-number layout to float, or back, where the
// samples can only be the other kind. As float, almost every sample of a
// recording lies between 1e-9 and 4 in size; whole numbers read as float are
// spread over all exponents, so 99 samples in 100 decide it.
func (e *exponents) mislabelled(f *layout, warn func(string, ...any)) {
	switch {
	case e.nonzero < 32:
	case f.tag == tagPCM && f.bits == 32 && e.plausible*100 >= e.nonzero*99:
		f.tag = tagFloat
		warn("the header says whole numbers but the samples are float; read as float")
	case f.tag == tagFloat && e.plausible*100 < e.nonzero*60:
		f.tag = tagPCM
		warn("the header says float but the samples are whole numbers; read as whole numbers")
	}
}

// levels sums up how loud each channel is, and their mean, and counts the samples that
// are not finite.
type levels struct {
	power [maxChannels]float64
	mixed float64
	bad   int
}

func (l *levels) add(f *layout, data []byte) {
	decode := f.decoder()
	for len(data) > 0 {
		sum := 0.0
		for c := range f.channels {
			x := decode(data[c*f.container:])
			if math.IsNaN(x) || math.IsInf(x, 0) {
				l.bad++
			}
			x = bounded(x)
			l.power[c] += x * x
			sum += x
		}
		sum /= float64(f.channels)
		l.mixed += sum * sum
		data = data[f.frame():]
	}
}

// cancelled returns the loudest channel where the channels cancel each other (one wire of
// a cable swapped), else −1. Independent channels mix to 1/n² of the loudest at the
// least; less is a cancellation.
func (l *levels) cancelled(channels int) int {
	loudest := 0
	for c := range channels {
		if l.power[c] > l.power[loudest] {
			loudest = c
		}
	}
	if n := float64(channels); channels > 1 && l.mixed < 0.5*l.power[loudest]/(n*n) {
		return loudest
	}
	return -1
}

// bounded is a sample within what a recording can hold, 0 for one that is no number.
func bounded(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return math.Max(-16, math.Min(16, x))
}

// mix decodes frames into one channel: one of them, or for −1 the mean of all.
func (f *layout) mix(out []float32, data []byte, only int) {
	decode := f.decoder()
	for i := range out {
		frame := data[i*f.frame():]
		if only >= 0 {
			out[i] = float32(bounded(decode(frame[only*f.container:])))
			continue
		}
		sum := 0.0
		for c := range f.channels {
			sum += bounded(decode(frame[c*f.container:]))
		}
		out[i] = float32(sum / float64(f.channels))
	}
}

// decoder returns the function that reads one sample at the start of a slice.
func (f *layout) decoder() func([]byte) float64 {
	o := f.order
	if f.tag == tagFloat {
		if f.container == 8 {
			return func(b []byte) float64 { return math.Float64frombits(o.Uint64(b)) }
		}
		return func(b []byte) float64 { return float64(math.Float32frombits(o.Uint32(b))) }
	}
	switch f.container {
	case 1: // whole numbers of one byte have no sign
		return func(b []byte) float64 { return (float64(b[0]) - 128) / 128 }
	case 2:
		return func(b []byte) float64 { return float64(int16(o.Uint16(b))) / (1 << 15) }
	case 3:
		return func(b []byte) float64 {
			lo, hi := b[0], b[2]
			if o == binary.BigEndian {
				lo, hi = hi, lo
			}
			return float64(int32(uint32(lo)<<8|uint32(b[1])<<16|uint32(hi)<<24)) / (1 << 31)
		}
	}
	return func(b []byte) float64 { return float64(int32(o.Uint32(b))) / (1 << 31) }
}

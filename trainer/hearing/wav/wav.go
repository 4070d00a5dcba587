// Package wav reads recordings in the RIFF/WAVE format into one channel of
// samples. It reads what can be read of a damaged or mislabelled file and says
// what was wrong, or gives an error that says what would do.
//
// It knows bytes and samples only: no notes, no tempo, no devices.
//
// The layout follows Microsoft's "Multiple channel audio data and WAVE files"
// (WAVEFORMATEXTENSIBLE) and EBU Tech 3306 (RF64), both from memory.
package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// The sampling rates that are read, in Hz.
const (
	MinRate = 8000
	MaxRate = 192000
)

// maxBytes bounds the memory one file may take: over an hour of stereo at
// 48 kHz and 24 bit.
const maxBytes = 1 << 30

// maxChannels is the most channels a file may hold; eight is a 7.1 recording.
const maxChannels = 8

// Recording is a whole recording mixed down to one channel.
type Recording struct {
	Rate     int       // samples a second, MinRate to MaxRate
	Channels int       // channels in the file, before the mix
	Bits     int       // bits of a sample in the file
	Float    bool      // whether the file's samples are floating point
	Samples  []float32 // full scale is −1 to 1
	Warnings []string  // what was wrong with the file and how it was read all the same
}

// Seconds returns the length of the recording.
func (r *Recording) Seconds() float64 { return float64(len(r.Samples)) / float64(r.Rate) }

// Read reads a WAVE file from its first byte. The content decides, whatever the
// file is called. An error says what was found and what would do; damage that
// leaves samples to read is told in Warnings.
func Read(r io.Reader) (*Recording, error) {
	head := make([]byte, 12)
	n, err := io.ReadFull(r, head)
	if err == nil || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		if _, err := container(head[:n]); err != nil {
			return nil, err // before the rest is read
		}
	}
	b, err := io.ReadAll(io.MultiReader(bytes.NewReader(head[:n]), io.LimitReader(r, maxBytes+1)))
	if err != nil {
		return nil, fmt.Errorf("reading the recording: %w", err)
	}
	if len(b) > maxBytes {
		return nil, errors.New("the recording is over 1 GiB; cut it into shorter takes")
	}
	return parse(b)
}

// layout is what the fmt chunk says.
type layout struct {
	tag       uint16
	channels  int
	rate      int
	bits      int
	container int // bytes of one sample of one channel
	order     binary.ByteOrder
}

const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

func parse(b []byte) (*Recording, error) {
	order, err := container(b)
	if err != nil {
		return nil, err
	}
	rec := &Recording{}
	warn := func(format string, a ...any) { rec.Warnings = append(rec.Warnings, fmt.Sprintf(format, a...)) }
	var form *layout
	var data []byte
	found := false
	missing := 0
	for at := 12; at+8 <= len(b) && !(found && form != nil); {
		id, size := string(b[at:at+4]), uint64(order.Uint32(b[at+4:]))
		body := b[at+8:]
		whole := size <= uint64(len(body))
		switch id {
		case "fmt ":
			if !whole {
				return nil, fmt.Errorf("the file ends inside its format chunk at byte %d; record or export it again", len(b))
			}
			if form, err = format(body[:size], order, warn); err != nil {
				return nil, err
			}
		case "data":
			found = true
			open := size == 0 && len(body) > 0 && !chunkID(body) || size == math.MaxUint32
			switch {
			case open:
				data = body
				warn("the header does not say how long the recording is; read to the end of the file")
			case !whole:
				data = body
				missing = int(size) - len(body)
			default:
				data = body[:size]
			}
		}
		if !whole {
			break
		}
		at += 8 + int(size) + int(size&1)
	}
	if form == nil {
		return nil, errors.New("the file has no format chunk that says its sampling rate; record or export it again as WAV")
	}
	if !found {
		return nil, errors.New("the file holds a WAV header but no samples; record or export it again")
	}
	frame := form.container * form.channels
	if missing > 0 {
		warn("the file is cut short: %.2f of %.2f seconds are there", seconds(len(data), form), seconds(len(data)+missing, form))
	}
	if len(data) < frame {
		return nil, errors.New("the recording is empty: it holds no sample")
	}
	if n := len(data) % frame; n != 0 {
		data = data[:len(data)-n]
		if missing == 0 {
			warn("the last %d bytes are not a whole sample; left out", n)
		}
	}
	mislabelled(form, data, warn)
	rec.Rate, rec.Channels, rec.Bits, rec.Float = form.rate, form.channels, form.bits, form.tag == tagFloat
	var bad int
	rec.Samples, bad = mix(form, data)
	if bad > 0 {
		warn("%d samples are not numbers; taken as silence", bad)
	}
	return rec, nil
}

func seconds(bytes int, f *layout) float64 {
	return float64(bytes/(f.container*f.channels)) / float64(f.rate)
}

// container checks the first twelve bytes and names what else the file may be.
func container(b []byte) (binary.ByteOrder, error) {
	kinds := []struct{ magic, name string }{
		{"FORM", "an AIFF recording"}, {"fLaC", "a FLAC recording"}, {"OggS", "an Ogg recording"},
		{"ID3", "an MP3 recording"}, {"\xff\xfb", "an MP3 recording"}, {"\xff\xf3", "an MP3 recording"},
		{"MThd", "a Standard MIDI File"}, {".snd", "an AU recording"}, {"caff", "a Core Audio recording"},
		{"PK\x03\x04", "a ZIP archive"}, {"\x1aE\xdf\xa3", "a Matroska file"}, {"wvpk", "a WavPack recording"},
	}
	if len(b) == 0 {
		return nil, errors.New("the file is empty; a WAV recording would do")
	}
	for _, k := range kinds {
		if len(b) >= len(k.magic) && string(b[:len(k.magic)]) == k.magic {
			return nil, fmt.Errorf("the file is %s, not WAV; save it as WAV (PCM)", k.name)
		}
	}
	if len(b) >= 8 && string(b[4:8]) == "ftyp" {
		return nil, errors.New("the file is an MP4 recording, not WAV; save it as WAV (PCM)")
	}
	if len(b) < 12 {
		return nil, fmt.Errorf("the file ends after %d bytes, inside the WAV header; record or export it again", len(b))
	}
	magic, kind := string(b[:4]), string(b[8:12])
	switch {
	case kind != "WAVE":
	case magic == "RIFF" || magic == "RF64" || magic == "BW64":
		return binary.LittleEndian, nil
	case magic == "RIFX":
		return binary.BigEndian, nil
	}
	return nil, fmt.Errorf("the file begins with %q, not with a WAV header; save it as WAV (PCM)", b[:4])
}

// chunkID tells whether a chunk that usually follows the samples begins here.
func chunkID(b []byte) bool {
	if len(b) < 8 {
		return false
	}
	switch string(b[:4]) {
	case "LIST", "fact", "cue ", "smpl", "bext", "id3 ", "PEAK", "fmt ", "data", "junk", "JUNK":
		return true
	}
	return false
}

// format reads the fmt chunk.
func format(b []byte, order binary.ByteOrder, warn func(string, ...any)) (*layout, error) {
	if len(b) < 16 {
		return nil, fmt.Errorf("the format chunk holds %d bytes and needs 16; record or export the file again", len(b))
	}
	f := &layout{
		tag:      order.Uint16(b),
		channels: int(order.Uint16(b[2:])),
		rate:     int(order.Uint32(b[4:])),
		bits:     int(order.Uint16(b[14:])),
		order:    order,
	}
	align := int(order.Uint16(b[12:]))
	if f.tag == tagExtensible {
		if len(b) < 26 {
			return nil, errors.New("the extensible format chunk is cut short; record or export the file again")
		}
		f.tag = order.Uint16(b[24:])
	}
	if f.tag != tagPCM && f.tag != tagFloat {
		return nil, fmt.Errorf("the samples are packed in format %d (%s), and PCM or float would do; save it as WAV (PCM)", f.tag, tagName(f.tag))
	}
	if f.channels < 1 || f.channels > maxChannels {
		return nil, fmt.Errorf("the header says %d channels; 1 to %d would do", f.channels, maxChannels)
	}
	if f.rate < MinRate || f.rate > MaxRate {
		return nil, fmt.Errorf("the header says %d samples a second; %d to %d would do", f.rate, MinRate, MaxRate)
	}
	if f.bits < 1 || f.bits > 64 {
		return nil, fmt.Errorf("the header says %d bits a sample; 8, 16, 24, 32 or float would do", f.bits)
	}
	f.container = (f.bits + 7) / 8
	if c := align / f.channels; align%f.channels == 0 && c > f.container && c <= 8 && (c <= 4 || f.tag == tagFloat) {
		f.container = c // padded samples, such as 24 bits in four bytes
	} else if align != f.container*f.channels {
		warn("the header says %d bytes a frame where %d channels of %d bits take %d; read as the bits say",
			align, f.channels, f.bits, f.container*f.channels)
	}
	if f.tag == tagFloat && f.container != 4 && f.container != 8 {
		if f.container > 4 {
			return nil, fmt.Errorf("the header says float samples of %d bits; 32 or 64 would do", f.bits)
		}
		warn("the header says float samples of %d bits; read as whole numbers", f.bits)
		f.tag = tagPCM
	}
	if f.tag == tagPCM && f.container > 4 {
		return nil, fmt.Errorf("the header says whole-number samples of %d bits; 8, 16, 24 or 32 would do", f.bits)
	}
	return f, nil
}

func tagName(tag uint16) string {
	switch tag {
	case 2, 17:
		return "ADPCM"
	case 6:
		return "A-law"
	case 7:
		return "µ-law"
	case 85:
		return "MP3"
	}
	return "not one this program knows"
}

// mislabelled turns a 32-bit whole-number layout to float, or back, where the
// samples can only be the other kind. As float, almost every sample of a
// recording lies between 1e-9 and 4 in size; whole numbers read as float are
// spread over all exponents, so 99 samples in 100 decide it.
func mislabelled(f *layout, data []byte, warn func(string, ...any)) {
	if f.container != 4 {
		return
	}
	plausible, nonzero := 0, 0
	for i := 0; i+4 <= len(data); i += 4 {
		v := f.order.Uint32(data[i:])
		if v == 0 || v == 1<<31 {
			continue
		}
		nonzero++
		if x := math.Abs(float64(math.Float32frombits(v))); x > 1e-9 && x < 4 {
			plausible++
		}
	}
	switch {
	case nonzero < 32:
	case f.tag == tagPCM && f.bits == 32 && plausible*100 >= nonzero*99:
		f.tag = tagFloat
		warn("the header says whole numbers but the samples are float; read as float")
	case f.tag == tagFloat && plausible*100 < nonzero*60:
		f.tag = tagPCM
		warn("the header says float but the samples are whole numbers; read as whole numbers")
	}
}

// mix decodes the frames into one channel: the mean of all, or the loudest
// where the channels cancel each other (one wire of a cable swapped). It
// counts samples that are not finite.
func mix(f *layout, data []byte) (out []float32, bad int) {
	frames := len(data) / (f.container * f.channels)
	out = make([]float32, frames)
	decode := f.decoder()
	var power [maxChannels]float64
	var mixed float64
	at := 0
	for i := range out {
		sum := 0.0
		for c := range f.channels {
			x := decode(data[at:])
			at += f.container
			if math.IsNaN(x) || math.IsInf(x, 0) {
				x = 0
				bad++
			}
			x = math.Max(-16, math.Min(16, x))
			power[c] += x * x
			sum += x
		}
		sum /= float64(f.channels)
		mixed += sum * sum
		out[i] = float32(sum)
	}
	loudest := 0
	for c := range f.channels {
		if power[c] > power[loudest] {
			loudest = c
		}
	}
	// Independent channels mix to 1/n² of the loudest at the least; less is a cancellation.
	n := float64(f.channels)
	if f.channels > 1 && mixed < 0.5*power[loudest]/(n*n) {
		for i := range out {
			x := decode(data[(i*f.channels+loudest)*f.container:])
			if math.IsNaN(x) || math.IsInf(x, 0) {
				x = 0
			}
			out[i] = float32(math.Max(-16, math.Min(16, x)))
		}
	}
	return out, bad
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

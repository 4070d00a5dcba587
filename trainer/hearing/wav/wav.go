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

// MaxBytes is the longest file that is read: three hours of stereo at 96 kHz and 24 bit.
const MaxBytes = 6 << 30

// maxChannels is the most channels a file may hold; eight is a 7.1 recording.
const maxChannels = 8

// Recording is a recording that is read piece by piece, mixed down to one channel.
type Recording struct {
	Rate     int      // samples a second, MinRate to MaxRate
	Channels int      // channels in the file, before the mix
	Bits     int      // bits of a sample in the file
	Float    bool     // whether the file's samples are floating point
	Frames   int      // samples of the one channel
	Warnings []string // what was wrong with the file and how it is read all the same

	from  io.ReadSeeker
	begin int64 // where the samples begin in the file
	form  *layout
	// only is the channel that stands for all where they cancel each other, −1 for their mean.
	only int
	left int
	raw  []byte
}

// Seconds returns the length of the recording.
func (r *Recording) Seconds() float64 { return float64(r.Frames) / float64(r.Rate) }

// Open reads through a WAVE file from its first byte, and gets ready to read its samples.
// The content decides, whatever the file is called. An error says what was found and what
// would do; damage that leaves samples to read is told in Warnings.
func Open(from io.ReadSeeker) (*Recording, error) {
	length, err := from.Seek(0, io.SeekEnd)
	if err == nil {
		_, err = from.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, fmt.Errorf("reading the recording: %w", err)
	}
	head := make([]byte, 12)
	n, err := io.ReadFull(from, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading the recording: %w", err)
	}
	order, err := container(head[:n])
	if err != nil {
		return nil, err
	}
	if length > MaxBytes {
		return nil, fmt.Errorf("the recording is over %d GiB; cut it into shorter takes", MaxBytes>>30)
	}
	r := &Recording{from: from, only: -1, raw: make([]byte, pieceBytes)}
	size, err := r.chunks(order, length)
	if err == nil {
		err = r.survey(size)
	}
	if err == nil {
		err = r.rewind()
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

// Judge says what a file is by its first twelve bytes where it is no WAVE file.
func Judge(begins []byte) error {
	_, err := container(begins[:min(len(begins), 12)])
	return err
}

// pieceBytes is how much of a file is decoded at a time.
const pieceBytes = 48 << 10

func (r *Recording) warn(format string, a ...any) {
	r.Warnings = append(r.Warnings, fmt.Sprintf(format, a...))
}

func (r *Recording) rewind() error {
	r.left = r.Frames
	_, err := r.from.Seek(r.begin, io.SeekStart)
	return err
}

// piece reads the next frames as they lie in the file, none at their end.
func (r *Recording) piece(most int) (raw []byte, err error) {
	frame := r.form.frame()
	n := min(most, r.left, len(r.raw)/frame)
	r.left -= n
	raw = r.raw[:n*frame]
	if _, err = io.ReadFull(r.from, raw); err != nil {
		return nil, fmt.Errorf("reading the recording: %w", err)
	}
	return raw, nil
}

// Next reads the next samples, full scale −1 to 1, as many as there is room for or are
// left; where none are, the error is io.EOF.
func (r *Recording) Next(samples []float32) (n int, err error) {
	if r.left == 0 && len(samples) > 0 {
		return 0, io.EOF
	}
	for n < len(samples) && r.left > 0 {
		raw, err := r.piece(len(samples) - n)
		if err != nil {
			return n, err
		}
		more := len(raw) / r.form.frame()
		r.form.mix(samples[n:n+more], raw, r.only)
		n += more
	}
	return n, nil
}

// Pieces returns a function that reads the next samples, some thousand, into the same room
// at each call; at the recording's end its error is io.EOF.
func (r *Recording) Pieces() func() ([]float32, error) {
	room := make([]float32, 4096)
	return func() ([]float32, error) {
		n, err := r.Next(room)
		return room[:n], err
	}
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

// frame is the bytes of one sample of every channel.
func (f *layout) frame() int { return f.container * f.channels }

// chunks finds the format and the samples, and returns how many bytes of samples there
// are.
func (r *Recording) chunks(order binary.ByteOrder, length int64) (size int64, err error) {
	found := false
	var missing int64
	head := make([]byte, 8)
	for at := int64(len("RIFFsizeWAVE")); at+8 <= length && !(found && r.form != nil); {
		if _, err := r.from.Seek(at, io.SeekStart); err != nil {
			return 0, err
		}
		if _, err := io.ReadFull(r.from, head); err != nil {
			return 0, fmt.Errorf("reading the recording: %w", err)
		}
		says, there := int64(order.Uint32(head[4:])), length-at-8
		switch string(head[:4]) {
		case "fmt ":
			if says > there {
				return 0, fmt.Errorf("the file ends inside its format chunk at byte %d; record or export it again", length)
			}
			body := make([]byte, min(says, 64)) // all that is known of
			if _, err := io.ReadFull(r.from, body); err != nil {
				return 0, fmt.Errorf("reading the recording: %w", err)
			}
			if r.form, err = format(body, order, r.warn); err != nil {
				return 0, err
			}
		case "data":
			found = true
			r.begin = at + 8
			next := make([]byte, min(there, 8))
			if _, err := io.ReadFull(r.from, next); err != nil {
				return 0, fmt.Errorf("reading the recording: %w", err)
			}
			switch {
			case says == 0 && there > 0 && !chunkID(next), says == math.MaxUint32:
				size = there
				r.warn("the header does not say how long the recording is; read to the end of the file")
			case says > there:
				size, missing = there, says-there
			default:
				size = says
			}
		}
		if says > there {
			break
		}
		at += 8 + says + says&1
	}
	if r.form == nil {
		return 0, errors.New("the file has no format chunk that says its sampling rate; record or export it again as WAV")
	}
	if !found {
		return 0, errors.New("the file holds a WAV header but no samples; record or export it again")
	}
	frame := int64(r.form.frame())
	if missing > 0 {
		r.warn("the file is cut short: %.2f of %.2f seconds are there", r.form.seconds(size), r.form.seconds(size+missing))
	}
	if size < frame {
		return 0, errors.New("the recording is empty: it holds no sample")
	}
	if n := size % frame; n != 0 && missing == 0 {
		r.warn("the last %d bytes are not a whole sample; left out", n)
	}
	return size / frame * frame, nil
}

func (f *layout) seconds(bytes int64) float64 {
	return float64(bytes/int64(f.frame())) / float64(f.rate)
}

// survey reads all the samples once for what only all of them tell.
func (r *Recording) survey(size int64) error {
	f := r.form
	r.Frames = int(size / int64(f.frame()))
	if f.container == 4 {
		var seen exponents
		if err := r.each(func(raw []byte) { seen.count(f.order, raw) }); err != nil {
			return err
		}
		seen.mislabelled(f, r.warn)
	}
	r.Rate, r.Channels, r.Bits, r.Float = f.rate, f.channels, f.bits, f.tag == tagFloat
	if f.channels == 1 && f.tag != tagFloat {
		return nil
	}
	levels := levels{}
	if err := r.each(func(raw []byte) { levels.add(f, raw) }); err != nil {
		return err
	}
	if levels.bad > 0 {
		r.warn("%d samples are not numbers; taken as silence", levels.bad)
	}
	r.only = levels.cancelled(f.channels)
	return nil
}

// each reads all pieces from the first.
func (r *Recording) each(do func(raw []byte)) error {
	if err := r.rewind(); err != nil {
		return err
	}
	for r.left > 0 {
		raw, err := r.piece(r.left)
		if err != nil {
			return err
		}
		do(raw)
	}
	return nil
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

package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-audio/audio"
	reference "github.com/go-audio/wav"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sine is a quarter-scale tone of 220 Hz.
func sine(rate, n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = 0.25 * math.Sin(2*math.Pi*220*float64(i)/float64(rate))
	}
	return s
}

// header writes a WAVE file by hand, so that every field can be wrong.
type header struct {
	magic              string
	tag                uint16
	channels, bits     int
	rate, align        int
	extensible         bool
	size               uint32
	setSize            bool
	before, after, raw []byte
}

func (h header) file() []byte {
	var fm bytes.Buffer
	w := func(v any) { _ = binary.Write(&fm, binary.LittleEndian, v) }
	tag := h.tag
	if h.extensible {
		tag = tagExtensible
	}
	align := h.align
	if align == 0 {
		align = h.channels * h.bits / 8
	}
	w(tag)
	w(uint16(h.channels))
	w(uint32(h.rate))
	w(uint32(h.rate * align))
	w(uint16(align))
	w(uint16(h.bits))
	if h.extensible {
		w(uint16(22))
		w(uint16(h.bits))
		w(uint32(3))
		w(h.tag)
		fm.WriteString("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71")
	}
	size := uint32(len(h.raw))
	if h.setSize {
		size = h.size
	}
	magic := h.magic
	if magic == "" {
		magic = "RIFF"
	}
	var b bytes.Buffer
	b.WriteString(magic)
	_ = binary.Write(&b, binary.LittleEndian, uint32(4+8+fm.Len()+8+len(h.raw)))
	b.WriteString("WAVE")
	b.Write(h.before)
	b.WriteString("fmt ")
	_ = binary.Write(&b, binary.LittleEndian, uint32(fm.Len()))
	b.Write(fm.Bytes())
	b.WriteString("data")
	_ = binary.Write(&b, binary.LittleEndian, size)
	b.Write(h.raw)
	b.Write(h.after)
	return b.Bytes()
}

// whole is a recording with all its samples.
type whole struct {
	*Recording
	Samples []float32
}

func read(t *testing.T, file []byte) (whole, error) {
	t.Helper()
	rec, err := Open(bytes.NewReader(file))
	if err != nil {
		return whole{}, err
	}
	w := whole{rec, make([]float32, rec.Frames)}
	n, err := rec.Next(w.Samples)
	require.NoError(t, err)
	require.Equal(t, rec.Frames, n)
	_, err = rec.Next(make([]float32, 1))
	require.ErrorIs(t, err, io.EOF)
	return w, nil
}

func encode(s []float64, bits int, float bool, channels int) []byte {
	var b bytes.Buffer
	for _, x := range s {
		for range channels {
			switch {
			case float && bits == 64:
				_ = binary.Write(&b, binary.LittleEndian, x)
			case float:
				_ = binary.Write(&b, binary.LittleEndian, float32(x))
			case bits == 8:
				b.WriteByte(byte(128 + math.Round(x*127)))
			case bits == 16:
				_ = binary.Write(&b, binary.LittleEndian, int16(math.Round(x*(1<<15))))
			case bits == 24:
				v := int32(math.Round(x * (1 << 23)))
				b.Write([]byte{byte(v), byte(v >> 8), byte(v >> 16)})
			default:
				_ = binary.Write(&b, binary.LittleEndian, int32(math.Round(x*(1<<31))))
			}
		}
	}
	return b.Bytes()
}

func TestEveryRateWidthAndChannelCount(t *testing.T) {
	kinds := []struct {
		bits  int
		float bool
	}{{8, false}, {16, false}, {24, false}, {32, false}, {32, true}, {64, true}}
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000} {
		want := sine(rate, rate/4)
		for _, k := range kinds {
			for channels := 1; channels <= 2; channels++ {
				for _, extensible := range []bool{false, true} {
					tag := uint16(tagPCM)
					if k.float {
						tag = tagFloat
					}
					h := header{tag: tag, channels: channels, bits: k.bits, rate: rate, extensible: extensible,
						raw: encode(want, k.bits, k.float, channels)}
					rec, err := read(t, h.file())
					require.NoError(t, err)
					assert.Empty(t, rec.Warnings)
					assert.Equal(t, rate, rec.Rate)
					assert.Equal(t, channels, rec.Channels)
					assert.Equal(t, k.float, rec.Float)
					same(t, want, rec.Samples, 1.2/math.Exp2(math.Min(float64(k.bits), 20)-1))
				}
			}
		}
	}
}

func same(t *testing.T, want []float64, got []float32, within float64) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		if math.Abs(want[i]-float64(got[i])) > within {
			t.Fatalf("sample %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// What another library writes is read back. Source: github.com/go-audio/wav
// v1.1.0 (its encoder; its decoder reads no float samples).
func TestAgainstAnotherWriter(t *testing.T) {
	want := sine(44100, 4410)
	for _, bits := range []int{16, 24, 32} {
		name := filepath.Join(t.TempDir(), "a.wav")
		f, err := os.Create(name)
		require.NoError(t, err)
		e := reference.NewEncoder(f, 44100, bits, 2, 1)
		buf := &audio.IntBuffer{Format: &audio.Format{NumChannels: 2, SampleRate: 44100}, SourceBitDepth: bits}
		for _, x := range want {
			v := int(math.Round(x * math.Exp2(float64(bits-1))))
			buf.Data = append(buf.Data, v, v)
		}
		require.NoError(t, e.Write(buf))
		require.NoError(t, e.Close())
		require.NoError(t, f.Close())
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		rec, err := read(t, b)
		require.NoError(t, err)
		assert.Empty(t, rec.Warnings)
		same(t, want, rec.Samples, 2/math.Exp2(math.Min(float64(bits), 20)-1))
	}
}

func TestDamagedFilesAreReadWithAWarning(t *testing.T) {
	s := sine(22050, 2205)
	good := header{tag: tagPCM, channels: 1, bits: 16, rate: 22050, raw: encode(s, 16, false, 1)}
	cut := good.file()
	cut = cut[:len(cut)-2205]
	streamed, zero, odd, list, aligned := good, good, good, good, good
	streamed.setSize, streamed.size = true, math.MaxUint32
	zero.setSize = true
	odd.raw = append(bytes.Clone(good.raw), 7)
	list.before = []byte("LIST\x03\x00\x00\x00abc\x00")
	list.after = []byte("LIST\x04\x00\x00\x00abcd")
	aligned.align = 5
	asInt := header{tag: tagPCM, channels: 1, bits: 32, rate: 22050, raw: encode(s, 32, true, 1)}
	asFloat := header{tag: tagFloat, channels: 1, bits: 32, rate: 22050, raw: encode(s, 32, false, 1)}
	float16 := header{tag: tagFloat, channels: 1, bits: 16, rate: 22050, raw: encode(s, 16, false, 1)}
	for _, c := range []struct {
		name string
		file []byte
		n    int
		warn string
	}{
		{"cut short", cut, 2205 - 1103, "cut short"},
		{"length unknown", streamed.file(), 2205, "does not say how long"},
		{"length zero", zero.file(), 2205, "does not say how long"},
		{"half a sample", odd.file(), 2205, "not a whole sample"},
		{"other chunks", list.file(), 2205, ""},
		{"wrong frame size", aligned.file(), 2205, "bytes a frame"},
		{"float called PCM", asInt.file(), 2205, "read as float"},
		{"PCM called float", asFloat.file(), 2205, "read as whole numbers"},
		{"float of 16 bits", float16.file(), 2205, "read as whole numbers"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rec, err := read(t, c.file)
			require.NoError(t, err)
			same(t, s[:c.n], rec.Samples, 1e-4)
			if c.warn == "" {
				assert.Empty(t, rec.Warnings)
			} else {
				assert.Contains(t, strings.Join(rec.Warnings, "\n"), c.warn)
			}
		})
	}
}

func TestPaddedSamples(t *testing.T) {
	s := sine(48000, 480)
	h := header{tag: tagPCM, channels: 1, bits: 24, align: 4, rate: 48000, extensible: true, raw: encode(s, 32, false, 1)}
	rec, err := read(t, h.file())
	require.NoError(t, err)
	assert.Empty(t, rec.Warnings)
	same(t, s, rec.Samples, 1e-6)
}

func TestChannelsThatCancel(t *testing.T) {
	s := sine(48000, 4800)
	both := make([]float64, 0, 2*len(s))
	for _, x := range s {
		both = append(both, x, -x)
	}
	h := header{tag: tagFloat, channels: 2, bits: 32, rate: 48000, raw: encode(both, 32, true, 1)}
	rec, err := read(t, h.file())
	require.NoError(t, err)
	same(t, s, rec.Samples, 1e-6)
}

func TestSamplesThatAreNotNumbers(t *testing.T) {
	h := header{tag: tagFloat, channels: 1, bits: 32, rate: 48000, raw: encode([]float64{math.NaN(), .5, math.Inf(1)}, 32, true, 1)}
	rec, err := read(t, h.file())
	require.NoError(t, err)
	assert.Equal(t, []float32{0, .5, 0}, rec.Samples)
	assert.Contains(t, rec.Warnings[0], "2 samples are not numbers")
}

func TestErrorsSayWhatWouldDo(t *testing.T) {
	raw := make([]byte, 64)
	pcm := func(change func(*header)) []byte {
		h := header{tag: tagPCM, channels: 1, bits: 16, rate: 22050, raw: raw}
		change(&h)
		return h.file()
	}
	whole := pcm(func(*header) {})
	for _, c := range []struct {
		name string
		file []byte
		want string
	}{
		{"empty", nil, "empty"},
		{"MIDI", []byte("MThd\x00\x00\x00\x06"), "Standard MIDI File"},
		{"MP3", []byte("ID3\x04 and more of it"), "MP3"},
		{"Ogg", []byte("OggS and more of it"), "Ogg"},
		{"text", []byte("this is no recording"), "begins with"},
		{"header cut", whole[:10], "inside the WAV header"},
		{"format cut", whole[:30], "inside its format chunk"},
		{"no data", whole[:36], "no samples"},
		{"data of no bytes", whole[:44], "empty"},
		{"µ-law", pcm(func(h *header) { h.tag = 7 }), "µ-law"},
		{"slow", pcm(func(h *header) { h.rate = 4000 }), "4000 samples a second"},
		{"no channel", pcm(func(h *header) { h.channels = 0 }), "0 channels"},
		{"no bits", pcm(func(h *header) { h.bits = 0 }), "0 bits"},
		{"wide", pcm(func(h *header) { h.bits = 64 }), "64 bits"},
		{"MP4", []byte("\x00\x00\x00\x20ftypM4A and more of it"), "MP4"},
		{"ADPCM", pcm(func(h *header) { h.tag = 17 }), "ADPCM"},
		{"A-law", pcm(func(h *header) { h.tag = 6 }), "A-law"},
		{"MP3 within", pcm(func(h *header) { h.tag = 85 }), "(MP3)"},
		{"unknown", pcm(func(h *header) { h.tag = 4711 }), "4711 (not one this program knows)"},
		{"odd float", pcm(func(h *header) { h.tag, h.bits = tagFloat, 48 }), "float samples of 48 bits"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := read(t, c.file)
			require.ErrorContains(t, err, c.want)
		})
	}
}

// broken is a file whose disk fails from the given call on.
type broken struct {
	*bytes.Reader
	calls, from int
}

var errDisk = errors.New("the disk fails")

func (b *broken) fails() bool { b.calls++; return b.calls > b.from }

func (b *broken) Read(p []byte) (int, error) {
	if b.fails() {
		return 0, errDisk
	}
	return b.Reader.Read(p)
}

func (b *broken) Seek(at int64, from int) (int64, error) {
	if b.fails() {
		return 0, errDisk
	}
	return b.Reader.Seek(at, from)
}

// Wherever the disk fails, it is told, and nothing passes for a recording.
func TestADiskThatFails(t *testing.T) {
	file := header{tag: tagPCM, channels: 2, bits: 16, rate: 22050, before: []byte("LIST\x02\x00\x00\x00ab"), raw: encode(sine(22050, 500), 16, false, 2)}.file()
	for from := range 200 {
		b := &broken{bytes.NewReader(file), 0, from}
		rec, err := Open(b)
		if err == nil {
			_, err = rec.Next(make([]float32, rec.Frames))
		}
		if err == nil {
			assert.Greater(t, from, 5)
			return
		}
		require.ErrorIs(t, err, errDisk, "call %d", from)
	}
	t.Fatal("it was never read")
}

// In pieces a recording has the samples and the length that it has as a whole.
func TestPieces(t *testing.T) {
	file := header{tag: tagPCM, channels: 1, bits: 16, rate: 8000, raw: encode(sine(8000, 10_000), 16, false, 1)}.file()
	require.NoError(t, Judge(file))
	require.ErrorContains(t, Judge([]byte("OggS and more of it")), "Ogg")
	all, err := read(t, file)
	require.NoError(t, err)
	assert.Equal(t, 1.25, all.Seconds())
	rec, err := Open(bytes.NewReader(file))
	require.NoError(t, err)
	var got []float32
	next := rec.Pieces()
	for {
		piece, err := next()
		if err != nil {
			require.ErrorIs(t, err, io.EOF)
			break
		}
		got = append(got, piece...)
	}
	assert.Equal(t, all.Samples, got)
}

func FuzzRead(f *testing.F) {
	s := sine(8000, 64)
	f.Add(header{tag: tagPCM, channels: 1, bits: 16, rate: 8000, raw: encode(s, 16, false, 1)}.file())
	f.Add(header{tag: tagFloat, channels: 2, bits: 32, rate: 8000, extensible: true, raw: encode(s, 32, true, 2)}.file())
	f.Add(header{tag: tagPCM, channels: 2, bits: 24, rate: 96000, magic: "RIFX", raw: encode(s, 24, false, 2)}.file())
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, err := read(t, b)
		if err != nil {
			return
		}
		if rec.Rate < MinRate || rec.Rate > MaxRate || len(rec.Samples) == 0 || len(rec.Samples) > len(b) {
			t.Fatalf("read %d samples at %d Hz from %d bytes", len(rec.Samples), rec.Rate, len(b))
		}
		for _, x := range rec.Samples {
			if math.IsNaN(float64(x)) || math.Abs(float64(x)) > 16 {
				t.Fatalf("sample %v", x)
			}
		}
	})
}

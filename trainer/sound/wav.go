package sound

import (
	"encoding/binary"
	"io"
	"math"

	"footfall/fretboard/playing"
)

// FileRate is the samples a second of a written audio file.
const FileRate = 48000

// tailSeconds is the most that notes ring on after the last bar of a file.
const tailSeconds = 3

// Export is how one pass of a score is written to a file.
type Export struct {
	// CountIn is the bars counted before bar 1, 0 to 2.
	CountIn int
	Time    playing.Timekeeping
	Mix     Mix
}

// Perform generates one pass of a score as fast as it can, from the count-in, or else
// bar 1 beat 1, at sample 0 until all has rung out, and hands it on in pieces that
// are only valid during the call.
func Perform(s *playing.Score, rate int, x Export, emit func([]float32) error) error {
	e, err := NewEngine(rate, s)
	if err != nil {
		return err
	}
	e.lead, e.soft = 0, 1
	e.next.mix, e.next.time, e.next.course = x.Mix, x.Time, Course{CountIn: x.CountIn, Passes: 1}
	if err := e.next.course.Check(len(s.Bars)); err != nil {
		return err
	}
	e.take()
	e.gains = e.want
	if err := e.Play(); err != nil {
		return err
	}
	buf := make([]float32, 4096)
	early := e.Delay() // the limiter's delay is cut off at the start
	last := int64(never)
	for {
		e.Render(buf)
		piece := buf[min(early, len(buf)):]
		early -= len(buf) - len(piece)
		if err := emit(piece); err != nil {
			return err
		}
		if !e.moves.running() && last == never {
			last = e.frames + tailSeconds*int64(rate)
		}
		if e.Quiet() && e.frames > e.end+int64(e.Delay()) || e.frames >= last {
			return nil
		}
	}
}

// WriteWAV writes one pass of a score as a RIFF wave file of one channel of
// 16-bit samples.
func WriteWAV(w io.WriteSeeker, s *playing.Score, x Export) error {
	const bytes = 2
	// Source: Multimedia Programming Interface and Data Specifications 1.0, Microsoft
	// and IBM, 1991.
	header := struct {
		RIFF       [4]byte
		Rest       uint32 // bytes behind it
		WAVE, Form [4]byte
		FormSize   uint32
		PCM        uint16
		Channels   uint16
		Rate       uint32
		PerSecond  uint32
		Frame      uint16
		Bits       uint16
		Data       [4]byte
		Size       uint32
	}{
		RIFF: [4]byte([]byte("RIFF")), WAVE: [4]byte([]byte("WAVE")), Form: [4]byte([]byte("fmt ")), FormSize: 16, PCM: 1, Channels: 1,
		Rate: FileRate, PerSecond: bytes * FileRate, Frame: bytes, Bits: 8 * bytes, Data: [4]byte([]byte("data")),
	}
	if err := binary.Write(w, binary.LittleEndian, header); err != nil {
		return err
	}
	var block []byte
	err := Perform(s, FileRate, x, func(piece []float32) error {
		block = block[:0]
		for _, x := range piece {
			block = binary.LittleEndian.AppendUint16(block, uint16(int16(math.Round(float64(x)*math.MaxInt16))))
		}
		header.Size += uint32(len(block))
		_, err := w.Write(block)
		return err
	})
	if err != nil {
		return err
	}
	header.Rest = header.Size + uint32(binary.Size(header)) - 8
	if _, err := w.Seek(0, io.SeekStart); err != nil {
		return err
	}
	return binary.Write(w, binary.LittleEndian, header)
}

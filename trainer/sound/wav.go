package sound

import (
	"io"
	"math"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// FileRate is the samples a second of a written audio file.
const FileRate = 48000

// tailSeconds is the most that notes ring on after the last bar of a file.
const tailSeconds = 3

// Perform generates one pass of a score as fast as it can, from bar 1 beat 1 at
// sample 0 until all has rung out, and hands it on in pieces that are only valid
// during the call.
func Perform(s *Score, rate int, m Mix, emit func([]float32) error) error {
	e, err := NewEngine(rate, s)
	if err != nil {
		return err
	}
	e.lead, e.soft = 0, 1
	e.next.mix, e.next.course = m, Course{Passes: 1}
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
func WriteWAV(w io.WriteSeeker, s *Score, m Mix) error {
	const bits = 16
	encoder := wav.NewEncoder(w, FileRate, bits, 1, 1)
	block := &audio.IntBuffer{Format: &audio.Format{NumChannels: 1, SampleRate: FileRate}, SourceBitDepth: bits}
	err := Perform(s, FileRate, m, func(piece []float32) error {
		block.Data = block.Data[:0]
		for _, x := range piece {
			block.Data = append(block.Data, int(math.Round(float64(x)*(1<<(bits-1)-1))))
		}
		return encoder.Write(block)
	})
	if err != nil {
		return err
	}
	return encoder.Close()
}

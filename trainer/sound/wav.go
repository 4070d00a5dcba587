package sound

import (
	"io"
	"math"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"

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
	const bits = 16
	encoder := wav.NewEncoder(w, FileRate, bits, 1, 1)
	block := &audio.IntBuffer{Format: &audio.Format{NumChannels: 1, SampleRate: FileRate}, SourceBitDepth: bits}
	err := Perform(s, FileRate, x, func(piece []float32) error {
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

package sound

import "math"

// Ceiling is the highest magnitude of any sample, −1 dBFS.
var Ceiling = float32(math.Pow(10, -1.0/20))

// limiter turns the sound down just before a peak that would pass Ceiling, so
// that no sample is cut. It looks ahead: what goes in comes out delay samples
// later. The gain for a sample is the mean of lowest needed gains, each of
// which already covers that sample, so it is never too high.
type limiter struct {
	delay int
	line  []float32 // the last delay+1 samples
	// needs and places hold the window's candidates for the lowest needed gain,
	// rising from first to last.
	needs       []float32
	places      []int64
	first, last int
	gains       []int64 // the last delay+1 gains, 1 = unit
	sum         int64
	held        float32
	recover     float32
	n           int64
	at          int
	calm        int // samples since one last passed Ceiling
}

const (
	lookAheadSeconds = 0.002
	recoverSeconds   = 0.1
	unit             = 1 << 24
)

func newLimiter(rate int) limiter {
	size := int(lookAheadSeconds*float64(rate)) + 1
	l := limiter{
		delay:   size - 1,
		line:    make([]float32, size),
		needs:   make([]float32, size+1),
		places:  make([]int64, size+1),
		gains:   make([]int64, size),
		sum:     int64(size) * unit,
		held:    1,
		recover: float32(1 / (recoverSeconds * float64(rate))),
	}
	for i := range l.gains {
		l.gains[i] = unit
	}
	return l
}

// process limits buf in place.
func (l *limiter) process(buf []float32) {
	size := len(l.line)
	ring := len(l.needs)
	loud := false
	for _, x := range buf {
		loud = loud || x > Ceiling || x < -Ceiling
	}
	if loud {
		l.calm = 0
	} else if l.calm += len(buf); l.calm >= size+len(buf) && l.held == 1 && l.sum == int64(size)*unit {
		l.pass(buf)
		return
	}
	for i, x := range buf {
		need := float32(1)
		if m := max(x, -x); m > Ceiling {
			need = Ceiling / m
		}
		for l.first != l.last {
			before := l.last - 1
			if before < 0 {
				before = ring - 1
			}
			if l.needs[before] < need {
				break
			}
			l.last = before
		}
		l.needs[l.last], l.places[l.last] = need, l.n
		if l.last++; l.last == ring {
			l.last = 0
		}
		if l.places[l.first] <= l.n-int64(size) {
			if l.first++; l.first == ring {
				l.first = 0
			}
		}
		l.n++

		l.held = min(l.needs[l.first], l.held+l.recover*(1-l.held))
		if l.held > 0.99999 && l.needs[l.first] == 1 {
			l.held = 1
		}
		gain := int64(l.held * unit)
		l.sum += gain - l.gains[l.at]
		l.gains[l.at] = gain
		l.line[l.at] = x
		if l.at++; l.at == size {
			l.at = 0
		}
		out := l.line[l.at]
		if l.sum != int64(size)*unit {
			out *= float32(float64(l.sum) / float64(int64(size)*unit))
			out = min(Ceiling, max(-Ceiling, out)) // for the last bit of the product only
		}
		buf[i] = out
	}
}

// pass only delays buf: all gains in sight are 1.
func (l *limiter) pass(buf []float32) {
	l.n += int64(len(buf))
	l.first, l.last = 0, 0
	at := l.at
	for i, x := range buf {
		l.line[at] = x
		if at++; at == len(l.line) {
			at = 0
		}
		buf[i] = l.line[at]
	}
	l.at = at
}

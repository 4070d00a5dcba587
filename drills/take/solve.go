package take

import (
	"math"
	"slices"
)

const (
	// huber is how far off, in seconds, an anchor counts in full in the first rounds; in
	// the last one that is farthest off counts nothing. More rounds change nothing.
	huber                    = 0.02
	farthest                 = 0.065
	huberRounds, tukeyRounds = 4, 5
	// tempoProof is how much more than chance a tempo must explain, in nats.
	tempoProof = 8
	// floor keeps a fit without any error from proving what is none: 1 ms.
	floor = 0.001
	// bendBeats is the standard deviation, in beats, of the stretch over which a slow
	// drift is taken: what wanders faster is the player's to hear of. One anchor says
	// so much more than the last bend, in seconds, at most.
	bendBeats = 8
	bendReach = 0.04
	// fewestForBend are the anchors that a drift is told from.
	fewestForBend = 24
)

// solve fits delay, swing and, if asked for and the anchors bear it, tempo. Where a
// tempo does not make the fit better than chance would (Schwarz, "Estimating the
// Dimension of a Model", 1978) the one asked for stays.
func (m *model) solve(anchors []anchor, tempo bool) {
	offs := 0.0
	for _, a := range anchors {
		offs += a.off
	}
	swing := offs >= fewestOff && offs < float64(len(anchors))
	defer m.bend(anchors)
	still := *m
	loss := still.least(anchors, false, swing)
	if tempo {
		moving := still
		n := float64(len(anchors))
		if n*math.Log(loss/moving.least(anchors, true, swing)) > math.Log(n)+tempoProof {
			*m = moving
			return
		}
	}
	*m = still
}

// least fits by least squares, first with Huber's weights and then with Tukey's
// (Beaton and Tukey, "The Fitting of Power Series", 1974), so that a single late note
// moves nothing, and returns the mean loss.
func (m *model) least(anchors []anchor, tempo, swing bool) (loss float64) {
	for i := range anchors {
		anchors[i].weight = 1
	}
	left := make([]float64, len(anchors))
	start := anchors[0].x // for the numbers' sake
	m.delay, m.stretch, m.swing = 0, 1, 0
	for round := range huberRounds + tukeyRounds {
		var a [3][3]float64
		var b [3]float64
		for _, p := range anchors {
			f := [3]float64{1, 0, 0}
			if tempo {
				f[1] = p.x - start
			}
			if swing {
				f[2] = p.off * p.beat
			}
			for i := range f {
				for j := range f {
					a[i][j] += p.weight * f[i] * f[j]
				}
				b[i] += p.weight * f[i] * (p.at - p.x)
			}
		}
		z := solved(a, b)
		m.stretch = 1 + z[1]
		m.delay = z[0] - z[1]*start
		m.swing = z[2]
		for i, p := range anchors {
			left[i] = math.Abs(p.at - m.delay - m.stretch*p.x - m.swing*p.off*p.beat)
		}
		if round < huberRounds { // the first rounds start from the bulk, however wide it lies
			h := huber * math.Pow(2, float64(huberRounds-1-round))
			for i := range anchors {
				anchors[i].weight = min(1, h/(left[i]+1e-9))
			}
			continue
		}
		sorted := slices.Clone(left)
		slices.Sort(sorted)
		far := max(farthest, 6*sorted[len(sorted)/2])
		for i := range anchors {
			u := min(1, left[i]/far)
			anchors[i].weight = (1 - u*u) * (1 - u*u)
		}
	}
	loss = floor * floor
	for _, r := range left {
		loss += r * min(r, huber) / float64(len(anchors))
	}
	return loss
}

// solved solves a·z = b for a symmetric a that is not negative; what is not
// determined is 0.
func solved(a [3][3]float64, b [3]float64) (z [3]float64) {
	for i := range a {
		if a[i][i] < 1e-9 {
			a[i] = [3]float64{}
			a[i][i], b[i] = 1, 0
		}
		for k := i + 1; k < len(a); k++ {
			f := a[k][i] / a[i][i]
			for j := range a {
				a[k][j] -= f * a[i][j]
			}
			b[k] -= f * b[i]
		}
	}
	for i := len(a) - 1; i >= 0; i-- {
		z[i] = b[i]
		for j := i + 1; j < len(a); j++ {
			z[i] -= a[i][j] * z[j]
		}
		z[i] /= a[i][i]
	}
	return z
}

// bend takes up a slow drift, where what the anchors nearby say foretells each
// better than the straight line does: by local lines (Cleveland and Devlin, "Locally
// Weighted Regression", 1988).
func (m *model) bend(anchors []anchor) {
	left := make([]float64, len(anchors))
	for i, a := range anchors {
		was := m.bendOf(a.x)
		reach := bendReach
		if len(m.bends) == 0 {
			reach = nearBeat * a.beat
		}
		left[i] = was + between(-reach, a.at-m.delay-m.stretch*a.x-m.swing*a.off*a.beat-was, reach)
	}
	m.bendAt, m.bends = nil, nil
	if len(anchors) < fewestForBend {
		return
	}
	at, bends := make([]float64, 0, len(anchors)), make([]float64, 0, len(anchors))
	straight, bent := floor*floor, floor*floor
	from := 0
	for i, a := range anchors {
		scale := bendBeats * a.beat
		for anchors[from].x < a.x-2.5*scale {
			from++
		}
		var w0, w1, w2, y0, y1 float64
		for k := from; k < len(anchors) && anchors[k].x <= a.x+2.5*scale; k++ {
			if k == i {
				continue
			}
			d := (anchors[k].x - a.x) / scale
			w := 1 / (1 + d*d*d*d) // nearly as a normal curve, and quicker
			w0, w1, w2 = w0+w, w1+w*d, w2+w*d*d
			y0, y1 = y0+w*left[k], y1+w*d*left[k]
		}
		v := 0.0
		if den := w0*w2 - w1*w1; den > 1e-3*w0*w0 {
			v = (y0*w2 - y1*w1) / den
		}
		straight += left[i] * left[i]
		bent += (left[i] - v) * (left[i] - v)
		if n := len(at); n == 0 || a.x > at[n-1] {
			at, bends = append(at, a.x), append(bends, v)
		}
	}
	if float64(len(anchors))*math.Log(straight/bent) > tempoProof {
		m.bendAt, m.bends = at, bends
	}
}

// bendOf is how much later the drift makes what was asked for at x.
func (m *model) bendOf(x float64) float64 {
	n := len(m.bendAt)
	if n == 0 {
		return 0
	}
	lo, hi := 0, n-1
	if x <= m.bendAt[lo] {
		return m.bends[lo]
	}
	if x >= m.bendAt[hi] {
		return m.bends[hi]
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; m.bendAt[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	part := (x - m.bendAt[lo]) / (m.bendAt[hi] - m.bendAt[lo])
	return m.bends[lo] + part*(m.bends[hi]-m.bends[lo])
}

func between(low, x, high float64) float64 { return max(low, min(high, x)) }

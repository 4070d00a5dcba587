package hearing

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// comping is a shape that was asked for over a bass note, 0 where none was sounding, and how
// it went.
type comping struct {
	onset float64
	shape
	went
}

// went is how a shape went.
type went int

const (
	asAsked  went = iota
	oneWrong      // one of its notes was a half or a whole step off
	bassOnly      // nothing was struck above the bass
	another       // another was struck
	lastWent
)

// standardGrips are frets counted from the bass fret, low string first (common practice, no
// source): roots on string 6, then on string 5.
var standardGrips = [][6]int{
	{0, no, 1, 1, 0, no}, {0, no, -1, 1, 0, no}, {0, no, 0, 1, 0, no}, {0, no, 0, 1, 2, no}, {0, no, 0, 1, 1, no},
	{0, no, 0, 2, 0, no}, {0, no, 0, 0, 0, no}, {0, no, -1, 0, 0, no}, {0, no, 0, 0, -1, no}, {0, no, -1, 0, -1, no},
	{0, no, 0, 1, no, no}, {0, no, 0, 0, no, no},
	{no, 0, 2, 1, 2, no}, {no, 0, -1, 1, 0, no}, {no, 0, -1, -1, 0, 0}, {no, 0, 2, 0, 2, no}, {no, 0, -1, 0, 0, no},
	{no, 0, -1, 0, -1, no}, {no, 0, no, 0, 2, 1}, {no, 0, -1, 0, 0, 2}, {no, 0, 2, 0, 1, no}, {no, 0, -2, 0, 0, no},
	{0, no, 2, 1, 0, no}, {0, 2, 2, 1, 0, 0}, {0, no, 2, 0, 0, 0}, {no, 0, 2, 2, 2, no}, {no, 0, 2, 2, 1, 0}, {no, 0, no, 2, 1, 0},
	{no, 0, no, -1, 1, 0}, {no, 0, 1, 0, 1, no}, {no, 0, 1, -1, 1, no}, {no, 0, -1, 0, no, no}, {no, 0, -2, 0, no, no},
}

const no = -99

// comped makes a line with shapes struck on the beat, on the offbeat or ahead of the next
// beat, of which a share has one note wrong.
func (b bank) comped(r *rand.Rand, wrong, cents float64) (take, []comping) {
	open := [6]int{40, 45, 50, 55, 59, 64}
	tempo := 70 + 120*r.Float64()
	beat := 60 / tempo
	soft := 50 + r.IntN(30)
	var notes []played
	var loud []uint8
	var asked []comping
	velocity := func() uint8 { return uint8(soft + r.IntN(120-soft)) }
	add := func(at, length float64, midi int, part string, v uint8) {
		notes, loud = append(notes, played{at, length, midi, part}), append(loud, v)
	}
	grip := func() (bass int, above []int) {
		g := standardGrips[r.IntN(len(standardGrips))]
		root := 2 + r.IntN(8)
		for s, f := range g {
			switch midi := open[s] + root + f; {
			case f == no:
			case bass == 0:
				bass = midi
			default:
				above = append(above, midi)
			}
		}
		return bass, above
	}
	strike := func(at, length float64, bass int, above []int) {
		c := comping{at, shape{bass, above}, asAsked}
		struck := slices.Clone(above)
		if r.Float64() < wrong {
			c.went = oneWrong
			i := r.IntN(len(struck))
			struck[i] += []int{-2, -1, 1, 2}[r.IntN(4)]
			for _, m := range append([]int{bass}, above...) { // a class that is asked for is no wrong note
				if m%12 == struck[i]%12 {
					return
				}
			}
		}
		spread, v := 0.002+0.007*r.Float64(), float64(velocity())*(0.6+0.5*r.Float64())
		for i, m := range struck {
			add(at+float64(i)*spread, length, m, "chord", uint8(max(25, min(127, v*(0.75+0.3*r.Float64())))))
		}
		asked = append(asked, c)
	}
	bass, above := grip()
	for n := range 32 {
		at := 0.3 + float64(n)*beat + 0.012*r.NormFloat64()
		next, nextAbove := grip()
		add(at, beat*[]float64{0.8, 0.92, 1}[r.IntN(3)], bass, "bass", velocity())
		short := []float64{0.4, 0.4, 0.9}[r.IntN(3)] * beat
		switch k := r.IntN(10); {
		case k < 3:
			strike(at+0.003, short, bass, above)
		case k < 5:
			strike(at+beat*2/3, beat*0.3, bass, above)
		case k < 6:
			strike(at+beat*2/3, beat*0.6, 0, nextAbove)
		case k < 8:
			asked = append(asked, comping{at, shape{bass, above}, bassOnly})
		}
		bass, above = next, nextAbove
	}
	k := b.mixed(b.name, notes, loud, cents, r)
	return k, asked
}

// judgedShape is a shape that was asked for, and the strum nearest to it.
type judgedShape struct {
	comping
	strum  Strum
	silent bool // there was none
}

// judgedShapes asks of a take for its shapes, and of those that were right also for the same
// a fret away and for the one of another beat.
func judgedShapes(t testing.TB, k take, asked []comping) (all []judgedShape) {
	judged := strums(t, k)
	for i, c := range asked {
		s, ok := strumOf(judged, c.onset+attack)
		all = append(all, judgedShape{c, s, !ok})
		if c.went != asAsked {
			continue
		}
		away := shape{c.bass, nil}
		for _, m := range c.notes {
			away.notes = append(away.notes, m+1)
		}
		all = append(all, judgedShape{comping{c.onset, away, another}, s, !ok})
		if next := asked[(i+1)%len(asked)]; !slices.Equal(next.notes, c.notes) {
			all = append(all, judgedShape{comping{c.onset, next.shape, another}, s, !ok})
		}
	}
	return all
}

// hits counts the answers by how the shapes went: not sure, heard, not heard.
func hits(all []judgedShape) (n [lastWent][3]int) {
	for _, x := range all {
		h := NotHeard
		if !x.silent {
			h, _ = x.strum.Hit(x.bass, x.notes)
		}
		n[x.went][h]++
	}
	return n
}

// compedBy are the shapes of some takes of each guitar, half of them in a room.
func compedBy(t testing.TB, guitars []bank, takes int, seed uint64) (all []judgedShape) {
	each := make([][]judgedShape, takes*len(guitars))
	inParallel(len(each), func(i int) {
		r := rand.New(rand.NewPCG(seed, uint64(i)))
		k, asked := guitars[i%len(guitars)].comped(r, 0.4, 5*r.NormFloat64())
		if i/len(guitars)%2 == 1 {
			k = k.inARoom(r)
		}
		each[i] = judgedShapes(t, k, asked)
	})
	return slices.Concat(each...)
}

// strumOf finds the strum at a shape.
func strumOf(judged []Strum, at float64) (s Strum, ok bool) {
	for _, x := range judged {
		if d := math.Abs(x.Onset - at); d < 0.06 && (!ok || d < math.Abs(s.Onset-at)) {
			s, ok = x, true
		}
	}
	return s, ok
}

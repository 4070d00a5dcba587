package hearing

import "math"

const (
	// grain is the step in which an attack is placed, in analysis samples: 1.3 ms.
	grain = 16
	// The attack is sought this many grains before and after the flux's peak.
	grainsBefore, grainsAfter = 13, 6
	// risen grains must be louder than the calm ones before: 4 ms against 11 ms.
	risen, calm = 3, 8
)

// attack returns where the sound rises most steeply about an onset that the
// flux placed, which knows it to some 10 ms only: by the power of the first
// difference, in which a pluck's own noise outweighs what rings. sharp is by what
// factor it rises there.
func (a *Analyser) attack(onset int) (at int, sharp float64) {
	const all = calm + grainsBefore + grainsAfter + risen
	var power [all]float64
	from := onset - (calm+grainsBefore)*grain
	x := a.at(from-1, from+all*grain)
	for i := range power {
		s := 0.0
		for j := 1 + i*grain; j <= (i+1)*grain; j++ {
			d := x[j] - x[j-1]
			s += d * d
		}
		power[i] = s
	}
	best, most := onset, 0.0
	for i := calm; i+risen <= all; i++ {
		was := 1e-9
		for _, v := range power[i-calm : i] {
			was = math.Max(was, v)
		}
		now := 0.0
		for _, v := range power[i : i+risen] {
			now += v / risen
		}
		if r := now / was; r > most {
			best, most = from+i*grain, r
		}
	}
	if most < 1 {
		return onset, most
	}
	return best, most
}

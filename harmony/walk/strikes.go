package walk

import "footfall/harmony/tune"

// written returns the half beats of a pass, counted from its start, at which what
// is written, or a rhythm, strikes the chord that sounds there.
func written(l *layout) []bool {
	at := make([]bool, l.from[len(l.bars)])
	for _, s := range l.tune.Strikes(tune.BassHalves) {
		if s.By == tune.ByLayer || s.Hit == tune.HitPush {
			continue
		}
		for _, p := range s.Times {
			at[l.half(p)] = true
		}
	}
	return at
}

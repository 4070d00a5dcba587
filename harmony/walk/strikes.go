package walk

import "footfall/harmony/tune"

// strikes returns the half beats of a pass, counted from its start, at which the
// chord that sounds there is struck: by what is written and by rhythms, and with
// the layer's own where all is set. A push has its bass note only on the next beat
// and is left out.
func strikes(l *layout, all bool) []bool {
	at := make([]bool, l.Total())
	for _, s := range l.tune.Strikes(tune.BassHalves) {
		if s.Hit == tune.HitPush || s.By == tune.ByLayer && !all {
			continue
		}
		for _, p := range s.Times {
			at[l.Half(p)] = true
		}
	}
	return at
}

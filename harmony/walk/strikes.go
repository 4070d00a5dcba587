package walk

import "footfall/harmony/tune"

// written returns the half beats of a pass, counted from its start, at which the
// hits row strikes the chord that sounds there.
func written(l *layout) []bool {
	at := make([]bool, l.from[len(l.bars)])
	for i, fb := range l.bars {
		for beat, h := range fb.Bar.Hits {
			half := l.from[i] + 2*beat
			if half+1 >= l.from[i+1] {
				break
			}
			at[half] = h == tune.HitOn || h == tune.HitBoth
			at[half+1] = h == tune.HitAnd || h == tune.HitBoth
		}
	}
	return at
}

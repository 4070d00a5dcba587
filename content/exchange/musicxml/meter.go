package musicxml

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// findMeter finds the meter of each measure by its time signatures. The first one
// says how note lengths are read; one that would have them otherwise is passed over.
func (r *reader) findMeter() error {
	r.meters = make([]tune.Meter, r.measures)
	first := -1
	for i := range r.measures {
		if i > 0 {
			r.meters[i] = r.meters[i-1]
		}
		t := r.timeOf(i)
		if t == nil {
			continue
		}
		m, scale, err := meterOf(t)
		switch {
		case first < 0 && err != nil:
			return err
		case first < 0:
			first, r.scale = i, scale
			if scale != 1 {
				r.lose(0, "meter %s/%s is read as %s, note lengths times %g", t.Beats[0], t.BeatType[0], m, scale)
			}
			for k := range i {
				r.meters[k] = m
			}
		case err != nil || scale != r.scale:
			m = roomFor(r.quarters(t))
			r.lose(0, "bars of %s/%s are put in bars of %s", t.Beats[0], t.BeatType[0], m)
		}
		r.meters[i] = m
	}
	if first < 0 {
		r.scale = 1
		for i := range r.meters {
			r.meters[i] = tune.Meter{Upper: 4, Lower: 4}
		}
		r.lose(0, "no meter is named: 4/4 is put in")
	}
	return nil
}

// timeOf returns the time signature that a measure begins with, nil for none.
func (r *reader) timeOf(measure int) *timeElement {
	for _, p := range r.parts {
		if t := p.measure(measure).time; t != nil {
			return t
		}
	}
	return nil
}

// signature returns the two numbers of a time signature, of 3+2 the sum; false where it
// names none, as senza misura.
func (t *timeElement) signature() (beats, kind int, ok bool) {
	if len(t.Beats) == 0 || len(t.BeatType) == 0 {
		return 4, 4, false
	}
	for _, b := range strings.Split(t.Beats[0], "+") {
		n, _ := strconv.Atoi(strings.TrimSpace(b))
		beats += n
	}
	kind, err := strconv.Atoi(strings.TrimSpace(t.BeatType[0]))
	return beats, kind, err == nil && beats > 0 && beats < 100 && kind > 0
}

// quarters is how long a bar is, in quarter notes of the tune.
func (r *reader) quarters(t *timeElement) float64 {
	beats, kind, ok := t.signature()
	if !ok {
		return 4
	}
	return float64(beats) * 4 / float64(kind) * r.scale
}

// roomFor returns the shortest meter that holds some quarter notes, or the longest.
func roomFor(quarters float64) tune.Meter {
	return tune.Meter{Upper: min(7, max(2, int(math.Ceil(quarters-1e-6)))), Lower: 4}
}

// meterOf returns the tune's meter for a time signature, and what note lengths
// are multiplied by to fit it.
func meterOf(t *timeElement) (tune.Meter, float64, error) {
	beats, kind, ok := t.signature()
	if !ok {
		return tune.Meter{Upper: 4, Lower: 4}, 1, nil // senza misura
	}
	for _, as := range []struct {
		beats, kind int
		scale       float64
	}{{beats, kind, 1}, {2 * beats, 2 * kind, 1}, {beats / 2, kind / 2, 1}, {beats, kind / 2, 2}, {beats, 2 * kind, 0.5}, {beats, kind / 4, 4}} {
		exact := as.scale != 1 || as.beats*kind == beats*as.kind
		if as.kind == 8 && kind == 4 { // three quarters are not two dotted ones
			continue
		}
		if m, ok := harmony.ParseMeter(fmt.Sprintf("%d/%d", as.beats, as.kind)); ok && exact {
			return m, as.scale, nil
		}
	}
	return tune.Meter{}, 0, fmt.Errorf("the meter %s/%s is none that a tune takes: 2/4 to 7/4, 6/8, 9/8 and 12/8", t.Beats[0], t.BeatType[0])
}

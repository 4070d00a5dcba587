package fretboard

import "footfall/harmony/tune"

// Option says how a tune is to be arranged.
type Option func(*options)

type options struct {
	// Tempo is that of the pass, in quarter notes a minute.
	Tempo  float64
	School School
	// weights are those in use, others when they are fitted.
	weights *weights
}

// AtTempo arranges for a pass at a tempo in quarter notes a minute; without it
// the tune's own holds. What is not above 0 is passed over.
func AtTempo(tempo float64) Option {
	return func(o *options) {
		if tempo > 0 {
			o.Tempo = tempo
		}
	}
}

// InSchool draws the shapes from a school; without it they are Mixed.
func InSchool(s School) Option { return func(o *options) { o.School = s } }

func optionsOf(t *tune.Tune, all []Option) options {
	o := options{Tempo: t.Tempo, weights: &arranging}
	for _, set := range all {
		set(&o)
	}
	switch {
	case o.School == Mixed || o.weights != &arranging:
	case o.School == Shells:
		o.weights = &arrangingShells
	default:
		o.weights = &arrangingOthers
	}
	return o
}

// own reports whether the layer adds the shape of a moment, not the hits row.
func (m *moment) own() bool { return m.strike != nil && m.strike.By == tune.ByLayer }

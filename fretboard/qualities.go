package fretboard

import (
	"sync"

	"footfall/harmony"
)

// quality is a chord quality that a shape may be read as.
type quality struct {
	*harmony.QualityRow
	rootless, upper bool
	// Masks with a bit for each number of semitones above the root.
	tones, need, more uint16
	name              [12]harmony.Degree
}

// qualities returns the rows of harmony's table that shapes are read as, with
// the masks to fit them by.
var qualities = sync.OnceValue(func() []quality {
	var all []quality
	rows := harmony.Qualities()
	for i := range rows {
		if rows[i].Cost == harmony.Unread {
			continue
		}
		q := quality{QualityRow: &rows[i], rootless: rows[i].Rootless, upper: rows[i].Upper}
		for _, d := range q.Degrees {
			q.tones |= bit(d)
			q.name[at(d)] = d
		}
		q.need = q.tones
		for _, d := range q.MayMiss {
			q.need &^= bit(d)
		}
		for _, d := range q.MayAdd {
			q.more |= bit(d)
			q.name[at(d)] = d
		}
		all = append(all, q)
	}
	return all
})

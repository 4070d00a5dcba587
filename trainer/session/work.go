package session

import (
	"fmt"
	"slices"
	"sync"

	"footfall/drills/today"
	"footfall/harmony/tune"
)

// works keeps the work of tunes, which takes longer to work out than a page may take to
// open, for as long as the instrument and the hand are the same.
type works struct {
	mu   sync.Mutex
	gear string
	of   map[*tune.Tune]today.Work
}

// mostWorks bounds what is kept: a tune that is saved again is another.
const mostWorks = 200

// workOf is the work of a tune. Its items are the caller's own.
func (d *Desk) workOf(t Tune) (today.Work, error) {
	gear := fmt.Sprint(d.Neck, d.Hand)
	d.works.mu.Lock()
	defer d.works.mu.Unlock()
	if d.works.gear != gear || len(d.works.of) >= mostWorks {
		d.works.gear, d.works.of = gear, map[*tune.Tune]today.Work{}
	}
	w, ok := d.works.of[t.Tune]
	if !ok || w.Name != t.Name {
		var err error
		if w, err = today.WorkOf(d.ofTune(t)); err != nil {
			return w, err
		}
		d.works.of[t.Tune] = w
	}
	w.Items = slices.Clone(w.Items)
	return w, nil
}

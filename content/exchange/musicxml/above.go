package musicxml

type placedHarmony struct {
	at      float64
	element *harmonyElement
}

// harmonies are the chord symbols of a bar, each where it changes.
func (w *writer) harmonies(i int) []placedHarmony {
	fb := w.bars[i]
	var out []placedHarmony
	for _, c := range fb.Bar.Chords {
		id := c.Chord.Identity()
		if c.Slots == 0 || w.chord != nil && *w.chord == id {
			continue
		}
		w.chord = &id
		at := float64(c.Slot) / float64(c.Slots) * fb.Meter.Quarters()
		h := writeHarmony(c.Chord)
		if w.options.Tuning != nil {
			h.Staff = 1
		}
		out = append(out, placedHarmony{at, h})
	}
	return out
}

package musicxml

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

type placedHarmony struct {
	at      float64
	element *harmonyElement
}

// harmonies are the chord symbols of a bar, with a frame where a shape stands. A
// shape on a beat without a change repeats the symbol.
func (w *writer) harmonies(i int) []placedHarmony {
	fb := w.bars[i]
	var out []placedHarmony
	for _, c := range fb.Bar.Chords {
		if c.Slots > 0 {
			at := float64(c.Slot) / float64(c.Slots) * fb.Meter.Quarters()
			out = append(out, placedHarmony{at, writeHarmony(c.Chord)})
		}
	}
	for half := range fb.Meter.Halves() {
		beat, off := harmony.BeatOf(half)
		at := tune.Position{Bar: i + 1, Beat: beat, Off: off}
		frets := w.options.Shapes[at]
		if !off && beat <= len(fb.Bar.Shapes) && fb.Bar.Shapes[beat-1].Frets != nil {
			frets = fb.Bar.Shapes[beat-1].Frets
		}
		c, ok := fb.Bar.ChordAt(fb.Meter, at.Beat, at.Off)
		if frets == nil || !ok {
			continue
		}
		out = w.withFrame(out, w.quarterAt(i, half), c, frets)
	}
	return out
}

func (w *writer) withFrame(in []placedHarmony, at float64, c harmony.Chord, frets []int) []placedHarmony {
	k := 0
	for ; k < len(in) && in[k].at <= at+1e-9; k++ {
		if in[k].at > at-1e-9 {
			in[k].element.Frame = writeFrame(frets)
			return in
		}
	}
	h := writeHarmony(c)
	h.Frame = writeFrame(frets)
	out := append([]placedHarmony{}, in[:k]...)
	out = append(out, placedHarmony{at, h})
	return append(out, in[k:]...)
}

// writeFrame makes a frame diagram of frets, low string to high.
func writeFrame(frets []int) *frame {
	f := &frame{Strings: len(frets)}
	low, high := 99, 0
	for i, fret := range frets {
		if fret < 0 {
			continue
		}
		f.Notes = append(f.Notes, frameNote{String: len(frets) - i, Fret: fret})
		if fret > 0 {
			low, high = min(low, fret), max(high, fret)
		}
	}
	f.Frets = 4
	if high > 4 {
		f.First = low
		f.Frets = max(4, high-low+1)
	}
	return f
}

package tune_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

// oldStrikes are the instants at which the program's first build struck a tune,
// as its source said: the layer asks for beats, the hits row says where in the
// beat, and what the hits and shapes rows write is struck in bass+halves.
func oldStrikes(t *tune.Tune, layer tune.Layer) []tune.Position {
	struck := map[tune.Position]bool{}
	var before harmony.Chord
	for _, fb := range t.Unroll() {
		beats := fb.Meter.Beats()
		wanted := map[int]tune.Layer{}
		for _, ch := range fb.Bar.Chords {
			if ch.Chord.SoundsAs(before) {
				continue
			}
			before = ch.Chord
			wanted[(ch.Slot*2*beats+ch.Slots-1)/ch.Slots] = tune.BassChanges
		}
		if middle := (fb.Meter.Middle() - 1) * 2; layer == tune.BassHalves && wanted[middle] == tune.Bass {
			wanted[middle] = tune.BassHalves
		}
		for beat := range beats {
			on := tune.Position{Bar: fb.Number, Beat: beat + 1}
			off := on
			off.Off = true
			hit, shape := tune.NoHit, tune.ShapeToken{}
			if beat < len(fb.Bar.Hits) {
				hit = fb.Bar.Hits[beat].Hit
			}
			if beat < len(fb.Bar.Shapes) {
				shape = fb.Bar.Shapes[beat]
			}
			if wanted[beat*2+1] != tune.Bass {
				struck[off] = true
			}
			if wanted[beat*2] == tune.Bass && (layer != tune.BassHalves || hit == tune.NoHit && shape.None()) {
				continue
			}
			struck[on] = struck[on] || hit != tune.HitAnd
			struck[off] = struck[off] || hit == tune.HitAnd || hit == tune.HitBoth
		}
	}
	var out []tune.Position
	for at, is := range struck {
		b := t.Unroll()[at.Bar-1]
		if c, ok := b.Bar.ChordAt(b.Meter, at.Beat, at.Off); is && ok && !c.None {
			out = append(out, at)
		}
	}
	slices.SortFunc(out, func(a, b tune.Position) int {
		return (a.Bar-b.Bar)*100 + (a.Beat-b.Beat)*4 + a.Half()%2 - b.Half()%2
	})
	return out
}

// A tune of the first build is struck as it was, in every layer.
func TestOldTunesSoundAsTheyDid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old := tunetest.Tune().Draw(t, "tune")
		old.Comping = tune.NoComping
		for i := range old.Sections {
			s := &old.Sections[i]
			s.Comping = tune.NoComping
			for j := range s.Bars {
				// Chords that come off the half beats, or two to a beat, were no matter of the hits.
				all := len(s.Bars[j].Chords)
				s.Bars[j].Chords = slices.DeleteFunc(s.Bars[j].Chords, func(c tune.Change) bool {
					return c.Slot*old.MeterOf(s).Halves()%c.Slots != 0 || c.Slot*old.MeterOf(s).Halves()/c.Slots%2 == 1
				})
				if len(s.Bars[j].Chords) < all { // what stood over such a chord has no root now
					clear(s.Bars[j].Bass)
				}
				s.Bars[j].Copies = [tune.Rows]tune.Copy{}
				for k, h := range s.Bars[j].Hits {
					if h.Held = false; h.Hit > tune.HitBoth {
						h.Hit = tune.NoHit
					}
					s.Bars[j].Hits[k] = h
				}
			}
		}
		text := tune.Write(old)
		now, faults := tune.ReadOldHits(text)
		require.Empty(t, faults, text)
		again, faults := tune.Read(tune.ConvertOldHits(text))
		require.Empty(t, faults)
		for _, layer := range []tune.Layer{tune.BassChanges, tune.BassHalves} {
			for _, tn := range []*tune.Tune{now, again} {
				var got []tune.Position
				for _, s := range tn.Strikes(layer) {
					got = append(got, s.Times...)
				}
				require.Equal(t, oldStrikes(old, layer), got, "%s\n%s\n%s", layer, text, tune.Write(tn))
			}
		}
	})
}

func TestOldHitsOfATextThatIsNoTuneYet(t *testing.T) {
	text := "tune T\n[A]\nchords | C . | \nhits | . on . and |.|  . |\nshapes | . |\n"
	want := strings.Replace(text, "| . on . and |.|  . |", "| * on * and |*|  * |", 1)
	assert.Equal(t, want, tune.ConvertOldHits(text))
	old := "tune T\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | C |\nshapes | . * x-3-2-0-1-0 . |\n"
	assert.Contains(t, tune.ConvertOldHits(old), "hits   | * on on *         |")
}

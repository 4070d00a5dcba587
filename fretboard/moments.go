package fretboard

import (
	"fmt"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// A moment is a point in the pass at which the hand must be somewhere: a bass
// note starts, a shape is struck, or both.
type moment struct {
	bar    tune.FormBar
	at     tune.Position
	chord  harmony.Chord
	bass   *tune.LineNote // the bass note sounding, nil in a rest
	starts bool           // bass starts here; else it is held from before
	strike bool
	hit    tune.Hit
	layer  Layer // the lowest that strikes here
	forced []int // frets of a given shape, nil where the program chooses
	halves int   // to the next moment or the end
}

// PathError says where in a tune no place or shape can be found, why, and the
// nearest change that would do.
type PathError struct {
	Section    string
	SectionBar int
	Bar, Beat  int // through the form, from 1
	What, Want string
}

// Error says where, what is wrong and what would do.
func (e *PathError) Error() string {
	return fmt.Sprintf("bar %d beat %d (section %s, bar %d): %s; %s", e.Bar, e.Beat, e.Section, e.SectionBar, e.What, e.Want)
}

func (m *moment) fail(what, want string) error {
	return &PathError{Section: m.bar.Section, SectionBar: m.bar.SectionBar, Bar: m.at.Bar, Beat: m.at.Beat, What: what, Want: want}
}

// middleBeat returns the beat, from 1, at which the layer bass+halves strikes a
// bar: the third of four, the second of three or two, the third of five.
func middleBeat(m tune.Meter) int { return m.Beats()/2 + 1 }

// moments lists what the hand has to do over one pass, in order of time.
func moments(t *tune.Tune, line []tune.LineNote, layer Layer) []moment {
	bars := t.Unroll()
	beats := t.Meter.Beats()
	strikes := map[int]moment{}
	if layer != Bass {
		strikes = strikeMoments(t, bars, layer)
	}
	total := len(bars) * beats * 2
	var all []moment
	next := 0
	var sounding *tune.LineNote
	for half := range total {
		at := positionOf(half, beats)
		if sounding != nil && half >= halfOf(sounding.At, beats)+sounding.Halves {
			sounding = nil
		}
		starts := false
		if next < len(line) && line[next].At == at {
			sounding, starts = &line[next], true
			next++
		}
		m, strike := strikes[half]
		if !starts && !strike {
			continue
		}
		if !strike {
			m = moment{bar: bars[half/2/beats], at: at}
		}
		m.bass, m.starts, m.strike = sounding, starts, strike
		m.chord, _ = m.bar.Bar.ChordAt(t.Meter, at.Beat, at.Off)
		if m.chord.None {
			if !starts {
				continue
			}
			m.strike = false
		}
		all = append(all, m)
	}
	for i := range all {
		end := total
		if i+1 < len(all) {
			end = halfOf(all[i+1].at, beats)
		}
		all[i].halves = end - halfOf(all[i].at, beats)
	}
	return all
}

func halfOf(at tune.Position, beats int) int {
	h := ((at.Bar-1)*beats + at.Beat - 1) * 2
	if at.Off {
		h++
	}
	return h
}

func positionOf(half, beats int) tune.Position {
	return tune.Position{Bar: half/2/beats + 1, Beat: half/2%beats + 1, Off: half%2 == 1}
}

// strikeMoments finds where shapes are struck, by half beat. The layer says at
// which beats; the hits row says where within the beat, on the beat without
// one. In bass+halves whatever the hits and shapes rows write is struck too.
func strikeMoments(t *tune.Tune, bars []tune.FormBar, layer Layer) map[int]moment {
	beats := t.Meter.Beats()
	strikes := map[int]moment{}
	var before harmony.Chord
	for i, fb := range bars {
		changes := fb.Bar.Chords
		start := i * beats * 2
		wanted := map[int]Layer{} // halves of the bar at which a layer asks for a shape, and the lowest that does
		for _, ch := range changes {
			if ch.Chord.SoundsAs(before) {
				continue
			}
			before = ch.Chord
			wanted[(ch.Slot*2*beats+ch.Slots-1)/ch.Slots] = BassChanges // a change between halves is struck at the next
		}
		if middle := (middleBeat(t.Meter) - 1) * 2; layer == BassHalves && wanted[middle] == Bass {
			wanted[middle] = BassHalves
		}
		for beat := range beats {
			hit, shape := rowTokens(fb.Bar, beat)
			on, off := beat*2, beat*2+1
			written := hit != tune.NoHit || shape.Choose || shape.Frets != nil
			if wanted[off] != Bass {
				strikes[start+off] = moment{bar: fb, at: positionOf(start+off, beats), hit: tune.HitOn, layer: wanted[off]}
			}
			asks := wanted[on]
			if asks == Bass {
				if layer != BassHalves || !written {
					continue
				}
				asks = BassHalves
			}
			if hit == tune.NoHit {
				hit = tune.HitOn
			}
			for _, s := range strikesOfBeat(fb.Bar, beat, hit) {
				m := moment{bar: fb, at: positionOf(start+on+s.half, beats), hit: s.hit, layer: asks, forced: shape.Frets}
				strikes[start+on+s.half] = m
			}
		}
	}
	return strikes
}

type beatStrike struct {
	half int
	hit  tune.Hit
}

// strikesOfBeat tells where the hand must hold the shape of a beat: from the
// beat on where the bass note of the beat carries it, but from the offbeat
// where the beat's bass is split and another note sounds there.
func strikesOfBeat(b *tune.Bar, beat int, hit tune.Hit) []beatStrike {
	split := beat < len(b.Bass) && b.Bass[beat].Split
	switch {
	case hit == tune.HitBoth && split:
		return []beatStrike{{0, tune.HitOn}, {1, tune.HitOn}}
	case hit == tune.HitAnd && split:
		return []beatStrike{{1, tune.HitOn}}
	default:
		return []beatStrike{{0, hit}}
	}
}

func rowTokens(b *tune.Bar, beat int) (hit tune.Hit, shape tune.ShapeToken) {
	if beat < len(b.Hits) {
		hit = b.Hits[beat]
	}
	if beat < len(b.Shapes) {
		shape = b.Shapes[beat]
	}
	return hit, shape
}

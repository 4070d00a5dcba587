package fretboard

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony"
	"footfall/harmony/tune"
)

func progressions(t testing.TB) (all []*tune.Tune) {
	t.Helper()
	names, err := filepath.Glob("testdata/progressions/*.tune")
	require.NoError(t, err)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		all = append(all, readTune(t, string(text)))
	}
	return all
}

// measured is what a guitarist would ask of arrangements, over many.
type measured struct {
	changes, standard, full, tensions, sounded int // root positions on the changes
	hits, moves, semitones, leaps, wide, open  int // every hit
	odd                                        []string
}

// standardFor reports whether the shape of an event on the root is a standard grip of its
// chord's kind, or a part of one that keeps the bass, the third or what is suspended for
// it, and the seventh or sixth, as the design's meter has it; asked is false where it has
// none of the kind.
func standardFor(e *Event) (standard, asked bool) {
	kind, guides := "", [2]uint16{}
	has := func(number, alter int8) bool {
		return slices.Contains(e.Chord.Degrees, harmony.Degree{Number: number, Alter: alter})
	}
	switch b3, b7 := has(3, -1), has(7, -1); {
	case b3 && has(5, -1) && b7:
		kind, guides = "m7b5", [2]uint16{1 << 3, 1 << 10}
	case b3 && has(7, -2):
		kind, guides = "dim7", [2]uint16{1 << 3, 1 << 9}
	case b3 && b7:
		kind, guides = "m7", [2]uint16{1 << 3, 1 << 10}
	case b3 && has(6, 0):
		kind, guides = "m6", [2]uint16{1 << 3, 1 << 9}
	case b3 && len(e.Chord.Degrees) == 3 && has(5, 0):
		kind, guides = "minor", [2]uint16{1 << 3, 1}
	case b7:
		kind, guides = "7", [2]uint16{1<<4 | 1<<5, 1 << 10}
	case has(3, 0) && has(7, 0):
		kind, guides = "maj7", [2]uint16{1 << 4, 1 << 11}
	case has(3, 0) && has(6, 0):
		kind, guides = "6", [2]uint16{1 << 4, 1 << 9}
	case has(3, 0) && len(e.Chord.Degrees) == 3 && has(5, 0):
		kind, guides = "major", [2]uint16{1 << 4, 1}
	}
	if kind == "" || at(e.Degree) != 0 {
		return false, false
	}
	sounding := uint16(0)
	for i, f := range e.Frets {
		if f >= 0 {
			sounding |= 1 << ((Standard[i] + f - e.Note.MIDI() + 120) % 12)
		}
	}
	if sounding&guides[0] == 0 || sounding&guides[1] == 0 {
		return false, true
	}
	bass := lowestPlace(e.Frets)
	first := gripStrings - bass.String
	for grip := range strings.SplitSeq(standardGrips[kind], ", ") {
		rel := strings.Fields(grip)
		for low := range 2 { // under an open bass string the upper part of any of them
			at := ((StandardNeck().MIDI(bass)-Standard[low])%12 + 12) % 12
			if bass.Fret == 0 && rel[low] == "0" && (standardAt(e.Frets, rel, first, at) || standardAt(e.Frets, rel, first, at+12)) {
				return true, true
			}
		}
		if rel[first] == "0" && standardAt(e.Frets, rel, first, bass.Fret) {
			return true, true
		}
	}
	return false, true
}

func standardAt(frets []int, rel []string, first, at int) bool {
	for i := first + 1; i < len(frets); i++ {
		if n, err := strconv.Atoi(rel[i]); frets[i] >= 0 && (err != nil || frets[i] != at+n) {
			return false
		}
	}
	return true
}

func (m *measured) add(a *Arrangement) {
	before := -1
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != ShapeEvent {
			continue
		}
		top, voices, lowest, highest, inner := 0, 0, 1<<10, 0, 0
		sounding := uint16(0)
		for s, f := range e.Frets {
			if f < 0 {
				continue
			}
			midi := a.Neck.Tuning[s] + f
			top = max(top, midi)
			sounding |= 1 << ((midi - e.Chord.Root.Semitone() + 120) % 12)
			if f > 0 {
				lowest, highest = min(lowest, f), max(highest, f)
			} else if voices > 0 {
				inner++
			}
			voices++
		}
		if standard, asked := standardFor(e); a.Layer == BassChanges && asked {
			m.changes++
			m.full += btoi(voices >= 4)
			if standard {
				m.standard++
			} else {
				m.odd = append(m.odd, e.Chord.Symbol+" "+FormatFrets(e.Frets))
			}
			for _, d := range e.Chord.Degrees {
				if named(e.Chord, d) {
					m.tensions++
					m.sounded += btoi(sounding&bit(d) != 0)
				}
			}
		}
		if a.Layer == BassHalves {
			m.hits++
			m.wide += btoi(highest-lowest >= 4)
			m.open += btoi(inner > 0 && highest >= 5)
			if before >= 0 {
				m.moves++
				m.semitones += abs(top - before)
				m.leaps += btoi(abs(top-before) >= 5)
			}
			before = top
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (m *measured) within(t *testing.T, name string) {
	t.Helper()
	share := func(n, of int) float64 { return float64(n) / float64(max(1, of)) }
	t.Logf("%s: standard %.3f full %.2f tensions %.3f; top %.2f leaps %.3f wide %.4f open %.4f", name, share(m.standard, m.changes), share(m.full, m.changes),
		share(m.sounded, m.tensions), share(m.semitones, m.moves), share(m.leaps, m.moves), share(m.wide, m.hits), share(m.open, m.hits))
	assert.GreaterOrEqual(t, share(m.full, m.changes), 1./3, "%s: of four notes", name)
	assert.GreaterOrEqual(t, share(m.sounded, max(1, m.tensions))+btof(m.tensions == 0), 0.95, "%s: written tensions", name)
	m.led(t, name, 1.6, 0.04)
}

// led holds the grips on the changes, the top voice, which moves so many semitones at most
// on the mean and leaps in such a share of moves, the reach and open strings to their
// bounds.
func (m *measured) led(t *testing.T, name string, most, leaps float64) {
	t.Helper()
	share := func(n, of int) float64 { return float64(n) / float64(max(1, of)) }
	assert.GreaterOrEqual(t, share(m.standard, m.changes), 0.95, "%s: standard grips on the changes, not %v", name, m.odd)
	assert.LessOrEqual(t, share(m.semitones, m.moves), most, "%s: semitones of the top voice", name)
	assert.LessOrEqual(t, share(m.leaps, m.moves), leaps, "%s: fourths and more of the top voice", name)
	assert.LessOrEqual(t, share(m.wide, m.hits), 0.005, "%s: five frets wide", name)
	assert.LessOrEqual(t, share(m.open, m.hits), 0.005, "%s: open strings inside a shape", name)
}

func btof(b bool) float64 { return float64(btoi(b)) }

// Real progressions in all 12 keys stay within the bounds of the design (common
// practice, no source).
func TestProgressionsInTwelveKeys(t *testing.T) {
	var m measured
	for _, tn := range progressions(t) {
		for up := range 12 {
			for _, layer := range []tune.Layer{BassChanges, BassHalves} {
				a, _, err := ArrangeInKey(tn, tn.Key.Up(up), StandardNeck(), DefaultHand(), layer)
				require.NoError(t, err, "%s up %d", tn.Title, up)
				m.add(a)
			}
		}
	}
	m.within(t, "progressions")
}

// Shells are known and led as full grips are on the tunes of the house, with hardly more
// leaps in other keys than in their own, and nearly so on real progressions, whose lines
// have more thirds and sixths under the hits: a shell has its root or fifth above those, a
// third away. Hardly any is spread over four frets off strings 4 and 3, where players
// hold them (common practice, no source).
func TestShellsAreLed(t *testing.T) {
	var house []*tune.Tune
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		house = append(house, tn)
	}
	for _, of := range []struct {
		name        string
		tunes       []*tune.Tune
		keys        int
		most, leaps float64
	}{{"tunes of the house", house, 1, 1.6, 0.04}, {"in all keys", house, 12, 1.6, 0.045}, {"progressions", progressions(t), 12, 1.8, 0.04}} {
		var m measured
		spread := 0
		for _, tn := range of.tunes {
			for up := range of.keys {
				for _, layer := range []tune.Layer{BassChanges, BassHalves} {
					a, _, err := ArrangeInKey(tn, tn.Key.Up(up), StandardNeck(), DefaultHand(), layer, InSchool(Shells))
					require.NoError(t, err, "%s up %d", tn.Title, up)
					m.add(a)
					for _, e := range a.Events {
						spread += btoi(layer == BassHalves && e.Kind == ShapeEvent && spanned(e.Frets) > 3 && (e.Frets[2] < 0 || e.Frets[3] < 0))
					}
				}
			}
		}
		m.led(t, of.name, of.most, of.leaps)
		assert.LessOrEqual(t, float64(spread), 0.05*float64(m.hits), "%s: spread shells", of.name)
	}
}

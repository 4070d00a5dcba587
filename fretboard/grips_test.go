package fretboard

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

func allGrips() (all []knownGrip) {
	for _, rows := range vocabulary() {
		all = append(all, rows...)
	}
	return all
}

// absolute places a row with its bass at a fret.
func (g *knownGrip) absolute(fret int) []int {
	frets := make([]int, gripStrings)
	for i, rel := range g.rel {
		frets[i] = muted
		if rel != silent {
			frets[i] = fret + rel
		}
	}
	return frets
}

// Every row sounds what it says, by the open strings of standard tuning, and can
// be held with the fingers it names; where they are not those of the least effort
// they are near it: an m7 has two fingers, from which others are near, not one, or
// the index flat under the middle and ring fingers.
func TestEveryRowOfTheVocabulary(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	seen := map[string]bool{}
	for _, g := range allGrips() {
		frets := g.absolute(map[bool]int{true: 0, false: 5}[g.open])
		name := FormatFrets(frets) + " " + strings.Join(harmony.Spelled(g.degrees), " ")
		require.False(t, seen[name], name)
		seen[name] = true
		k := 0
		var fretted []int
		for i, f := range frets {
			if f < 0 {
				continue
			}
			above := neck.Tuning[i] + f - neck.Tuning[g.bassString] - frets[g.bassString] + g.degrees[0].Semitones()
			assert.Equal(t, g.degrees[k].Semitones()%12, above%12, "%s: string %d", name, 6-i)
			k++
			if f > 0 {
				fretted = append(fretted, i)
			}
		}
		least, ok := neck.Fingering(hand, frets)
		require.True(t, ok, name)
		effort, ok := plainEffort(neck, frets, fretted, g.fingers[:])
		require.True(t, ok, "%s: fingers %v", name, g.fingers)
		best, ok := plainEffort(neck, frets, fretted, least.Fingers)
		require.True(t, ok, name)
		assert.LessOrEqual(t, effort, best+0.8, "%s: fingers %v", name, g.fingers)
	}
	assert.Greater(t, len(seen), 250)
}

// The grips by which an arrangement is measured, frets counted from the bass's:
// common practice, no source.
var standardGrips = map[string]string{
	"maj7": "x 0 1 1 2 x, 0 x 1 1 0 x, 0 x 1 1 -1 x, 0 x 1 1 2 x, x 0 2 1 2 x, x 0 2 1 2 0, x 0 -1 1 0 x, " +
		"0 2 1 1 0 0, 0 x 1 1 0 2",
	"6": "0 x -1 1 0 x, x 0 -1 -1 0 0, x 0 2 2 2 2, x 0 -1 -1 0 x, x 0 2 -1 2 x, 0 x 2 1 2 x, x 0 2 2 2 x, " +
		"x 0 -1 -1 x x",
	"7": "x 0 -1 0 x -1, x 0 x 0 2 1, x 0 -1 0 x 1, 0 x 0 1 x 3, x 0 -1 0 0 2, 0 x 0 1 0 x, 0 2 0 1 0 0, " +
		"x 0 2 0 2 x, x 0 2 0 2 0, x 0 -1 0 0 x, x 0 -1 0 0 0, 0 x 0 1 2 x, x 0 -1 0 1 x, x 0 -1 0 -1 x, 0 x 0 1 2 2, " +
		"x 0 2 0 2 2, x 0 -1 0 -2 0, 0 x 0 1 1 x, 0 x 0 1 0 1, 0 x 0 1 -1 x, x 0 2 0 3 x, 0 x 0 2 0 x, 0 x 0 2 x x",
	"m7": "x 0 x 0 1 -2, 0 x 0 0 0 x, 0 x 0 0 -2 x, 0 2 0 0 0 0, x 0 2 0 1 x, x 0 2 0 1 0, x 0 -2 0 0 x, " +
		"x 0 -2 0 1 x, 0 x 0 0 0 2, x 0 -2 0 0 0",
	"m7b5":  "0 x 0 0 -1 x, x 0 1 0 1 x, x 0 1 2 1 x, x 0 x 0 1 -1",
	"dim7":  "0 x -1 0 -1 x, x 0 1 -1 1 x, x 0 x -1 1 -1",
	"m6":    "0 x -1 0 0 x, x 0 x -1 1 0, x 0 -2 -1 x x, x 0 2 2 1 2, 0 x 2 0 2 x, x 0 -2 -1 0 x, x 0 2 -1 1 x",
	"major": "0 2 2 1 0 0, x 0 2 2 2 0, 0 x x 1 0 0, 0 x 2 1 x x, x 0 -1 -3 x x, x 0 x -3 -2 x",
	"minor": "0 2 2 0 0 0, x 0 2 2 1 0, 0 x x 0 0 0, 0 x 2 0 x x, x 0 -2 -3 x x",
}

// setAside reports the grips that an arrangement does without: with a second bass
// string, where the line goes on, or with five voices, which the thumb and three
// fingers do not pluck.
func setAside(rel []string) bool {
	voices := 0
	for _, r := range rel {
		if r != "x" {
			voices++
		}
	}
	return rel[0] != "x" && rel[1] != "x" || voices > 4
}

func TestVocabularyHoldsTheStandardGrips(t *testing.T) {
	for quality, grips := range standardGrips {
		for grip := range strings.SplitSeq(grips, ", ") {
			want := strings.Fields(grip)
			if setAside(want) {
				continue
			}
			assert.True(t, slices.ContainsFunc(allGrips(), func(g knownGrip) bool {
				if g.degrees[0].Number != 1 {
					return false
				}
				for i, f := range want {
					n, err := strconv.Atoi(f)
					if err == nil && n != g.rel[i] {
						return false
					}
				}
				return true
			}), "%s %s", quality, grip)
		}
	}
}

// Where a published position (chords-db 0.5.1, see position) is a row of the
// vocabulary on the root, the row's tones are all in the chord it is published for.
func TestVocabularyAgreesWithThePublishedPositions(t *testing.T) {
	met := 0
	for _, p := range positions(t) {
		suffix, slash := p.Suffix, strings.Contains(p.Suffix, "/")
		if s, ok := sourceSuffixes[suffix]; ok {
			suffix, slash = s, false
		}
		c, err := harmony.ParseChord(p.Key + suffix)
		if err != nil || slash || unreadable[p.Key+" "+p.Suffix+" "+p.Frets] != "" {
			continue
		}
		frets := fretsOf(t, p.Frets)
		bass := lowestPlace(frets)
		for _, g := range vocabulary()[[2]int{gripStrings - bass.String, 0}] {
			if !slices.Equal(g.absolute(bass.Fret), frets) || StandardNeck().MIDI(bass)%12 != c.Root.Semitone() {
				continue
			}
			tones, own := uint16(0), uint16(0)
			for _, d := range g.degrees {
				tones |= bit(d)
			}
			for _, d := range c.Degrees {
				own |= bit(d)
			}
			if tones&^own != 0 {
				continue // another reading of the same frets
			}
			met++
			break
		}
	}
	assert.GreaterOrEqual(t, met, 125)
}

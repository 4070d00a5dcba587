package walk

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// counts is what has been counted in transcribed lines, counted in ours.
type counts struct {
	changes, roots, fifths, thirds int
	approach                       map[int]int // into roots on changes, by semitones
	beats, tones                   [5]int      // of bars of four beats
	moves                          map[int]int
	allMoves, turns, turnable      int
}

func newCounts() *counts { return &counts{approach: map[int]int{}, moves: map[int]int{}} }

// add counts a line. Tones are counted on beats that have no hit.
func (s *counts) add(l *Line, struck []bool) {
	notes := l.Notes
	for i, n := range notes {
		if at := l.lay.Half(n.At); l.lay.meter(n.At.Bar-1).Beats() == 4 && !struck[at] && !struck[at+1] {
			s.beats[n.At.Beat]++
			for _, d := range n.Chord.Degrees {
				if d.Number <= 7 && n.Chord.Note(d).Semitone() == n.Pitch.Semitone() {
					s.tones[n.At.Beat]++
				}
			}
		}
		if i == 0 {
			continue
		}
		by := n.Pitch.MIDI() - notes[i-1].Pitch.MIDI()
		s.allMoves++
		s.moves[by]++
		if i > 1 && by != 0 {
			if before := notes[i-1].Pitch.MIDI() - notes[i-2].Pitch.MIDI(); before != 0 {
				s.turnable++
				if (before > 0) != (by > 0) {
					s.turns++
				}
			}
		}
		if n.Chord.SoundsAs(notes[i-1].Chord) {
			continue
		}
		s.changes++
		switch {
		case n.Pitch.Semitone() == n.Chord.Root.Semitone():
			s.roots++
			s.approach[by]++
		case n.Degree.Number == 5:
			s.fifths++
		case n.Degree.Number == 3:
			s.thirds++
		}
	}
}

func percent(a, b int) float64 { return 100 * float64(a) / float64(max(b, 1)) }

func (s *counts) tone(beat int) float64 { return percent(s.tones[beat], s.beats[beat]) }

func (s *counts) halfStep() float64 { return percent(s.approach[1]+s.approach[-1], s.roots) }

// table sets ours beside the published figures: FiloBass (Riley and Dixon, ISMIR
// 2023, and a public recount of its scores; second-hand) and 88 solos of the
// Weimar Jazz Database (computed from its beat tracks).
func (s *counts) table() string {
	var b strings.Builder
	row := func(what string, ours float64, filobass, weimar string) {
		fmt.Fprintf(&b, "%-38s %6.1f %9s %7s\n", what, ours, filobass, weimar)
	}
	fmt.Fprintf(&b, "%-38s %6s %9s %7s\n", fmt.Sprintf("per cent of %d changes, %d moves", s.changes, s.allMoves), "ours", "FiloBass", "Weimar")
	row("on a change: root", percent(s.roots, s.changes), "68", "")
	row("  fifth", percent(s.fifths, s.changes), "7-17", "")
	row("  third", percent(s.thirds, s.changes), "6-8", "")
	row("into a root: half step", s.halfStep(), "53", "39")
	row("  half step below", percent(s.approach[1], s.roots), "31", "19")
	row("  half step above", percent(s.approach[-1], s.roots), "22", "20")
	row("  whole step above", percent(s.approach[-2], s.roots), "14", "9")
	row("  fourth below", percent(s.approach[5], s.roots), "11", "11")
	row("  fifth above", percent(s.approach[-7], s.roots), "6", "11")
	row("  whole step below", percent(s.approach[2], s.roots), "3.5", "3")
	for beat, weimar := range []string{"81", "60", "63", "54"} {
		row(fmt.Sprintf("chord tone on beat %d", beat+1), s.tone(beat+1), "", weimar)
	}
	row("line turns", percent(s.turns, s.turnable), "", "57-59")
	for _, m := range []struct {
		by       int
		filobass string
	}{{1, "20"}, {-1, "15"}, {-2, "13"}, {2, "7"}, {5, "6"}} {
		row(fmt.Sprintf("step of %+d", m.by), percent(s.moves[m.by], s.allMoves), m.filobass, "")
	}
	return b.String()
}

// seedsOf is how many seeds are composed with for each tune in each key: so many, half
// of them with -short; FOOTFALL_TEST_SEEDS asks for another number.
func seedsOf(usual uint64) uint64 {
	if asked, err := strconv.ParseUint(os.Getenv("FOOTFALL_TEST_SEEDS"), 10, 64); err == nil {
		return asked
	}
	if testing.Short() {
		return usual / 2
	}
	return usual
}

// keysOf lists by how many half steps up a tune, the n-th of all, is tried: so many,
// other ones for each tune, half of them with -short; all where FOOTFALL_TEST_SEEDS
// asks for seeds.
func keysOf(n, usual int) (up []int) {
	switch {
	case os.Getenv("FOOTFALL_TEST_SEEDS") != "":
		usual = 12
	case testing.Short():
		usual /= 2
	}
	for k := range usual {
		up = append(up, (n+k*12/usual)%12)
	}
	return up
}

// Lines in the default style over the built-in tunes have the shares of transcribed
// lines, within the bands that the project works to; all lie on the neck.
func TestLinesLikeTranscribedOnes(t *testing.T) {
	seeds := seedsOf(4)
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	reach := handOf(neck)
	s := newCounts()
	for i, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		for k, up := range keysOf(i, 4) {
			moved, _, err := tn.Transpose(tn.Key.Up(up), neck.HighestFret)
			require.NoError(t, err)
			for n := range seeds {
				seed := uint64(12*i+up)*seeds + n // others for each tune and key
				l, err := Compose(moved, Options{Range: neck.BassRange(), Seed: seed, Hand: reach})
				require.NoError(t, err)
				require.Less(t, l.Cost, impossible)
				s.add(l, strikes(&l.lay, true))
				if n == 0 && k < 2 {
					requireArranged(t, l.Tune(), neck, hand)
				}
			}
		}
	}
	t.Logf("%d seeds:\n%s", seeds, s.table())
	root := percent(s.roots, s.changes)
	require.True(t, root >= 60 && root <= 80, "root on a change: %.1f", root)
	require.True(t, s.halfStep() >= 40 && s.halfStep() <= 55, "half step into a root: %.1f", s.halfStep())
	for beat := 2; beat <= 3; beat++ {
		require.Less(t, s.tone(beat), s.tone(1), "chord tones most on beat 1")
		require.Greater(t, s.tone(beat), s.tone(4), "and least on beat 4")
	}
}

func handOf(neck fretboard.Neck) Hand {
	return Hand{
		StartMM: DefaultStartMM, SpeedMM: DefaultSpeedMM, ShiftMM: neck.ShiftMM,
		Positions: func(midi int) (all []int) {
			for _, s := range neck.Stances(midi) {
				all = append(all, s.Position)
			}
			return all
		},
	}
}

func requireArranged(t *testing.T, tn *tune.Tune, neck fretboard.Neck, hand fretboard.Hand) {
	t.Helper()
	for _, layer := range []fretboard.Layer{fretboard.Bass, fretboard.BassChanges, fretboard.BassHalves} {
		_, err := fretboard.Arrange(tn, neck, hand, layer)
		require.NoError(t, err, "%s in %s, %s", tn.Title, tn.Key, layer)
	}
}

func lineNotes(l *Line) []tune.LineNote {
	notes := make([]tune.LineNote, len(l.Notes))
	for i, n := range l.Notes {
		notes[i] = n.LineNote
	}
	return notes
}

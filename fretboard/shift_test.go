package fretboard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Distances by the fret formula L·(1 − 2^(−n/12)): frets 1 and 8 of 648 mm lie
// 203.4 mm apart (from 36.37 and 239.7).
func TestShiftMM(t *testing.T) {
	neck := StandardNeck()
	require.Zero(t, neck.ShiftMM(3, 3))
	require.InDelta(t, 648*(math.Pow(2, -1.0/12)-math.Pow(2, -8.0/12)), neck.ShiftMM(1, 8), 1e-9)
	require.InDelta(t, 203.4, neck.ShiftMM(8, 1), 0.1)
}

func TestStances(t *testing.T) {
	neck := StandardNeck()
	require.Equal(t, []Stance{{Place{6, 1}, 1}}, neck.Stances(41), "only the first finger plays fret 1 of string 6")
	require.Equal(t, []Stance{{Place{6, 7}, 4}, {Place{6, 7}, 5}, {Place{6, 7}, 6}, {Place{6, 7}, 7}, {Place{5, 2}, 1}, {Place{5, 2}, 2}}, neck.Stances(47))
	require.Len(t, neck.Stances(40), openPositions, "over an open string the hand may lie anywhere")
	require.Empty(t, neck.Stances(39))
	require.Empty(t, neck.Stances(61), "fret 16 of string 5")
}

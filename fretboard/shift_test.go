package fretboard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Distances by the fret formula L·(1 − 2^(−n/12)): frets 1 and 8 of 648 mm lie
// 199.4 mm apart (from 36.37 and 239.7).
func TestShiftMM(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	require.Zero(t, neck.ShiftMM(41, 43, hand), "frets 1 and 3")
	require.Zero(t, neck.ShiftMM(40, 55, hand), "from the open string")
	require.Zero(t, neck.ShiftMM(45, 57, hand), "open A")
	f1, f8 := 648*(1-math.Pow(2, -1.0/12)), 648*(1-math.Pow(2, -8.0/12))
	require.InDelta(t, f8-f1-hand.ReachMM, neck.ShiftMM(41, 53, hand), 1e-9, "F to the next F: fret 1 to string 5, fret 8")
	require.Equal(t, neck.ShiftMM(41, 53, hand), neck.ShiftMM(53, 41, hand))
	require.True(t, math.IsInf(neck.ShiftMM(41, 90, hand), 1))
}

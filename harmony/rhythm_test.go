package harmony_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

func TestRhythms(t *testing.T) {
	four := harmony.Meter{Upper: 4, Lower: 4}
	for text, want := range map[string]string{
		"1 2+": "1 2+", "1, 2 and": "1 2+", "1 2& | 1+,4and": "1 2+ | 1+ 4+", " 4 ": "4", "1|": "1 | ", "1 + 2 AND": "1+ 2+",
	} {
		r, err := harmony.ParseRhythm(four, text)
		require.NoError(t, err, text)
		require.Equal(t, want, r.String())
		again, err := harmony.ParseRhythm(four, r.String())
		require.NoError(t, err)
		require.Equal(t, r, again)
	}
	r, err := harmony.ParseRhythm(four, "1 2+ | 4+")
	require.NoError(t, err)
	require.Equal(t, [][]int{{0, 3}, {7}}, r.Bars)
	require.True(t, r.Swings())
	for _, text := range []string{"5", "0", "2 1", "1 1", "x", "1 2 3 4 5", "+", "-1", "1.5"} {
		_, err := harmony.ParseRhythm(four, text)
		require.ErrorContains(t, err, "such as 1 2+", text)
	}
	three, err := harmony.ParseRhythm(harmony.Meter{Upper: 3, Lower: 4}, "2 3")
	require.NoError(t, err)
	require.False(t, three.Swings())
}

package tune_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

func TestSectionsOfOtherMeters(t *testing.T) {
	tn, faults := tune.Check(tunetest.OddSteps, tune.Within(40, 60))
	require.Empty(t, faults)
	assert.Equal(t, tunetest.OddSteps, tune.Write(tn))
	assert.Equal(t, []string{"1:1 on Cmaj7=1:1", "1:4 push Dm7=1:4.5", "2:2 on Dm7=2:2", "2:3 push G7=2:3.5",
		"3:1 on G7=3:1", "3:2 on G7=3:2", "3:2.5 on G7=3:2.5 held 1"}, told(tn.Strikes(tune.BassHalves)))
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	var at []string
	for _, n := range line {
		at = append(at, beatText(n.At))
	}
	assert.Equal(t, "1:1 1:2 1:3 1:4 2:1 2:2 2:3 3:1 3:2 3:2.5", strings.Join(at, " "))
	for bar, seconds := range map[int]float64{1: 2, 2: 1.5, 3: 1.5} {
		placed, err := tn.Placed(bar, 0)
		require.NoError(t, err)
		assert.InDelta(t, seconds, placed.End().Duration().Seconds(), 1e-6)
	}
}

func TestFaultsOfSectionMeters(t *testing.T) {
	for from, to := range map[string][2]string{
		"meter  3/4":              {"meter  8/4", "line 14, column 8: found \"8/4\"; want a meter, 2/4 to 7/4, 6/8, 9/8 or 12/8"},
		`\1 /b3 \b2`:              {`\1 /b3 \b2 1`, "line 16, column 21: found 4 tokens in a bar of the bass row; want 3 tokens, one for each beat of 3/4"},
		"bass   | \\1 /b3 \\b2 |": {"bass | =A1 |", "line 16, column 8: found \"=A1\", a bar of another meter; want a bar of 3/4"},
		"meter  6/8\n":            {"meter 6/8\nmeter 6/8\n", "line 21, column 1: found a second meter line in this section; want one meter line a section"},
		"meter  6/8":              {"meter", "line 20, column 6: found nothing after meter; want a meter, 2/4 to 7/4, 6/8, 9/8 or 12/8"},
	} {
		_, faults := tune.Read(strings.Replace(tunetest.OddSteps, from, to[0], 1))
		require.NotEmpty(t, faults, from)
		assert.Equal(t, to[1], faults[0].Error())
	}
}

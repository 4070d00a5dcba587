package command

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The plan is that of the day by FOOTFALL_CLOCK, answers are kept with its time, and a
// moment that is none is bad input, whatever is asked.
func TestTheClockIsSetByTheEnvironment(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("FOOTFALL_CLOCK", "2031-05-06T12:00:00Z")
	out, _, code := runOn(nil, "today", "--json", "--data", dir)
	require.Zero(t, code)
	var plan struct{ Day string }
	require.NoError(t, json.Unmarshal([]byte(out), &plan))
	assert.Equal(t, "2031-05-06", plan.Day)
	_, _, code = runOn(strings.NewReader("3\nquit\n"), "drill", "--plain", "--data", dir)
	require.Zero(t, code)
	out, _, code = runOn(nil, "log", "export", "--data", dir)
	require.Zero(t, code)
	assert.Contains(t, out, "2031-05-06T12:00:0")
	assert.NotContains(t, out, "2026-")

	for _, args := range [][]string{{"today", "--json"}, {"drill", "--plain"}, {"chord", "Dm7"}, {}} {
		t.Setenv("FOOTFALL_CLOCK", "6 May")
		out, errs, code := runOn(strings.NewReader(""), append(args, "--data", dir)...)
		assert.Equal(t, ExitBadInput, code, args)
		assert.Empty(t, out, args)
		assert.Contains(t, errs, "FOOTFALL_CLOCK=6 May is no moment", args)
	}
}

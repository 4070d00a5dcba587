package harmony

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// English grammar: only one of a thing is singular, none and less are not.
func TestCounted(t *testing.T) {
	for want, c := range map[string]struct {
		n   int
		one string
	}{
		"1 minute": {1, "minute"}, "2 minutes": {2, "minute"}, "0 bars": {0, "bar"}, "1 pass": {1, "pass"}, "3 passes": {3, "pass"},
		"2 half steps": {2, "half step"}, "-1 beats": {-1, "beat"}, "21 bars": {21, "bar"},
	} {
		assert.Equal(t, want, Counted(c.n, c.one))
	}
}

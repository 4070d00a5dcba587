package tune

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Beside a bar's number a section's is set apart, so that it is not read as a minor chord.
func TestASectionTitleIsNoChord(t *testing.T) {
	for name, want := range map[string]string{
		"A": "A", "A-2": "A (2)", "Intro-12": "Intro (12)", "A2": "A2", "A-b": "A-b", "A-": "A-", "A-2-3": "A-2-3", "": "", "Ä-2": "Ä (2)",
	} {
		assert.Equal(t, want, SectionTitle(name), name)
	}
}

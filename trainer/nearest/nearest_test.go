package nearest_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/trainer/nearest"
)

func TestAdvice(t *testing.T) {
	tunes := []string{"lantern-street", "key-ring", "seven-crates", "short-ladder", "short-cut"}
	for word, want := range map[string]string{
		"key-rng":       "did you mean key-ring?",
		"KEY-RING!":     "did you mean key-ring?",
		"lantern":       "did you mean lantern-street?",
		"lanternstreet": "did you mean lantern-street?",
		"short":         "use lantern-street, key-ring, seven-crates, short-ladder, short-cut",
		"waltz":         "use lantern-street, key-ring, seven-crates, short-ladder, short-cut",
		"":              "use lantern-street, key-ring, seven-crates, short-ladder, short-cut",
	} {
		assert.Equal(t, want, nearest.Advice(word, tunes), word)
	}
	// A word of two letters is near to none: half of it would be another.
	assert.Equal(t, "use ab", nearest.Advice("ac", []string{"ab"}))
}

// The textbook example: kitten becomes sitting by three changes, more than a third
// of its letters; sitten by two. Common practice, no source.
func TestFewestChanges(t *testing.T) {
	_, ok := nearest.Word("kitten", []string{"sitting"})
	assert.False(t, ok)
	w, ok := nearest.Word("sitten", []string{"sitting"})
	assert.True(t, ok)
	assert.Equal(t, "sitting", w)
}

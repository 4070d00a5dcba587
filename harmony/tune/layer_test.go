package tune

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Every layer has a title of its own, and no title is a name of the commands but the bass.
func TestTitlesOfLayers(t *testing.T) {
	seen := map[string]bool{}
	for l := Bass; l <= BassHalves; l++ {
		assert.False(t, seen[l.Title()])
		seen[l.Title()] = true
		named, err := ParseLayer(l.Title())
		assert.Equal(t, l == Bass, err == nil && named == l, l.Title())
	}
}

package harmony

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The circle of keys as charts spell them: common practice, no source.
func TestKeysASemitoneApart(t *testing.T) {
	var major, minor []string
	for i := range 12 {
		major = append(major, Key{Tonic: Note{C, 0}}.Up(i).String())
		minor = append(minor, Key{Tonic: Note{A, 0}, Minor: true}.Up(i).String())
	}
	assert.Equal(t, []string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}, major)
	assert.Equal(t, []string{"Am", "Bbm", "Bm", "Cm", "C#m", "Dm", "Ebm", "Em", "Fm", "F#m", "Gm", "G#m"}, minor)
	assert.Equal(t, "F#", Key{Tonic: Note{G, 0}}.Up(-1).String())
}

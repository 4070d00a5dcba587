package harmony_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// Common practice, no source: how musicians read symbols out.
func TestSpoken(t *testing.T) {
	for symbol, want := range map[string]string{
		"C": "C major", "F#m": "F sharp minor", "Bbmaj7": "B flat major seven", "Dm7b5": "D minor seven flat five", "G7(b9,#11)": "G seven flat nine sharp eleven",
		"Edim7": "E diminished seven", "Bb/F": "B flat major over F", "Am6/9": "A minor six nine", "F13": "F thirteen", "C7sus4": "C seven sus four", "AbmMaj7": "A flat minor major seven",
		"Caug": "C augmented", "Cadd9": "C add nine", "Gm7/Bb": "G minor seven over B flat", "N.C.": "no chord",
	} {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		assert.Equal(t, want, c.Spoken())
	}
	for text, want := range map[string]string{"1": "one", "b3": "flat three", "bb7": "double flat seven", "#11": "sharp eleven", "b13": "flat thirteen"} {
		d, err := harmony.ParseDegree(text)
		require.NoError(t, err)
		assert.Equal(t, want, d.Spoken())
	}
}

// Every chord type that has a name of its own is said in letters and spaces alone.
func TestEveryQualityIsSpoken(t *testing.T) {
	said := map[string]string{}
	for _, row := range harmony.Qualities() {
		q, ok := harmony.QualityOf(row.Degrees)
		require.True(t, ok)
		words := q.Spoken()
		assert.Regexp(t, `^[a-z]+( [a-z]+)*$`, words, row.Name)
		assert.Empty(t, said[words], "%s and %s are said alike", row.Name, said[words])
		said[words] = row.Name + " "
	}
}

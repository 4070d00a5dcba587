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

// What is spoken is read again: as it was written, or in another spelling of the same.
func TestUnspoken(t *testing.T) {
	for said, want := range map[string]string{
		"flat three": "b3", "Flat 3": "b3", "double flat seven": "bb7", "sharp eleven": "#11", "five": "5",
		"one, flat three, five, flat five": "1 b3 5 b5", "up one up flat three down double flat seven": `/1 /b3 \bb7`,
		"mute 3 5 3 5 mute": "x 3 5 3 5 x", "muted, 3, 5, three, 5, muted": "x 3 5 3 5 x",
		"E flat minor seven over G flat": "Ebm7/Gb", "d minor seven flat five": "Dm7b5", "F sharp": "F#", "b flat": "Bb", "minor seven": "m7",
		"one, then the and of two": "1 2+", "the and of 2, then the and of 4": "2+ 4+", "string 5 fret three": "5 3", "fret 3": "3",
		"b3": "b3", "x-3-5-3-5-x": "x-3-5-3-5-x", "a": "a", "Bb": "Bb", "root position": "root position", "1 2+ | 3": "1 2+ | 3", "": "", "what": "what",
	} {
		assert.Equal(t, want, harmony.Unspoken(said), said)
	}
	for _, d := range harmony.Degrees {
		assert.Equal(t, d.String(), harmony.Unspoken(d.Spoken()))
	}
	for _, row := range harmony.Qualities() {
		q, ok := harmony.QualityOf(row.Degrees)
		require.True(t, ok)
		for _, root := range []harmony.Note{{Letter: harmony.C}, {Letter: harmony.B, Alter: -1}} {
			c := q.On(root)
			again, err := harmony.ParseChord(harmony.Unspoken(c.Spoken()))
			if assert.NoError(t, err, c.Spoken()) {
				assert.Equal(t, c.Identity(), again.Identity(), "%s: %s", c.Spoken(), harmony.Unspoken(c.Spoken()))
			}
		}
	}
}

// Package walk composes a walking bass line over a tune's chords, and says what
// is good and bad about any line and why.
//
// Composing is an exact best path over (bar, beat, pitch) with the costs of
// cost.go. The package knows pitches and beats, but neither strings nor frets:
// how far apart two notes lie for the hand is handed in as a function.
package walk

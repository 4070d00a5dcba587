// Package hearing turns the sound of one guitar into notes: when each began,
// which pitch it is, how sure that is, and whether a chord sounded above it.
//
// It is for a player who plays a bass line on the two lowest strings, E2 to
// about C4, with chords above it. Sound goes in block by block as it is
// captured, notes come out as soon as they can be told: physics asks about two
// periods of a tone, 24 ms for a low E, before its pitch can be known at all.
//
// The package is pure arithmetic on samples. It must never know where they
// come from, which clock runs, which tune is played or how it is scored.
// All times are seconds counted in samples from the first one pushed.
package hearing

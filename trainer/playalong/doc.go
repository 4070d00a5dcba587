// Package playalong holds a play-along from the count-in to the last pass: the
// arrangement as music, the transport, the ear that listens, the score of each
// pass and the tempo of the next.
//
// The faces show it and pass keys on. It knows no screen and no lines of text,
// and what a note is worth is for drills/take to say.
package playalong

// Package take is a pass from what is expected to how it went: musical places
// (bar, beat, part of the beat) turned into exact times and sample numbers, the
// notes and strikes that fall on them, the notes that were heard marked one by
// one and graded as a whole, and that said in words.
//
// It is pure. It never reads a clock, sounds, draws or stores anything; times
// and chance are handed to it, and where a note was heard from it knows only as
// far as a Played says.
package take

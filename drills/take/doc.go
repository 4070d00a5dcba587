// Package take knows when each thing of a pass is expected: it turns musical
// places (bar, beat, part of the beat) into exact times and sample numbers and
// back.
//
// It is pure. It never reads a clock, sounds, draws or stores anything; times
// and chance are handed to it.
package take

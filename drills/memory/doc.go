// Package memory knows what a player remembers: the items there are to
// remember, how an answer is graded, when an item is about to be forgotten, how
// fast it comes, and which item is worth asking next.
//
// It is pure. Days, times and chance are handed in. It never draws, sounds or
// stores anything, and it never learns where an answer came from beyond the way
// it was given.
package memory

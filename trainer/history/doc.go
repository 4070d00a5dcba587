// Package history keeps what was practised: sittings, answers, takes and what
// they say of each item, in one SQLite file that two programs may use at once,
// that outlives a kill, and that merges with the history of another machine.
//
// Answers and takes are the truth; item states, paces and tallies are worked out
// from them and can be worked out again at any time. The package asks
// drills/memory how an answer changes an item. It never knows what a question
// looks like, and never draws.
package history

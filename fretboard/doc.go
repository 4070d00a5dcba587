// Package fretboard knows the neck and the hand: tunings, places, geometry in
// millimetres, the shapes of a chord, what a shape is, and the easiest path of
// places that plays a whole tune.
//
// It is pure. It never draws, sounds, asks or stores anything.
package fretboard

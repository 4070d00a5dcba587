// Package sound makes what is heard: a click and plucked strings placed by
// sample number, the transport that decides which bar comes next, the clock
// that says what sounds now, and the same music written as audio and MIDI
// files.
//
// It must never know screens, scores of takes or the history. The generator
// (Engine) is pure: devices and wall clocks drive it from outside.
package sound

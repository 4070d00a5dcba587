// Package harmony holds the musical values that everything else stands on:
// spelled notes, intervals, degrees, chord symbols, scales and keys.
//
// All values are pure: the package reads and writes nothing, keeps no state,
// and knows neither guitars nor time.
package harmony

// Package progress makes the tables that look back on practice: days, answer
// times, degree against chord quality, the neck, tempo, offsets and what is
// due. Each table is made in this one place, for screens and commands alike.
//
// It is pure. It is handed counts and states, and never knows where they are
// kept or how a table is drawn.
package progress

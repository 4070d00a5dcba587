// Package today lays out the day's sitting: what is due, one new thing, the
// passages in work with the ramp where it was left, and a last pass for joy.
//
// It is pure: the same history, day and seed give the same plan. It never asks
// a question itself and never knows how a plan is shown or run.
package today

//go:build !race

package racetest

const watched = false

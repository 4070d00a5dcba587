package take

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/harmony"
)

func TestWords(t *testing.T) {
	c := harmony.Chord{Symbol: "C7", Degrees: []harmony.Degree{{Number: 1}, {Number: 3}, {Number: 5}, {Number: 7, Alter: -1}}}
	expected := append(line(500*ms, 48, 52, 55, 58, 48, 52), strike(3333*ms, 333*ms, 500*ms, 48, 64, 70))
	for i := range expected {
		expected[i].Chord = c
		for k := range expected[i].Notes {
			expected[i].Notes[k].Degree = c.DegreeOf(expected[i].Notes[k].MIDI)
		}
		expected[i].Degree = expected[i].Notes[0].Degree
	}
	expected[6].At.Bar, expected[6].At.Beat = 2, 3
	sc := Grade(expected, Heard{Notes: []Played{
		{Time: 5 * ms, MIDI: 48, String: 6},
		{Time: 505 * ms, MIDI: 40},
		{Time: 1005 * ms, MIDI: 54},
		{Time: 1580 * ms, MIDI: 58},
		{Time: 2005 * ms, MIDI: 48, String: 5},
		{Time: 3338 * ms, MIDI: 64, String: 5},
		{Time: 3340 * ms, MIDI: 74},
		{Time: 3341 * ms, MIDI: 76},
	}, Absent: []Span{{From: 2490 * ms, To: 2510 * ms}}}, DefaultSettings())
	var faults []string
	for i := range expected {
		faults = append(faults, sc.Fault(i))
	}
	assert.Equal(t, []string{
		"",
		"Bar 1 beat 2, C7: 3 (E) in the wrong octave.",
		"Bar 1 beat 3, C7: #11 (F#) played for 5 (G).",
		"Bar 1 beat 4, C7: b7 (Bb) came 80 ms late.",
		"Bar 2 beat 1, C7: 1 (C) on string 5, not 6.",
		"Bar 2 beat 2, C7: 3 (E) not heard.",
		"Bar 2 beat 3 and, C7: in the hit on 3: 9 (D) for b7 (Bb), 3 (E) added.",
	}, faults)
	assert.Equal(t, []string{
		"3 of 7 right (1 on another string), 1 missed, 1 in the wrong octave, 1 wrong, 1 too many, 1 not heard.",
		"5 ms late on average, spread 0 ms, no drift.",
		"On the offbeat: 1 of 1 right; swing 2.0 to 1, 2.0 to 1 asked; spread 0 ms.",
		"Worst bar: 1 (section A, bar 1): 1 missed, 1 in the wrong octave, 1 wrong.",
		"Worst degree: 3: 1 in the wrong octave of 3.",
		"Not a clean pass: 1 of 7 could not be heard: the input was away.",
	}, sc.Report())
}

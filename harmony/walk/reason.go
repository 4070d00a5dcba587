package walk

import "fmt"

// reason says in words why a note of a composed line stands where it does.
func reason(slots []slot, midi []int, i int) string {
	s := &slots[i]
	switch {
	case s.kept != nil:
		return "as you wrote it"
	case s.arrival:
		return arrivalReason(slots, midi, i)
	case i+1 < len(slots) && slots[i+1].arrival:
		if by := midi[i+1] - midi[i]; by != 0 {
			return fmt.Sprintf("%s %s", distance(by), target(&slots[i+1], midi[i+1]))
		}
	}
	return innerReason(slots, midi, i)
}

// target names the note over a new chord that a line is heading for.
func target(s *slot, midi int) string {
	if s.roles[mod12(midi)] == root {
		return "the next " + rootName(s)
	}
	return fmt.Sprintf("the %s of %s", lineDegree(s, midi), s.chord)
}

func rootName(s *slot) string {
	if s.chord.Bass != s.chord.Root {
		return "bass note"
	}
	return "root"
}

// distance says where a note lies that moves by so many semitones to the next.
func distance(by int) string {
	side := "below"
	if by < 0 {
		side = "above"
	}
	switch abs(by) {
	case 1:
		return "half step " + side
	case 2:
		return "whole step " + side
	case 3, 4:
		return "a third " + side
	case 5:
		return "a fourth " + side
	case 6:
		return "a tritone " + side
	case 7:
		return "a fifth " + side
	case 8, 9:
		return "a sixth " + side
	case 10, 11:
		return "a seventh " + side
	case 12:
		return "an octave " + side
	default:
		return "far " + side
	}
}

func arrivalReason(slots []slot, midi []int, i int) string {
	s := &slots[i]
	what := fmt.Sprintf("%s of %s", rootName(s), s.chord)
	if s.roles[mod12(midi[i])] != root {
		what = fmt.Sprintf("the %s in place of the root of %s", lineDegree(s, midi[i]), s.chord)
	}
	if i == 0 {
		return what
	}
	switch by := midi[i] - midi[i-1]; abs(by) {
	case 0:
		return what + ", held over from the chord before"
	case 1, 2:
		return fmt.Sprintf("%s, by step", what)
	}
	return what
}

func innerReason(slots []slot, midi []int, i int) string {
	s := &slots[i]
	d := lineDegree(s, midi[i])
	r := s.roles[mod12(midi[i])]
	if r <= colour {
		switch {
		case s.pedal == mod12(midi[i]):
			return fmt.Sprintf("the pedal, which is the %s of %s", d, s.chord)
		case i > 0 && abs(midi[i]-midi[i-1]) == 12:
			return fmt.Sprintf("the %s again, an octave away", d)
		case r == root && s.chord.Bass == s.chord.Root:
			return fmt.Sprintf("back to the root of %s", s.chord)
		default:
			return fmt.Sprintf("chord tone, the %s of %s", d, s.chord)
		}
	}
	kind := "scale step"
	if r == chrome {
		kind = "half step"
	}
	if i == 0 || i+1 == len(slots) {
		return fmt.Sprintf("%s, the %s", kind, d)
	}
	before, after := lineDegree(&slots[i-1], midi[i-1]), lineDegree(&slots[i+1], midi[i+1])
	in, out := midi[i]-midi[i-1], midi[i+1]-midi[i]
	switch {
	case before == after && in == -out:
		return fmt.Sprintf("%s around the %s", kind, after)
	case abs(in) <= 2 && abs(out) <= 2 && (in > 0) == (out > 0) && in != 0 && out != 0:
		return fmt.Sprintf("%s between the %s and the %s", kind, before, after)
	default:
		return fmt.Sprintf("%s into the %s", kind, after)
	}
}

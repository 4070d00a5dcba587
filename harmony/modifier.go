package harmony

// modifiers reads everything between the main number and the slash bass.
func (r *symbolReader) modifiers() error {
	open, pending := -1, false
	for r.at < len(r.runes) {
		switch c := r.peek(0); {
		case c == '(':
			if open >= 0 {
				return r.fault("a closing bracket first")
			}
			open, pending = r.at, true
			r.at++
		case c == ')':
			if open < 0 {
				return r.fault(wantQuality)
			}
			if pending {
				return r.fault(wantTension)
			}
			open = -1
			r.at++
		case c == ' ' && (open >= 0 || r.peek(1) == '('):
			r.at++
		case c == ',':
			if pending {
				return r.fault(wantTension)
			}
			pending = true
			r.at++
		case c == '/':
			if next := r.peek(1); open < 0 && !pending && (next == 0 || next >= 'A' && next <= 'Z' && next != 'M') {
				return nil
			}
			if pending {
				return r.fault(wantTension)
			}
			pending = true
			r.at++
		default:
			want := wantQuality
			if pending || open >= 0 {
				want = wantTension
			}
			if err := r.modifier(want); err != nil {
				return err
			}
			pending = false
		}
	}
	if open >= 0 {
		return r.fault("a closing bracket")
	}
	if pending {
		return r.fault(wantTension)
	}
	return nil
}

// modifier reads one tension, addition, omission, suspension or major seventh.
func (r *symbolReader) modifier(want string) error {
	q := &r.recipe
	start := r.at
	switch {
	case r.word("sus"):
		return r.suspension()
	case r.word("add"):
		return r.addition()
	case r.word("no", "omit"):
		return r.omission()
	case r.word("alt"):
		if q.minor || q.dim || q.major || q.sus != nil || q.seventh != (Degree{}) && q.top != 7 {
			return r.faultAt(start, "alt after a plain chord or a 7 only")
		}
		if q.seventh == (Degree{}) && r.peek(0) == '7' && !isDigit(r.peek(1)) {
			r.at++ // alt7
		}
		q.seventh = Degree{7, -1}
		q.alter(Degree{5, 1})
		q.alter(Degree{9, 1})
		return nil
	case r.word("aug"):
		q.alter(Degree{5, 1})
		return nil
	}
	if found, triangle := r.majorMark(); found {
		return r.lateMajorSeventh(start, triangle)
	}
	var step int8
	switch c := r.peek(0); {
	case accidental(c) != 0:
		step = accidental(c)
		r.at++
	case c == '+':
		step = 1
		r.at++
		if text := r.digits(); text == "" {
			q.alter(Degree{5, 1})
			return nil
		}
	case isMinus(c):
		step = -1
		r.at++
	}
	text := r.digits()
	if step == 1 && text == "7" && q.seventh == (Degree{}) {
		q.major = true // m#7
		q.extend(text)
		r.at++
		return nil
	}
	if step == 0 {
		switch text {
		case "6", "9", "11", "13":
			q.addNamed(text, 0)
		case "7":
			if q.seventh != (Degree{}) {
				return r.fault("one seventh only")
			}
			q.extend(text)
		default:
			return r.faultAt(start, want)
		}
		r.at += len(text)
		return nil
	}
	d, ok := alterations[alteration{step, text}]
	if !ok {
		if text == "" {
			return r.fault("the number that the accidental alters: 5, 6, 9, 11 or 13")
		}
		return r.fault("b5, #5, b6, b9, #9, #11 or b13")
	}
	r.at += len(text)
	q.alter(d)
	return nil
}

type alteration struct {
	step int8
	text string
}

// alterations lists the altered tones a chart writes.
var alterations = map[alteration]Degree{
	{-1, "5"}: {5, -1}, {1, "5"}: {5, 1}, {-1, "6"}: {6, -1}, {-1, "9"}: {9, -1}, {1, "9"}: {9, 1},
	{1, "4"}: {11, 1}, {1, "11"}: {11, 1}, {-1, "13"}: {13, -1},
}

// lateMajorSeventh reads the number after a major sign that stands behind other
// parts: m(maj7), o7M7, 6(maj7).
func (r *symbolReader) lateMajorSeventh(start int, triangle bool) error {
	q := &r.recipe
	text := r.digits()
	switch {
	case text == "" && start > 0 && r.runes[start] == 'M' && q.top > 0 && q.seventh == Degree{7, -1} && isDigit(r.runes[start-1]):
		q.seventh = Degree{7, 0} // 7M
		return nil
	case q.seventh != (Degree{}) && !q.dim:
		return r.faultAt(start, "one seventh only")
	case text == "" && triangle:
		text = "7"
	case text != "7" && text != "9" && text != "11" && text != "13":
		return r.fault("the number of the seventh, such as maj7")
	default:
		r.at += len(text)
	}
	if q.dim && q.seventh != (Degree{}) {
		// Two sevenths cannot share a letter: the lower one becomes the sixth.
		q.sixth = true
	}
	q.major = true
	q.extend(text)
	return nil
}

func (r *symbolReader) suspension() error {
	q := &r.recipe
	if q.dim || q.power {
		return r.faultAt(r.at-3, "add4 or add9; this chord has no third to suspend")
	}
	text := r.digits()
	r.at += len(text)
	switch text {
	case "", "4":
		q.suspend(Degree{4, 0})
	case "2":
		q.suspend(Degree{2, 0})
	case "24", "42":
		q.suspend(Degree{2, 0})
		q.suspend(Degree{4, 0})
	case "7", "9", "13":
		q.suspend(Degree{4, 0})
		if q.seventh != (Degree{}) {
			return r.faultAt(r.at-len(text), "one seventh only")
		}
		q.extend(text)
	default:
		return r.faultAt(r.at-len(text), "sus, sus2, sus4 or sus24")
	}
	return nil
}

func (r *symbolReader) addition() error {
	step := accidental(r.peek(0))
	if step == 2 || step == -2 {
		return r.fault(wantAdded)
	}
	if step != 0 {
		r.at++
	}
	text := r.digits()
	if !r.recipe.addNamed(text, step) {
		return r.fault(wantAdded)
	}
	r.at += len(text)
	return nil
}

const wantAdded = "a tone to add: 2, 4, 6, 9, 11, 13, b9, #9, #11, b6 or b13"

func (r *symbolReader) omission() error {
	text := r.digits()
	switch text {
	case "3", "5", "7", "9", "11":
	default:
		return r.fault("a tone to leave out: 3, 5, 7, 9 or 11")
	}
	r.at += len(text)
	_ = r.word("rd") || r.word("th")
	r.recipe.omit = append(r.recipe.omit, text)
	return nil
}

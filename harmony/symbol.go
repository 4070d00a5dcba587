package harmony

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxSymbol is the longest chord symbol that is read, in runes.
const MaxSymbol = 64

// What the reader asks for at each kind of fault.
const (
	wantRoot    = "a root, A to G, or N.C. for no chord"
	wantQuality = "a quality (m, maj, dim, aug, sus), a number (6, 7, 9, 11, 13), a tension (b9, #11) or a slash and a bass note"
	wantTension = "a tension such as b9, #11 or 13, or add, no or sus"
	wantBass    = "a bass note, A to G"
)

// ParseChord reads one chord symbol as working charts write it, with white
// space around it left out. Every error is a Fault. It takes time in
// proportion to the symbol's length, which MaxSymbol bounds.
//
// A capital after a slash is a bass note (C/E), anything else after a slash
// belongs to the chord (C6/9, Cm/maj7). An accidental goes with the root where
// it can: Bb5 is the power chord of Bb, and a flat five of B is B(b5). A 4 alone
// is sus4, alt7 is 7alt (common practice, no source).
func ParseChord(s string) (Chord, error) {
	s = strings.TrimSpace(s)
	if len(s) > 4*MaxSymbol {
		s = s[:4*MaxSymbol+1]
	}
	runes := []rune(s)
	if len(runes) > MaxSymbol {
		return Chord{}, Fault{Column: MaxSymbol + 1, Found: string(runes[MaxSymbol]), Want: fmt.Sprintf("at most %d characters", MaxSymbol)}
	}
	if isNoChord(s) {
		return Chord{Symbol: s, None: true}, nil
	}
	r := symbolReader{runes: runes}
	root, ok := r.note()
	if !ok {
		return Chord{}, r.fault(wantRoot)
	}
	if row, ok := tables().spelled[s[r.offset():]]; ok {
		return Chord{Symbol: s, Root: root, Bass: root, Degrees: row.Degrees}, nil
	}
	if err := r.quality(); err != nil {
		return Chord{}, err
	}
	if err := r.modifiers(); err != nil {
		return Chord{}, err
	}
	bass, err := r.bass(root)
	if err != nil {
		return Chord{}, err
	}
	return Chord{Symbol: s, Root: root, Bass: bass, Degrees: r.recipe.degrees()}, nil
}

func isNoChord(s string) bool {
	switch s {
	case "N.C.", "N.C", "NC", "NC.", "n.c.", "n.c", "nc", "n.C.":
		return true
	}
	return false
}

// symbolReader walks over a symbol and fills a recipe.
type symbolReader struct {
	runes  []rune
	at     int
	recipe recipe
}

func (r *symbolReader) fault(want string) error { return r.faultAt(r.at, want) }

func (r *symbolReader) faultAt(at int, want string) error {
	f := Fault{Column: at + 1, Want: want}
	if at < len(r.runes) {
		f.Found = string(r.runes[at])
	}
	return f
}

// offset counts the bytes of the note that was read.
func (r *symbolReader) offset() (n int) {
	for _, c := range r.runes[:r.at] {
		n += utf8.RuneLen(c)
	}
	return n
}

// peek returns the rune n places ahead, 0 past the end.
func (r *symbolReader) peek(n int) rune {
	if r.at+n < len(r.runes) {
		return r.runes[r.at+n]
	}
	return 0
}

// take moves past text if it stands here, in any case if fold is set.
func (r *symbolReader) take(text string, fold bool) bool {
	n := 0
	for _, want := range text {
		got := r.peek(n)
		if fold {
			got = unicode.ToLower(got)
		}
		if got != want {
			return false
		}
		n++
	}
	r.at += n
	return true
}

// ahead reports whether text stands here, in any case.
func (r *symbolReader) ahead(text string) bool {
	start := r.at
	found := r.take(text, true)
	r.at = start
	return found
}

// isMinus reports the signs that charts use as a minus.
func isMinus(c rune) bool { return c == '-' || c == '−' || c == '–' || c == '‑' }

// word moves past the first of the words that stands here, in any case.
func (r *symbolReader) word(words ...string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return r.take(w, true) })
}

func isDigit(c rune) bool { return c >= '0' && c <= '9' }

// digits reads the run of digits here without moving, at most two.
func (r *symbolReader) digits() string {
	n := 0
	for n < 3 && isDigit(r.peek(n)) {
		n++
	}
	return string(r.runes[r.at : r.at+n])
}

// note reads a capital letter and up to two accidentals. A second accidental
// that may start a tension stays: Bbb9 is Bb with a flat nine, while Bbb7 can
// only be the seventh chord of Bbb.
func (r *symbolReader) note() (Note, bool) {
	letter := strings.IndexRune("CDEFGAB", r.peek(0))
	if letter < 0 || r.peek(0) == 0 {
		return Note{}, false
	}
	r.at++
	n := Note{Letter: Letter(letter)}
	step := accidental(r.peek(0))
	switch {
	case step == 0:
		return n, true
	case step == 2:
		n.Alter = 2
		r.at++
		return n, true
	}
	n.Alter = step
	r.at++
	if accidental(r.peek(0)) == step && (!isDigit(r.peek(1)) || r.peek(1) == '7') {
		n.Alter += step
		r.at++
	}
	return n, true
}

// accidental returns the semitones an accidental sign stands for, 0 for none.
func accidental(c rune) int8 {
	switch c {
	case 'b', '♭':
		return -1
	case '#', '♯':
		return 1
	case '𝄫':
		return -2
	case '𝄪':
		return 2
	}
	return 0
}

// majorMark moves past a sign that makes a seventh major. Triangle reports the
// signs that bring the seventh without a number.
func (r *symbolReader) majorMark() (found, triangle bool) {
	switch {
	case r.take("Δ", false), r.take("△", false), r.take("∆", false):
		return true, true
	case r.take("^", false):
		return true, false
	case r.word("major", "maj"):
		return true, false
	case unicode.ToLower(r.peek(2)) != 'd' && r.word("ma"): // "madd9" is m and add9
		return true, false
	case unicode.ToLower(r.peek(1)) != 'i' && r.take("M", false): // "Mi7" is minor
		return true, false
	}
	return false, false
}

// quality reads what follows the root: the triad and the main number.
func (r *symbolReader) quality() error {
	q := &r.recipe
	major, triangle := r.majorMark()
	switch {
	case major:
		q.major, q.triangle = true, triangle
	case r.word("minor", "min", "mi"), r.take("m", false):
		q.minor = true
	case isMinus(r.peek(0)) && r.peek(1) != '5':
		r.at++
		q.minor = true
	case r.take("ø", false), r.take("Ø", false), r.take("h", false):
		q.minor, q.seventh = true, Degree{7, -1}
		q.alter(Degree{5, -1})
	case r.word("dim"), r.take("°", false), r.take("º", false), !r.ahead("omit") && r.take("o", false):
		q.dim = true
	case r.word("aug"), r.peek(0) == '+' && r.peek(1) != '5' && r.peek(1) != '4' && r.take("+", false):
		q.alter(Degree{5, 1})
	case r.word("dom"):
		if r.digits() == "" {
			q.seventh = Degree{7, -1}
		}
	case r.word("phryg"):
		q.sus, q.seventh = []Degree{{4, 0}}, Degree{7, -1}
		q.alter(Degree{9, -1})
	}
	if q.minor || q.dim || q.fifths != nil {
		if err := r.majorSeventh(); err != nil {
			return err
		}
	}
	return r.number()
}

// majorSeventh reads the sign of a major seventh over a minor, diminished or
// augmented triad where it stands before the number: mM7, -Δ, +maj7.
func (r *symbolReader) majorSeventh() error {
	start := r.at
	r.take("/", false)
	found, triangle := r.majorMark()
	if !found {
		r.at = start
		return nil
	}
	if !triangle && r.digits() == "" {
		return r.fault("the number of the seventh, such as maj7 or M9")
	}
	r.recipe.major, r.recipe.triangle = true, triangle
	return nil
}

// number reads the main number: 5, 6, 69, 7, 9, 11, 13 or 2.
func (r *symbolReader) number() error {
	q := &r.recipe
	text := r.digits()
	plain := !q.minor && !q.dim && !q.major && q.fifths == nil && q.seventh == Degree{}
	halfDiminished := q.minor && q.seventh != Degree{}
	switch text {
	case "":
		if q.triangle {
			q.seventh = Degree{7, 0}
		}
		return nil
	case "5":
		if !plain {
			return r.fault("b5 or #5 for an altered fifth; a 5 alone is a power chord")
		}
		q.power = true
	case "2":
		if !plain {
			return r.fault("add2 or add9")
		}
		q.add(Degree{9, 0})
	case "4":
		if !plain {
			return r.fault("sus4, add4 or 7sus for this chord")
		}
		q.suspend(Degree{4, 0})
	case "6", "69", "67":
		if q.dim || halfDiminished {
			return r.fault("add13 for a sixth over a diminished chord")
		}
		if text == "67" {
			q.seventh = Degree{7, -1}
			q.add(Degree{13, 0})
			break
		}
		q.sixth = true
		if text == "69" {
			q.add(Degree{9, 0})
		}
	case "7", "9", "11", "13":
		q.extend(text)
	default:
		return r.fault("one of 5, 6, 69, 7, 9, 11 or 13")
	}
	r.at += len(text)
	return nil
}

// bass reads the slash and the bass note that end the symbol, if there are any.
func (r *symbolReader) bass(root Note) (Note, error) {
	if r.at == len(r.runes) {
		return root, nil
	}
	r.at++
	bass, ok := r.note()
	if !ok {
		return Note{}, r.fault(wantBass)
	}
	if r.at < len(r.runes) {
		return Note{}, r.fault("nothing after the bass note")
	}
	return bass, nil
}

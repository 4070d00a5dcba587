package fretboard

import (
	"cmp"
	"slices"
	"strings"

	"footfall/harmony"
)

// Over is what a shape does over a chord that sounds with it.
type Over struct {
	Chord harmony.Chord
	// Degrees names each sounding string against the chord, low string first.
	Degrees []harmony.Degree
	// Role is what they make of the chord: "a rootless 9 with the third in the
	// bass".
	Role string
	// Outside are those of them that make nothing of it.
	Outside []harmony.Degree
	// Says puts all in words: "root-position m7b5 shape; over G7 it sounds 3 b7 9
	// 5: a rootless 9 with the third in the bass".
	Says string
}

// ReadOver tells what frets do over a chord, low string to high, −1 not
// played. A chord that is none (N.C.) gives no degrees and says so.
func (n Neck) ReadOver(frets []int, c harmony.Chord) Over {
	o := Over{Chord: c}
	notes, lowest := n.sounds(frets)
	var parts []string
	if readings := n.Read(frets); len(readings) > 0 {
		parts = append(parts, shapeOver(readings, c, notes, lowest))
	}
	if c.None || len(notes) == 0 {
		o.Says = strings.Join(append(parts, "there is no chord for it to sound over"), "; ")
		return o
	}
	for _, note := range notes {
		o.Degrees = append(o.Degrees, c.DegreeOf(note))
	}
	o.Role, o.Outside = n.role(frets, o, c.DegreeOf(lowest))
	if c.Bass != c.Root && lowest%12 != c.Bass.Semitone() {
		o.Role += ", but " + c.Bass.String() + " is not in the bass"
	}
	sounds := "over " + c.Symbol + " it sounds " + joinDegrees(o.Degrees) + ": " + o.Role
	o.Says = strings.Join(append(parts, sounds), "; ")
	return o
}

// shapeOver names a shape as a player who reads the chord would: over its own root, all
// tones of it, by a reading of that chord and not as another one, Gbdim7 as no F#m6.
// Else it is the plainest of the readings.
func shapeOver(readings []Reading, c harmony.Chord, notes []int, lowest int) string {
	plainest := readings[0]
	tones := c.Notes()
	has := func(midi int) bool {
		return slices.ContainsFunc(tones, func(n harmony.Note) bool { return n.Semitone() == midi%12 })
	}
	own := func(r Reading) bool {
		for _, d := range r.Chord.Degrees {
			if !has(r.Chord.Note(d).Semitone()) {
				return false
			}
		}
		return r.Chord.Root.Semitone() == c.Root.Semitone()
	}
	altered := alteredScale(c)
	if lowest%12 == c.Root.Semitone() && altered != 0 && !slices.ContainsFunc(notes, func(m int) bool { return altered&bit(c.DegreeOf(m)) == 0 }) {
		return "root-position altered 7 shape"
	}
	if c.None || lowest%12 != c.Root.Semitone() || own(plainest) || slices.ContainsFunc(notes, func(m int) bool { return !has(m) }) {
		return plainest.ShapeWords()
	}
	if i := slices.IndexFunc(readings, own); i >= 0 {
		return readings[i].ShapeWords()
	}
	row := c.Quality().Row()
	return "root-position " + cmp.Or(row.Says, row.Name) + " shape"
}

// ShapeWords names a shape as a player would: "root-position m7b5 shape",
// "first-inversion minor triad shape", "major triad shape with 9 in the bass".
func (r Reading) ShapeWords() string {
	words := r.qualityWords() + " shape"
	if before, ok := strings.CutSuffix(r.Inversion, " in the bass"); ok {
		return words + " with " + before + " in the bass"
	}
	if slices.Contains(r.Families, Rootless) {
		return "rootless " + words + " with the " + degreeWord(r.lowest(), r.Chord) + " in the bass"
	}
	return strings.ReplaceAll(r.Inversion, " ", "-") + " " + words
}

// qualityWords says the name of a quality.
func (r Reading) qualityWords() string {
	row := r.Chord.Quality().Row()
	return cmp.Or(row.Says, row.Name)
}

// role says what the sounding degrees make of the chord.
func (n Neck) role(frets []int, o Over, bass harmony.Degree) (says string, outside []harmony.Degree) {
	var own, sounding uint16
	for _, d := range o.Chord.Degrees {
		own |= bit(d)
	}
	for _, d := range o.Degrees {
		sounding |= bit(d)
	}
	foreign := sounding &^ own
	switch {
	case foreign == 0:
		return chordPart(o.Chord, own&^sounding, bass), nil
	case foreign == bit(bass) && sounding&^foreign == own:
		return "the whole chord with the " + degreeWord(bass, o.Chord) + " in the bass", nil
	}
	if altered := alteredScale(o.Chord); altered&foreign == foreign && altered&sounding == sounding {
		name := "an altered 7" + without(o.Chord, own&^sounding&^fifths(o.Chord)&^bit(harmony.Degree{Number: 9, Alter: 1}))
		if bass.Number != 1 {
			name += " with the " + degreeWord(bass, o.Chord) + " in the bass"
		}
		return name, nil
	}
	if name, ok := n.fuller(frets, o); ok {
		return name, nil
	}
	if foreign == bit(bass) {
		missing := own &^ sounding
		if bass.Number == 5 {
			missing &^= fifths(o.Chord) // the bass has it, altered
		}
		return "the chord" + without(o.Chord, missing) + " with the " + degreeWord(bass, o.Chord) + " in the bass", nil
	}
	for i, d := range o.Degrees {
		if foreign&bit(d) != 0 && !slices.Contains(o.Degrees[:i], d) {
			outside = append(outside, d)
		}
	}
	if len(outside) == 1 {
		return outside[0].String() + " lies outside the chord", outside
	}
	return harmony.Listed(harmony.Spelled(outside)) + " lie outside the chord", outside
}

// alteredScale is the mask of the altered scale, 1 b9 #9 3 b5 #5 b7, for an alt chord,
// and of nothing for any other.
func alteredScale(c harmony.Chord) (mask uint16) {
	for _, d := range []harmony.Degree{{Number: 3}, {Number: 5, Alter: 1}, {Number: 7, Alter: -1}, {Number: 9, Alter: 1}} {
		if !slices.Contains(c.Degrees, d) {
			return 0
		}
		mask |= bit(d)
	}
	return mask | 1 | bit(harmony.Degree{Number: 9, Alter: -1}) | bit(harmony.Degree{Number: 5, Alter: -1})
}

// chordPart says how much of a chord sounds where nothing else does.
func chordPart(c harmony.Chord, missing uint16, bass harmony.Degree) string {
	if missing == 0 {
		if bass.Number == 1 {
			return "the whole chord in root position"
		}
		return "the whole chord with the " + degreeWord(bass, c) + " in the bass"
	}
	if bass.Number == 1 {
		return "the chord" + without(c, missing)
	}
	return "the chord" + without(c, missing) + ", the " + degreeWord(bass, c) + " in the bass"
}

// without lists a chord's missing degrees.
func without(c harmony.Chord, missing uint16) string {
	var gone []string
	for _, d := range c.Degrees {
		if missing&bit(d) == 0 {
			continue
		}
		if d.Number == 1 {
			gone = append(gone, "root")
		} else {
			gone = append(gone, d.String())
		}
	}
	if len(gone) == 0 {
		return ""
	}
	return " without its " + harmony.Listed(gone)
}

// fuller names the chord on the same root that the shape makes of it: over G7,
// B F A D is a rootless 9. Its third and seventh agree with the chord's own.
func (n Neck) fuller(frets []int, o Over) (string, bool) {
	notes, lowest := n.sounds(frets)
	root := o.Chord.Root.Semitone()
	bass := (lowest - root + 120) % 12
	sounding := uint16(0)
	for _, m := range notes {
		sounding |= 1 << (m % 12)
	}
	var best Reading
	found := false
	for _, q := range qualities() {
		q.rootless, q.upper = true, false
		m, ok := q.read(rotate(sounding, root), bass)
		if !ok || found && m.cost >= best.cost {
			continue
		}
		if r := q.reading(m, root, bass, notes); agrees(r.Chord, o.Chord) {
			best, found = r, true
		}
	}
	if !found {
		return "", false
	}
	return best.fullerWords(), true
}

// fullerWords says a reading with its article: "a rootless 9 with the third in
// the bass".
func (r Reading) fullerWords() string {
	words := r.qualityWords()
	rootless := slices.Contains(r.Families, Rootless)
	if rootless {
		words = "rootless " + words
	}
	words = article(words) + " " + words
	var gone []string
	for _, d := range r.Omits {
		if d.Number != 1 {
			gone = append(gone, d.String())
		}
	}
	if len(gone) > 0 {
		words += " without " + harmony.Listed(gone)
	}
	if r.lowest().Number != 1 {
		words += " with the " + degreeWord(r.lowest(), r.Chord) + " in the bass"
	}
	return words
}

// agrees tells whether every third, fifth and seventh that both chords have is
// the same, no tension is altered in one and natural in the other, and neither
// suspends the third of the other.
func agrees(a, b harmony.Chord) bool {
	for _, d := range a.Degrees {
		for _, e := range b.Degrees {
			if d.Number == e.Number && d.Alter != e.Alter && (d.Number <= 7 || d.Alter == 0 || e.Alter == 0) {
				return false
			}
		}
	}
	return hasThird(a) == hasThird(b)
}

func hasThird(c harmony.Chord) bool {
	return slices.ContainsFunc(c.Degrees, func(d harmony.Degree) bool { return d.Number == 3 })
}

// fifths is the mask of a chord's fifths.
func fifths(c harmony.Chord) (mask uint16) {
	for _, d := range c.Degrees {
		if d.Number == 5 {
			mask |= bit(d)
		}
	}
	return mask
}

// degreeWord says a degree in words. A third or seventh that the chord has is
// just that; any other degree bears its alteration, for it belongs to a chord either
// way: "third", "flat fifth", "flat ninth", over a minor chord "major seventh".
func degreeWord(d harmony.Degree, c harmony.Chord) string {
	word := map[int8]string{
		1: "root", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth", 7: "seventh",
		9: "ninth", 11: "eleventh", 13: "thirteenth",
	}[d.Number]
	thirdOrSeventh := d.Number == 3 || d.Number == 7
	switch {
	case d.Number == 1, thirdOrSeventh && slices.Contains(c.Degrees, d):
		return word
	case d.Alter < 0:
		return "flat " + word
	case d.Alter > 0:
		return "sharp " + word
	case thirdOrSeventh:
		return "major " + word
	}
	return word
}

// article returns "a" or "an" for a chord's name: an 11, a 9, an m7.
func article(words string) string {
	for _, an := range []string{"11", "augmented", "m", "8"} {
		if strings.HasPrefix(words, an) && !strings.HasPrefix(words, "maj") && !strings.HasPrefix(words, "minor") {
			return "an"
		}
	}
	return "a"
}

func joinDegrees(degrees []harmony.Degree) string {
	return strings.Join(harmony.Spelled(degrees), " ")
}

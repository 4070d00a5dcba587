package harmony

// Scale is a scale by its name in the trade and its degrees from 1 up, without
// the octave.
type Scale struct {
	Name    string
	Degrees []Degree
}

// The scales of the trade. The names and the tones are common practice, no
// source.
var (
	ionian     = scaleOf("major", "1 2 3 4 5 6 7")
	dorian     = scaleOf("dorian", "1 2 b3 4 5 6 b7")
	phrygian   = scaleOf("phrygian", "1 b2 b3 4 5 b6 b7")
	lydian     = scaleOf("lydian", "1 2 3 #4 5 6 7")
	mixolydian = scaleOf("mixolydian", "1 2 3 4 5 6 b7")
	aeolian    = scaleOf("natural minor", "1 2 b3 4 5 b6 b7")
	locrian    = scaleOf("locrian", "1 b2 b3 4 b5 b6 b7")

	melodicMinor   = scaleOf("melodic minor", "1 2 b3 4 5 6 7")
	dorianFlat2    = scaleOf("dorian b2", "1 b2 b3 4 5 6 b7")
	lydianAug      = scaleOf("lydian augmented", "1 2 3 #4 #5 6 7")
	lydianDominant = scaleOf("lydian dominant", "1 2 3 #4 5 6 b7")
	mixolydianB6   = scaleOf("mixolydian b6", "1 2 3 4 5 b6 b7")
	locrianNat2    = scaleOf("locrian natural 2", "1 2 b3 4 b5 b6 b7")
	altered        = scaleOf("altered", "1 b2 #2 3 b5 #5 b7")

	harmonicMinor    = scaleOf("harmonic minor", "1 2 b3 4 5 b6 7")
	locrianNat6      = scaleOf("locrian natural 6", "1 b2 b3 4 b5 6 b7")
	majorSharp5      = scaleOf("major #5", "1 2 3 4 #5 6 7")
	dorianSharp4     = scaleOf("dorian #4", "1 2 b3 #4 5 6 b7")
	phrygianDominant = scaleOf("phrygian dominant", "1 b2 3 4 5 b6 b7")
	lydianSharp2     = scaleOf("lydian #2", "1 #2 3 #4 5 6 7")
	alteredBB7       = scaleOf("altered bb7", "1 b2 b3 3 b5 b6 bb7")

	wholeHalf = scaleOf("diminished, whole-half", "1 2 b3 4 b5 b6 6 7")
	halfWhole = scaleOf("diminished, half-whole", "1 b2 #2 3 #4 5 6 b7")
	wholeTone = scaleOf("whole tone", "1 2 3 #4 #5 b7")
)

// Modes of the major, melodic minor and harmonic minor scales, from the first
// degree of the scale to its seventh.
var (
	majorModes    = [7]*Scale{&ionian, &dorian, &phrygian, &lydian, &mixolydian, &aeolian, &locrian}
	melodicModes  = [7]*Scale{&melodicMinor, &dorianFlat2, &lydianAug, &lydianDominant, &mixolydianB6, &locrianNat2, &altered}
	harmonicModes = [7]*Scale{&harmonicMinor, &locrianNat6, &majorSharp5, &dorianSharp4, &phrygianDominant, &lydianSharp2, &alteredBB7}
)

func scaleOf(name, degrees string) Scale { return Scale{Name: name, Degrees: of(degrees)} }

// Notes spells the scale from a root.
func (s Scale) Notes(root Note) []Note {
	notes := make([]Note, len(s.Degrees))
	for i, d := range s.Degrees {
		notes[i] = d.Of(root)
	}
	return notes
}

// holds reports whether every tone of the chord is in the scale by its sound.
func (s Scale) holds(c Chord) bool {
	var in [12]bool
	for _, d := range s.Degrees {
		in[mod(d.Semitones(), 12)] = true
	}
	for above, has := range c.tones() {
		if has && !in[above] {
			return false
		}
	}
	return true
}

// Scale returns the scale that a line takes its steps from over the chord: the
// key's own where the chord is built of it (Em7 in C is phrygian, A7 in Dm
// phrygian dominant), else the one that the chord's family brings.
func (c Chord) Scale(in Key) Scale {
	families := [][7]*Scale{majorModes}
	if in.Minor {
		families = [][7]*Scale{majorModes, harmonicModes, melodicModes}
	}
	for i, modes := range families {
		tonic := in.Tonic
		if in.Minor && i == 0 {
			tonic = Degree{3, -1}.Of(tonic) // natural minor is a mode of the relative major
		}
		for n, d := range modes[0].Degrees {
			if d.Of(tonic).Semitone() == c.Root.Semitone() && modes[n].holds(c) {
				return *modes[n]
			}
		}
	}
	return c.familyScale()
}

// familyScale is the usual scale of a chord that does not belong to the key
// (common practice, no source): the first of its family's that holds the chord.
func (c Chord) familyScale() Scale {
	var choices []*Scale
	switch c.class() {
	case classMajor, classMajor7:
		choices = []*Scale{&ionian, &lydian, &lydianAug, &lydianSharp2}
	case classDominant:
		choices = []*Scale{&mixolydian, &lydianDominant}
	case classAltered:
		choices = []*Scale{&wholeTone, &phrygianDominant, &halfWhole, &altered, &mixolydianB6}
	case classMinor, classMinor7, classMinor6:
		choices = []*Scale{&dorian, &aeolian, &phrygian}
	case classMinorMajor7:
		choices = []*Scale{&melodicMinor, &harmonicMinor}
	case classHalfDiminished:
		choices = []*Scale{&locrian, &locrianNat2, &locrianNat6}
	case classDiminished:
		choices = []*Scale{&wholeHalf}
	case classAugmented:
		choices = []*Scale{&lydianAug, &wholeTone}
	case classSuspended:
		choices = []*Scale{&mixolydian, &phrygian, &phrygianDominant, &aeolian, &ionian}
	}
	for _, s := range choices {
		if s.holds(c) {
			return *s
		}
	}
	return *choices[0]
}

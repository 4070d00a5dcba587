package hearing

import (
	"math"
	"slices"
)

// sounding is a settled note that has not ended.
type sounding struct {
	id    int
	note  Note
	onset int
	peak  float64 // highest power so far
	rang  bool    // whether it was looked at for its ring
	rings bool    // and rang as a string does
}

const (
	// followed is the stretch a note's power is measured over: 64 ms.
	followed = 768
	// fall is the drop of power from the note's peak at which it has ended: 24 dB.
	fall = 1.0 / 250
)

// sound begins to follow a settled note. It ends the one before of its part; one that is
// only told because that is struck again is not looked at for its ring unless that rang as
// a string does: a vowel goes on by syllables.
func (a *Analyser) sound(id int, n Note, onset int, lifted bool) {
	kept, rang := 0, false
	for i := range a.sounding {
		s := &a.sounding[i]
		if s.note.Part == n.Part && s.onset < onset || len(a.sounding) == cap(a.sounding) && i == 0 {
			rang = rang || s.rings
			a.end(s, onset)
			continue
		}
		a.sounding[kept] = *s
		kept++
	}
	a.sounding = append(a.sounding[:kept], sounding{id: id, note: n, onset: onset, rang: lifted && !rang})
}

// follow ends the notes that have died away.
func (a *Analyser) follow() {
	kept := 0
	for i := range a.sounding {
		s := &a.sounding[i]
		p := a.power(s.note)
		s.peak = math.Max(s.peak, p)
		if n := a.n - s.onset; !s.rang && n >= ringFor && s.note.Part == Bass {
			s.rang = true
			a.ringOf(s)
		}
		if p < fall*s.peak {
			a.end(s, a.n-followed/2)
			continue
		}
		if kept != i {
			a.sounding[kept] = *s
		}
		kept++
	}
	a.sounding = a.sounding[:kept]
}

func (a *Analyser) end(s *sounding, at int) {
	s.note.Duration = math.Max(0, a.seconds(at)-s.note.Onset)
	a.emit(Ended, s.id, s.note)
}

// power is that of a note's first three partials now.
func (a *Analyser) power(n Note) float64 {
	x := a.at(a.n-followed, a.n)
	f := frequency(float64(n.MIDI) + n.Cents/100)
	sum := 0.0
	for k := 1; k <= 3; k++ {
		sum += powerAt(x, float64(k)*f)
	}
	return sum
}

// powerAt is that of a stretch at a frequency in Hz (Goertzel, "An Algorithm for the
// Evaluation of Finite Trigonometric Series", 1958).
func powerAt(x []float64, f float64) float64 {
	c := 2 * math.Cos(2*math.Pi*f/analysisRate)
	s1, s2 := 0.0, 0.0
	for _, v := range x {
		s1, s2 = v+c*s1-s2, s1
	}
	return s1*s1 + s2*s2 - c*s1*s2
}

func sortNotes(notes []Note) {
	slices.SortStableFunc(notes, func(x, y Note) int {
		switch {
		case x.Onset != y.Onset:
			if x.Onset < y.Onset {
				return -1
			}
			return 1
		case x.Part != y.Part:
			return int(x.Part) - int(y.Part)
		}
		return x.MIDI - y.MIDI
	})
}

package walk

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

// role is what a pitch class is to the chord it sounds over.
type role uint8

const (
	root   role = iota // the root, or the note that a slash bass names
	fifth              // the fifth, whole or altered
	third              // the third, or what a sus chord has for it
	colour             // the sixth, the seventh, and the root over a slash bass
	step               // a tone of the chord's scale
	chrome             // none of these
)

// slot is a place in the line that takes one note.
type slot struct {
	bar    int // of the pass, from 0
	at     tune.Position
	halves int
	chord  harmony.Chord
	roles  [12]role // by pitch class
	tones  [12]bool // the chord's, by pitch class
	// arrival is set on the first note over a new chord.
	arrival bool
	// weight is how much a beat asks for a chord tone.
	weight beatWeight
	// kept is the player's own token; nil where the note is to be composed.
	kept *tune.BassToken
}

// beatWeight ranks the beats of a bar.
type beatWeight uint8

const (
	downbeat beatWeight = iota // beat 1
	second                     // the beat after it
	mid                        // the start of the second half
	inner                      // any other beat
	last                       // the one before the bar line
)

func weightOf(m tune.Meter, beat int) beatWeight {
	switch {
	case beat == 1:
		return downbeat
	case beat == m.Beats():
		return last
	case beat == middle(m):
		return mid
	case beat == 2:
		return second
	default:
		return inner
	}
}

// grid lays out the notes of one pass of the form: one for each beat that the
// style plays, and the player's own notes in the bars that are kept.
func grid(t *tune.Tune, bars []tune.FormBar, style Style, fill []bool) []slot {
	var slots []slot
	roles := rolesCache{key: t.Key}
	lay, last := layOut(t, bars), -1
	number := func(bar, beat int, off bool) int {
		return lay.chords[lay.half(tune.Position{Bar: bar + 1, Beat: beat, Off: off})]
	}
	add := func(s slot) {
		s.roles = roles.of(s.chord)
		s.tones = tonesOf(s.chord)
		now := number(s.bar, s.at.Beat, s.at.Off)
		s.arrival = now != last
		last = now
		slots = append(slots, s)
	}
	for i, fb := range bars {
		if !fill[i] {
			addKept(t, fb, add)
			continue
		}
		first := len(slots)
		for beat := 1; beat <= t.Meter.Beats(); beat++ {
			c, ok := fb.Bar.ChordAt(t.Meter, beat, false)
			if !ok || c.None || !style.plays(t.Meter, beat, number(i, beat, false) != last) {
				continue
			}
			add(slot{bar: i, at: tune.Position{Bar: i + 1, Beat: beat}, halves: 2, chord: c, weight: weightOf(t.Meter, beat)})
		}
		holdOn(t.Meter, fb.Bar, slots[first:])
	}
	return slots
}

// holdOn lengthens the notes of a bar to the next one, the bar line or N.C.
func holdOn(m tune.Meter, b *tune.Bar, slots []slot) {
	for i := range slots {
		end := m.Beats() + 1
		if i+1 < len(slots) {
			end = slots[i+1].at.Beat
		}
		for beat := slots[i].at.Beat + 1; beat < end; beat++ {
			if c, ok := b.ChordAt(m, beat, false); !ok || c.None {
				break
			}
			slots[i].halves += 2
		}
	}
}

// addKept adds the player's notes of a bar.
func addKept(t *tune.Tune, fb tune.FormBar, add func(slot)) {
	one := func(tok *tune.BassToken, beat int, off bool, halves int) {
		c, ok := fb.Bar.ChordAt(t.Meter, beat, off)
		if tok.Kind != tune.BassNote || !ok || c.None {
			return
		}
		w := weightOf(t.Meter, beat)
		if off {
			w = inner
		}
		add(slot{bar: fb.Number - 1, at: tune.Position{Bar: fb.Number, Beat: beat, Off: off}, halves: halves, chord: c, weight: w, kept: tok})
	}
	for i := range fb.Bar.Bass {
		b := &fb.Bar.Bass[i]
		if b.Split {
			one(&b.First, i+1, false, 1)
			one(&b.Second, i+1, true, 1)
		} else {
			one(&b.First, i+1, false, 2)
		}
	}
}

// rolesCache works out each chord of a tune once.
type rolesCache struct {
	key  harmony.Key
	seen map[harmony.Identity][12]role
}

func (rc *rolesCache) of(c harmony.Chord) [12]role {
	id := c.Identity()
	if r, ok := rc.seen[id]; ok {
		return r
	}
	if rc.seen == nil {
		rc.seen = map[harmony.Identity][12]role{}
	}
	r := rolesOf(c, rc.key)
	rc.seen[id] = r
	return r
}

// rolesOf sorts the twelve pitch classes over a chord in a key.
func rolesOf(c harmony.Chord, key harmony.Key) (roles [12]role) {
	for i := range roles {
		roles[i] = chrome
	}
	for _, n := range c.Scale(key).Notes(c.Root) {
		roles[n.Semitone()] = step
	}
	suspended := true
	for _, d := range c.Degrees {
		suspended = suspended && d.Number != 3
	}
	for _, d := range c.Degrees {
		r := step
		switch {
		case d.Number == 1, d.Number == 6, d.Number == 7:
			r = colour
		case d.Number == 3, suspended && (d.Number == 4 || d.Number == 2 || d.Number == 11):
			r = third
		case d.Number == 5:
			r = fifth
		}
		class := c.Note(d).Semitone()
		roles[class] = min(roles[class], r)
	}
	roles[c.Bass.Semitone()] = root
	return roles
}

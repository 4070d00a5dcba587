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
	start  int // half beats from the start of the pass
	halves int
	chord  harmony.Chord
	roles  [12]role // by pitch class
	tones  [12]bool // the chord's, by pitch class
	// arrival is set on the first note over a new chord.
	arrival bool
	// due is set on an arrival whose root the ear waits for.
	due bool
	// hit is set where a chord is struck while the note sounds.
	hit bool
	// weight is how much a beat asks for a chord tone.
	weight beatWeight
	// goal is the note that the plan has for a bar's first, 0 for no plan; heading
	// is 1 where the plan rises through the bar, −1 where it falls.
	goal, heading int
	// pedal is the pitch class that a pedal style comes back to, −1 for none.
	pedal int
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

// gridding lays out the notes of a pass of the form.
type gridding struct {
	*layout
	style  Style
	seed   uint64
	struck []bool
	roles  rolesCache
	plan   plan
	last   int // the number of the chord of the note before
}

func newGridding(l *layout, o Options) *gridding {
	if l.struckAll == nil {
		l.struckAll = strikes(l, true)
	}
	return &gridding{
		layout: l, style: o.Style, seed: o.Seed, struck: l.struckAll, roles: rolesCache{key: l.tune.Key},
		plan: planOf(l, o), last: -1,
	}
}

// grid lays out all bars: one note for each place that the style plays, and the
// player's own notes in the bars that are kept.
func (g *gridding) grid(fill []bool) []slot {
	var slots []slot
	for i := range g.bars {
		if fill[i] {
			slots = append(slots, g.fresh(i)...)
		} else {
			slots = append(slots, g.kept(i)...)
		}
	}
	return slots
}

// add works out a slot and adds it.
func (g *gridding) add(slots []slot, s slot) []slot {
	s.bar = s.at.Bar - 1
	s.start = g.Half(s.at)
	s.roles, s.tones = g.roles.of(s.chord), tonesOf(s.chord)
	now := g.chords[s.start]
	s.arrival = now != g.last
	s.due = s.arrival && g.due[now]
	g.last = now
	if s.weight = weightOf(g.meter(s.bar), s.at.Beat); s.at.Off {
		s.weight = inner
		if s.at.Beat == g.meter(s.bar).Beats() {
			s.weight = last
		}
	}
	return append(slots, s)
}

// fresh lays out the notes of a bar that is to be composed.
func (g *gridding) fresh(i int) []slot {
	var slots []slot
	m := g.meter(i)
	chance := mix(g.seed, uint64(i), uint64(g.style))
	for half := range 2 * m.Beats() {
		at := tune.Position{Bar: i + 1, Beat: half/2 + 1, Off: half%2 == 1}
		c, ok := g.chordAt(g.Half(at))
		if !ok || !g.style.plays(m, half, g.chords[g.Half(at)] != g.last, chance) {
			continue
		}
		slots = g.add(slots, slot{at: at, chord: c, pedal: g.plan.pedals[i]})
	}
	for k := range slots {
		s := &slots[k]
		if k == 0 {
			s.goal = g.plan.goals[i]
		}
		s.heading = g.plan.headings[i]
		end := g.Start(i + 2)
		if k+1 < len(slots) {
			end = slots[k+1].start
		}
		for at := s.start; at < end; at++ {
			if _, ok := g.chordAt(at); !ok {
				break
			}
			s.halves++
			s.hit = s.hit || g.struck[at] && g.chords[at] == g.chords[s.start]
		}
	}
	return slots
}

// kept lays out the player's notes of a bar.
func (g *gridding) kept(i int) []slot {
	var slots []slot
	one := func(tok *tune.BassToken, beat int, off bool, halves int) {
		at := tune.Position{Bar: i + 1, Beat: beat, Off: off}
		if c, ok := g.chordAt(g.Half(at)); ok && tok.Kind == tune.BassNote {
			slots = g.add(slots, slot{at: at, halves: halves, chord: c, pedal: -1, kept: tok})
		}
	}
	for n := range g.bars[i].Bar.Bass {
		b := &g.bars[i].Bar.Bass[n]
		if b.Split {
			one(&b.First, n+1, false, 1)
			one(&b.Second, n+1, true, 1)
		} else {
			one(&b.First, n+1, false, 2)
		}
	}
	return slots
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

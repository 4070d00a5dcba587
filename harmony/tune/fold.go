package tune

import (
	"cmp"
	"slices"
	"strings"
)

// seventh is the least leap, in semitones, that folding a line may not add.
const seventh = 10

// The costs of another direction where a line is folded: anywhere, inside a bar on
// top of that, and where the token has been changed before (common practice, no
// source; a phrase rather begins with a bar).
const (
	turnCost   = 3
	insideCost = 1
	againCost  = 100 // as so many leaps
)

// nearestFit finds the line inside the range that is folded best: a best path over
// the at most few pitches each note has in the range. settled marks the notes whose
// directions are rather kept, nil for none. It returns nil where there is none.
func nearestFit(notes []LineNote, written []int, settled []bool, r Range) []LineNote {
	type state struct {
		midi                  int
		leaps, turned, strays int
		dir                   Direction
		pin, from             int
	}
	better := func(a, b state) bool {
		switch {
		case a.leaps != b.leaps:
			return a.leaps < b.leaps
		case a.turned != b.turned:
			return a.turned < b.turned
		}
		return a.strays < b.strays
	}
	layers := make([][]state, len(notes))
	for i := range notes {
		n := &notes[i]
		class, span := n.Pitch.Semitone(), r.of(n)
		if i == 0 {
			if first := r.first(n); span.has(first) {
				layers[0] = []state{{midi: first, dir: n.Direction, pin: n.Pin}}
			}
			for str, s := range r.Strings {
				if midi := LowestFrom(s.Low, class); n.Pin == 0 && midi <= s.High && midi != r.first(n) && (settled == nil || !settled[0]) {
					layers[0] = append(layers[0], state{midi: midi, turned: turnCost, strays: abs(midi - written[0]), dir: n.Direction, pin: str})
				}
			}
			slices.SortFunc(layers[0], func(a, b state) int { return cmp.Or(cmp.Compare(a.midi, b.midi), cmp.Compare(a.pin, b.pin)) })
			continue
		}
		leapt := abs(written[i]-written[i-1]) >= seventh
		for midi := LowestFrom(span.Low, class); midi <= span.High; midi += 12 {
			best, found := state{}, false
			for j, before := range layers[i-1] {
				for _, d := range []Direction{n.Direction, Nearest, Rise, Fall} {
					if r.from(before.midi, n, d) != midi {
						continue
					}
					s := state{midi: midi, leaps: before.leaps, turned: before.turned, strays: before.strays + abs(midi-written[i]), dir: d, pin: n.Pin, from: j}
					if d != n.Direction {
						s.turned += turnCost
						if n.At.Beat != 1 || n.At.Off {
							s.turned += insideCost
						}
						if settled != nil && settled[i] {
							s.leaps += againCost
						}
						if !leapt && abs(midi-before.midi) >= seventh {
							s.leaps++
						}
					}
					if !found || better(s, best) {
						best, found = s, true
					}
					break
				}
			}
			if found {
				layers[i] = append(layers[i], best)
			}
		}
	}
	last := layers[len(layers)-1]
	if len(last) == 0 {
		return nil
	}
	at := 0
	for j := range last {
		if better(last[j], last[at]) {
			at = j
		}
	}
	fits := make([]LineNote, len(notes))
	copy(fits, notes)
	for i := len(notes) - 1; i >= 0; i-- {
		s := layers[i][at]
		fits[i].Pitch = spell(notes[i].Pitch.Note, s.midi)
		fits[i].Direction, fits[i].Pin = s.dir, s.pin
		at = s.from
	}
	return fits
}

// Fold returns the tune with the directions of its bass row changed so that the
// whole line stays inside a range, in every pass of the form, and the rows that
// changed as they are written, each below its section's name. It reports false
// where no such row was found; a tune whose line fits is returned as it is.
func (t *Tune) Fold(r Range) (folded *Tune, rows string, ok bool) {
	// A token that makes a new leap in another pass is left alone at the next try.
	const tries = 8
	_, as, _ := t.spread(r)
	var settled []Position
	fewest := 0
	for range tries {
		out := t.turned(r, settled)
		if out == nil {
			break
		}
		_, now, bars := out.spread(r)
		notes, _ := out.lineNotes()
		written, leaps := writtenIn(bars), 0
		for i := 1; i < len(now); i++ {
			if abs(now[i]-now[i-1]) >= seventh && abs(as[i]-as[i-1]) < seventh {
				leaps++
				settled = append(settled, written(notes[i].At))
			}
		}
		if folded == nil || leaps < fewest {
			folded, fewest = out, leaps
		}
		if leaps == 0 {
			break
		}
	}
	if folded == nil {
		return nil, "", false
	}
	return folded, folded.otherRows(t), true
}

// writtenIn returns where a token of the pass stands first: in the same bar of the same
// section.
func writtenIn(bars []FormBar) func(at Position) Position {
	first := map[*Bar]int{}
	for i := len(bars) - 1; i >= 0; i-- {
		first[bars[i].Bar] = i + 1
	}
	return func(at Position) Position {
		at.Bar = first[bars[at.Bar-1].Bar]
		return at
	}
}

// turned changes one direction after the other until the line stays inside the
// range, those of settled places last; nil where that leads nowhere.
func (t *Tune) turned(r Range, settled []Position) *Tune {
	out := *t
	out.Sections = slices.Clone(t.Sections)
	for i := range out.Sections {
		s := &out.Sections[i]
		s.Bars = slices.Clone(s.Bars)
		for j := range s.Bars {
			s.Bars[j].Bass = slices.Clone(s.Bars[j].Bass)
		}
	}
	const most = 64
	settled = slices.Clone(settled)
	for range most {
		notes, as, bars := out.spread(r)
		old := make([]bool, len(notes))
		inside, written := true, writtenIn(bars)
		for i := range notes {
			old[i] = slices.Contains(settled, written(notes[i].At))
			inside = inside && r.of(&notes[i]).has(as[i]) && r.has(as[i])
		}
		if inside {
			return &out
		}
		fits := nearestFit(notes, as, old, r)
		i := slices.IndexFunc(fits, func(n LineNote) bool {
			tok := tokenAt(bars, n.At)
			return n.Direction != tok.Direction || n.Pin != tok.Pin
		})
		if i < 0 {
			return nil
		}
		tok := tokenAt(bars, fits[i].At)
		tok.Direction, tok.Pin = fits[i].Direction, fits[i].Pin
		settled = append(settled, written(fits[i].At))
	}
	return nil
}

// spread resolves the row as it stands, whether it stays inside or not.
func (t *Tune) spread(r Range) (notes []LineNote, written []int, bars []FormBar) {
	notes, bars = t.lineNotes()
	written = make([]int, len(notes))
	for i := range notes {
		if i == 0 {
			written[i] = r.first(&notes[i])
		} else {
			written[i] = r.from(written[i-1], &notes[i], notes[i].Direction)
		}
	}
	return notes, written, bars
}

// tokenAt is the token of the bass row at a place of the pass.
func tokenAt(bars []FormBar, at Position) *BassToken {
	beat := &bars[at.Bar-1].Bar.Bass[at.Beat-1]
	if at.Off {
		return &beat.Second
	}
	return &beat.First
}

// otherRows are the bass rows that the tune writes otherwise than another of the
// same sections, each below its section's name: a row that copies bars is another
// where those are.
func (t *Tune) otherRows(than *Tune) string {
	var b strings.Builder
	was := strings.Split(Write(than), "\n")
	section := ""
	for i, line := range strings.Split(Write(t), "\n") {
		if strings.HasPrefix(line, "[") {
			section = line
		}
		if strings.HasPrefix(line, BassRow.String()+" ") && !slices.Equal(strings.Fields(line), strings.Fields(was[i])) {
			b.WriteString(section + "\n" + line + "\n")
		}
	}
	return b.String()
}

package transcribe

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Tune makes a tune of the score, its bass line on the range low to high (MIDI
// note numbers, both included; at least an octave, else there is no line). It
// lists what the tune does not hold. Bars that come again become one section
// that the form names twice.
func (s *Score) Tune(low, high int) (*tune.Tune, []Loss) {
	b := builder{score: s, low: low, high: high, losses: slices.Clone(s.Told)}
	b.out = &tune.Tune{
		Title:  s.Title,
		Meter:  s.Meter,
		Tempo:  s.Tempo,
		Swing:  harmony.Swing{Ratio: s.Swing},
		Trains: s.Trains,
	}
	b.header()
	for from := 0; from < len(s.Bars); {
		to := from + 1
		for to < len(s.Bars) && !s.Bars[to].Starts && s.MeterOf(to) == s.MeterOf(from) {
			to++
		}
		b.segment(from, to)
		from = to
	}
	b.form()
	return b.out, b.losses
}

// Untitled is the title of a tune whose source names none.
const Untitled = "Untitled"

// builder makes a tune, segment by segment in playing order.
type builder struct {
	score     *Score
	low, high int
	out       *tune.Tune
	losses    []Loss
	order     []string
	// meter is that of the section that is being built.
	meter tune.Meter
	// entries hold, for each section, where the line stood before it each time.
	entries [][]entry
	// chord sounds at the end of what has been built.
	chord *harmony.Chord
	// prev is the last bass note as folded, prevFile as the score has it.
	prev, prevFile int
	// until is how many half beats the last note reaches into the next bar.
	until           int
	started         bool
	folded, octaves int
	unnamed         int
	// Notes that the line does not hold as they are.
	bare, crowded, late, moved count
}

// count is how many notes share a fate, and the bar of the first.
type count struct{ n, first int }

func (c *count) add(bar int) {
	if c.n == 0 {
		c.first = bar
	}
	c.n++
}

func (b *builder) lose(bar int, format string, args ...any) {
	b.losses = append(b.losses, Loss{Bar: bar, What: fmt.Sprintf(format, args...)})
}

func (b *builder) open(kind, format string, args ...any) {
	b.losses = append(b.losses, Loss{What: fmt.Sprintf(format, args...), Kind: kind, Grade: PutIn})
}

func (b *builder) change(format string, args ...any) {
	b.losses = append(b.losses, Loss{What: fmt.Sprintf(format, args...), Grade: Changed})
}

func (b *builder) header() {
	t := b.out
	if strings.TrimSpace(t.Title) == "" {
		t.Title = Untitled
	}
	if b.score.Key != nil {
		t.Key = *b.score.Key
	} else {
		var chords []harmony.Chord
		for _, bar := range b.score.Bars {
			for _, c := range bar.Chords {
				chords = append(chords, c.Chord)
			}
		}
		var next harmony.Key
		if t.Key, next = GuessKey(chords); next != t.Key {
			b.open(Key, "no key is named: %s fits the chords, and %s almost as well", t.Key, next)
		} else {
			b.open(Key, "no key is named: %s fits the chords", t.Key)
		}
	}
	switch {
	case t.Tempo == 0:
		t.Tempo = defaultTempo
		b.open(Tempo, "no tempo is named: %d is put in", defaultTempo)
	case t.Tempo < tune.LowestTempo || t.Tempo > tune.HighestTempo:
		b.lose(0, "tempo %g is put within %d to %d", t.Tempo, tune.LowestTempo, tune.HighestTempo)
		t.Tempo = min(max(t.Tempo, tune.LowestTempo), tune.HighestTempo)
	}
	t.Tempo = math.Round(t.Tempo*1000) / 1000
	if r := t.Swing.Ratio; r.Long < 1 || r.Short < 1 {
		t.Swing.Ratio = tune.Ratio{Long: 1, Short: 1}
	}
}

// segment builds the bars from up to to as a section, or finds that a section
// already holds them.
func (b *builder) segment(from, to int) {
	section := tune.Section{Bars: make([]tune.Bar, to-from), Comping: b.score.Bars[from].Comping}
	b.meter = b.score.MeterOf(from)
	if b.meter != b.out.Meter {
		section.Meter = b.meter
	}
	start := *b
	for i := range section.Bars {
		b.bar(&section, i, from+i)
	}
	b.fillRows(&section)
	base := sectionName(b.score.Bars[from].Section)
	for i := range b.out.Sections {
		known := &b.out.Sections[i]
		if base != "" && known.Name != base && !numbered(known.Name, base) {
			continue
		}
		fit := start.enter(known, &section)
		// Once notes had to change their octave, which one they stand in is free: the
		// known section will do where it stays inside.
		if !fit.same {
			continue
		}
		exact := fit.exact || start.reenter(known, &section, b.entries[i])
		if !exact && (b.folded == 0 || !fit.inside) {
			continue
		}
		if !exact && fit.last != 0 {
			b.prev = fit.last
		}
		b.entries[i] = append(b.entries[i], entry{start.prev, start.started})
		b.order = append(b.order, known.Name)
		return
	}
	section.Name = b.freshName(base)
	b.out.Sections = append(b.out.Sections, section)
	b.entries = append(b.entries, []entry{{start.prev, start.started}})
	b.order = append(b.order, section.Name)
}

// entry is where the line stood before a section: a pitch, if it had started.
type entry struct {
	prev    int
	started bool
}

// reenter gives a known section's first note a direction that leads to the right
// pitch from every place the section is entered from, if there is one and the
// section then does for the segment.
func (b *builder) reenter(known, section *tune.Section, entries []entry) bool {
	for i := range known.Bars {
		for beat := range known.Bars[i].Bass {
			at := &known.Bars[i].Bass[beat]
			tok := &at.First
			if tok.Kind != tune.BassNote && at.Split {
				tok = &at.Second
			}
			if tok.Kind != tune.BassNote {
				continue
			}
			was := tok.Direction
			c, _ := known.Bars[i].ChordAt(b.meter, beat+1, tok == &at.Second)
			class := tok.Degree.Of(c.Root).Semitone()
			for _, d := range []tune.Direction{tune.Nearest, tune.Rise, tune.Fall} {
				same := true
				for _, e := range entries {
					same = same && (!e.started || tune.Move(e.prev, class, d) == tune.Move(e.prev, class, was))
				}
				if tok.Direction = d; same && b.enter(known, section).exact {
					return true
				}
			}
			tok.Direction = was
			return false
		}
	}
	return false
}

// fit is how a known section would do for a segment.
type fit struct {
	// same is set where all but directions agree; exact where the same pitches come
	// of it, inside where all of them lie in the range.
	same, exact, inside bool
	// last is the pitch it ends on, 0 without notes.
	last int
}

// enter plays a known section from where the builder stood before a segment.
func (b *builder) enter(known, section *tune.Section) fit {
	if len(known.Bars) != len(section.Bars) || known.Meter != section.Meter || known.Comping != section.Comping {
		return fit{}
	}
	out := fit{same: true, exact: true, inside: true}
	prev, other, started := b.prev, b.prev, b.started
	step := func(from int, tok tune.BassToken, c harmony.Chord) int {
		class := tok.Degree.Of(c.Root).Semitone()
		if started {
			return tune.Move(from, class, tok.Direction)
		}
		return tune.LowestFrom(b.low, class)
	}
	for i := range known.Bars {
		k, s := known.Bars[i], section.Bars[i]
		kb, sb := k.Bass, s.Bass
		k.Bass, s.Bass = nil, nil
		if !reflect.DeepEqual(k, s) || len(kb) != len(sb) {
			return fit{}
		}
		for beat := range kb {
			if kb[beat].Split != sb[beat].Split {
				return fit{}
			}
			for half, pair := range [][2]tune.BassToken{{kb[beat].First, sb[beat].First}, {kb[beat].Second, sb[beat].Second}} {
				if pair[0].Kind != pair[1].Kind || pair[0].Degree != pair[1].Degree {
					return fit{}
				}
				if pair[0].Kind != tune.BassNote || half == 1 && !kb[beat].Split {
					continue
				}
				c, _ := s.ChordAt(b.meter, beat+1, half == 1)
				prev, other = step(prev, pair[0], c), step(other, pair[1], c)
				started = true
				out.exact = out.exact && prev == other
				out.inside = out.inside && prev >= b.low && prev <= b.high
				out.last = prev
			}
		}
	}
	return out
}

// bar builds bar i of a section from bar n of the score.
func (b *builder) bar(section *tune.Section, i, n int) {
	from, to := &b.score.Bars[n], &section.Bars[i]
	to.Words = strings.Join(strings.Fields(from.Words), " ")
	beats := b.meter.Beats()
	if len(from.Hits) == beats {
		to.Hits = append([]tune.HitToken(nil), from.Hits...)
	}
	if len(from.Shapes) == beats {
		to.Shapes = append([]tune.ShapeToken(nil), from.Shapes...)
	}
	b.chords(section, i, n)
	b.bass(to, n)
}

// chords puts the chords of a bar on the fewest equal slots that hold them.
func (b *builder) chords(section *tune.Section, i, n int) {
	from, to := b.score.Bars[n].Chords, &section.Bars[i]
	beats := float64(b.meter.Beats())
	var chords []Chord
	for _, c := range from {
		if len(chords) > 0 && chords[len(chords)-1].Chord.Identity() == c.Chord.Identity() {
			continue
		}
		if len(chords) > 0 && c.At-chords[len(chords)-1].At < 1e-6 {
			b.lose(n+1, "%s stands where %s does; %s is left out", c.Chord, chords[len(chords)-1].Chord, c.Chord)
			continue
		}
		chords = append(chords, c)
	}
	held := false
	if len(chords) == 0 || chords[0].At > 1e-6 {
		first := harmony.Chord{Symbol: "N.C.", None: true}
		if b.chord != nil {
			first, held = *b.chord, true
		}
		if len(chords) > 0 && chords[0].Chord.Identity() == first.Identity() {
			chords[0].At = 0
		} else {
			chords = append([]Chord{{Chord: first}}, chords...)
		}
	}
	slots, exact := slotsFor(chords, beats, b.meter.MostChords())
	if !exact {
		b.lose(n+1, "chords that share the bar unevenly are put on its nearest %d parts", slots)
	}
	for _, c := range chords {
		slot := min(int(math.Round(c.At/beats*float64(slots))), slots-1)
		if k := len(to.Chords); k > 0 && to.Chords[k-1].Slot == slot {
			b.lose(n+1, "%s comes too close to %s and is left out", c.Chord, to.Chords[k-1].Chord)
			continue
		}
		to.Chords = append(to.Chords, tune.Change{Chord: c.Chord, Slot: slot, Slots: slots})
	}
	last := to.Chords[len(to.Chords)-1].Chord
	b.chord = &last
	switch {
	case i == 0:
	case reflect.DeepEqual(section.Bars[i-1].Chords, to.Chords):
		to.Copies[tune.ChordsRow] = tune.Copy{Kind: tune.Simile}
	case held:
		to.Copies[tune.ChordsRow] = tune.Copy{Kind: tune.HoldsOver}
	}
}

// slotsFor returns the fewest slots whose edges all chords stand on; where no
// number up to most does, most and false.
func slotsFor(chords []Chord, beats float64, most int) (int, bool) {
	for slots := 1; slots <= most; slots++ {
		ok := true
		for _, c := range chords {
			at := c.At / beats * float64(slots)
			ok = ok && math.Abs(at-math.Round(at)) < 1e-3
		}
		if ok {
			return slots, true
		}
	}
	return most, false
}

// fillRows drops the rows in which nothing happens, and fills those that only
// some bars have.
func (b *builder) fillRows(section *tune.Section) {
	bass, hits, shapes := false, false, false
	for _, bar := range section.Bars {
		for _, beat := range bar.Bass {
			bass = bass || beat != tune.BassBeat{}
		}
		for _, h := range bar.Hits {
			// A row that leaves all to the layer stands where a rhythm would fill it.
			hits = hits || h.Hit != tune.HitLayer || section.Comping != 0
		}
		for _, s := range bar.Shapes {
			shapes = shapes || !s.None()
		}
	}
	beats := b.meter.Beats()
	for i := range section.Bars {
		bar := &section.Bars[i]
		if !bass {
			bar.Bass = nil
		}
		if !hits {
			bar.Hits = nil
		} else if bar.Hits == nil {
			bar.Hits = slices.Repeat([]tune.HitToken{{Hit: tune.HitLayer}}, beats)
		}
		if !shapes {
			bar.Shapes = nil
		} else if bar.Shapes == nil {
			bar.Shapes = make([]tune.ShapeToken, beats)
		}
	}
}

// form finishes the tune once all segments are in.
func (b *builder) form() {
	inOrder := len(b.order) == len(b.out.Sections)
	for i, name := range b.order {
		inOrder = inOrder && b.out.Sections[i].Name == name
	}
	if !inOrder {
		b.out.Form = b.order
	}
	for _, c := range []struct {
		count
		what string
	}{
		{b.bare, "sound where there is no chord, and are left out"},
		{b.crowded, "share a half beat with another, and are left out"},
		{b.late, "stand behind the last beat, and are left out"},
		{b.moved, "stand off the half beats, and are put on the nearest"},
	} {
		if c.n > 0 {
			b.lose(0, "bass notes that %s: %d, first in bar %d", c.what, c.n, c.first)
		}
	}
	if b.octaves != 0 {
		b.change("the bass line stands %+d half steps from where it was, so that it starts as low as the bass strings allow", b.octaves)
	}
	if b.folded > 0 {
		b.change("bass notes in another octave, to stay on the bass strings: %d", b.folded)
	}
}

// sectionName makes a section name of a label: letters, digits, ' - and _, a
// letter first; "" if nothing is left.
func sectionName(label string) string {
	var out strings.Builder
	for _, c := range strings.TrimSpace(label) {
		switch {
		case unicode.IsLetter(c), out.Len() > 0 && (unicode.IsNumber(c) || c == '\'' || c == '-' || c == '_'):
			out.WriteRune(c)
		case out.Len() > 0 && unicode.IsSpace(c):
			out.WriteByte('-')
		}
		if out.Len() > 30 {
			break
		}
	}
	return strings.Trim(out.String(), "-_'")
}

// numbered reports whether a name is a base with a number that freshName gave.
func numbered(name, base string) bool {
	rest, ok := strings.CutPrefix(name, base+"-")
	if !ok {
		return false
	}
	_, err := strconv.Atoi(rest)
	return err == nil
}

// freshName returns a name that no section has: the base, the base with a
// number, or without a base the next letters.
func (b *builder) freshName(base string) string {
	if base != "" {
		name := base
		for i := 2; b.out.Section(name) != nil; i++ {
			name = fmt.Sprintf("%s-%d", base, i)
		}
		return name
	}
	for {
		name := ""
		for n := b.unnamed; ; n = n/26 - 1 {
			name = string(rune('A'+n%26)) + name
			if n < 26 {
				break
			}
		}
		b.unnamed++
		taken := b.out.Section(name) != nil
		for _, bar := range b.score.Bars {
			taken = taken || sectionName(bar.Section) == name
		}
		if !taken {
			return name
		}
	}
}

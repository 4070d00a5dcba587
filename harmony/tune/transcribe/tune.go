package transcribe

import (
	"fmt"
	"math"
	"reflect"
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
	b := builder{score: s, low: low, high: high}
	b.out = &tune.Tune{
		Title:  s.Title,
		Meter:  s.Meter,
		Tempo:  s.Tempo,
		Swing:  s.Swing,
		Trains: s.Trains,
	}
	b.header()
	for from := 0; from < len(s.Bars); {
		to := from + 1
		for to < len(s.Bars) && !s.Bars[to].Starts {
			to++
		}
		b.segment(from, to)
		from = to
	}
	b.form()
	return b.out, b.losses
}

// builder makes a tune, segment by segment in playing order.
type builder struct {
	score     *Score
	low, high int
	out       *tune.Tune
	losses    []Loss
	order     []string
	// chord sounds at the end of what has been built.
	chord *harmony.Chord
	// prev is the last bass note as folded, prevFile as the score has it.
	prev, prevFile int
	// until is how many half beats the last note reaches into the next bar.
	until         int
	started       bool
	folded, moved int
	unnamed       int
}

func (b *builder) lose(bar int, format string, args ...any) {
	b.losses = append(b.losses, Loss{Bar: bar, What: fmt.Sprintf(format, args...)})
}

func (b *builder) header() {
	t := b.out
	if strings.TrimSpace(t.Title) == "" {
		t.Title = "Untitled"
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
		t.Key = GuessKey(chords)
		b.lose(0, "no key is named: %s fits the chords", t.Key)
	}
	switch {
	case t.Tempo == 0:
		t.Tempo = DefaultTempo
		b.lose(0, "no tempo is named: %d is put in", DefaultTempo)
	case t.Tempo < tune.LowestTempo || t.Tempo > tune.HighestTempo:
		b.lose(0, "tempo %g is put within %d to %d", t.Tempo, tune.LowestTempo, tune.HighestTempo)
		t.Tempo = min(max(t.Tempo, tune.LowestTempo), tune.HighestTempo)
	}
	t.Tempo = math.Round(t.Tempo*1000) / 1000
	if t.Swing.Long < 1 || t.Swing.Short < 1 {
		t.Swing = tune.Ratio{Long: 1, Short: 1}
	}
}

// segment builds the bars from up to to as a section, or finds that a section
// already holds them.
func (b *builder) segment(from, to int) {
	section := tune.Section{Bars: make([]tune.Bar, to-from)}
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
		if sameBars(known.Bars, section.Bars) || start.fits(known, &section) {
			b.order = append(b.order, known.Name)
			return
		}
	}
	section.Name = b.freshName(base)
	b.out.Sections = append(b.out.Sections, section)
	b.order = append(b.order, section.Name)
}

func sameBars(a, b []tune.Bar) bool { return reflect.DeepEqual(a, b) }

// fits reports whether a known section, entered from where the builder stood,
// leads to the same notes as the segment although its directions differ.
func (b *builder) fits(known, section *tune.Section) bool {
	if len(known.Bars) != len(section.Bars) {
		return false
	}
	prev, started := b.prev, b.started
	other := prev
	step := func(at *int, tok tune.BassToken, c harmony.Chord) {
		class := tok.Degree.Of(c.Root).Semitone()
		if started {
			*at = tune.Move(*at, class, tok.Direction)
		} else {
			*at = tune.LowestFrom(b.low, class)
		}
	}
	for i := range known.Bars {
		k, s := known.Bars[i], section.Bars[i]
		kb, sb := k.Bass, s.Bass
		k.Bass, s.Bass = nil, nil
		if !reflect.DeepEqual(k, s) || len(kb) != len(sb) {
			return false
		}
		for beat := range kb {
			if kb[beat].Split != sb[beat].Split {
				return false
			}
			for half, pair := range [][2]tune.BassToken{{kb[beat].First, sb[beat].First}, {kb[beat].Second, sb[beat].Second}} {
				if pair[0].Kind != pair[1].Kind || pair[0].Degree != pair[1].Degree {
					return false
				}
				if pair[0].Kind != tune.BassNote || half == 1 && !kb[beat].Split {
					continue
				}
				c, _ := s.ChordAt(b.out.Meter, beat+1, half == 1)
				step(&prev, pair[0], c)
				step(&other, pair[1], c)
				started = true
				if prev != other {
					return false
				}
			}
		}
	}
	return true
}

// bar builds bar i of a section from bar n of the score.
func (b *builder) bar(section *tune.Section, i, n int) {
	from, to := &b.score.Bars[n], &section.Bars[i]
	to.Words = strings.Join(strings.Fields(from.Words), " ")
	beats := b.out.Meter.Beats()
	if len(from.Hits) == beats {
		to.Hits = append([]tune.Hit(nil), from.Hits...)
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
	beats := float64(b.out.Meter.Beats())
	var chords []Chord
	for _, c := range from {
		if len(chords) > 0 && chords[len(chords)-1].Chord.Symbol == c.Chord.Symbol {
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
		if len(chords) > 0 && chords[0].Chord.Symbol == first.Symbol {
			chords[0].At = 0
		} else {
			chords = append([]Chord{{Chord: first}}, chords...)
		}
	}
	slots, exact := slotsFor(chords, beats, b.mostSlots())
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

func (b *builder) mostSlots() int {
	if b.out.Meter.Lower == 8 {
		return b.out.Meter.Upper
	}
	return 2 * b.out.Meter.Beats()
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

// bass puts the notes of a bar on half beats.
func (b *builder) bass(to *tune.Bar, n int) {
	halves := 2 * b.out.Meter.Beats()
	tokens := make([]tune.BassToken, halves)
	hold := func(from, to int) {
		for i := range tokens[min(from, halves):] {
			tokens[from+i] = tune.BassToken{}
			if from+i < to {
				tokens[from+i].Kind = tune.BassHold
			}
		}
		b.until = max(0, to-halves)
	}
	hold(0, b.until)
	notes := b.score.Bars[n].Notes
	if b.high-b.low < 11 {
		notes = nil
	}
	for _, note := range notes {
		half := b.halfOf(note.At, n)
		if half >= halves {
			b.lose(n+1, "a note behind the last beat is left out")
			continue
		}
		if tokens[half].Kind == tune.BassNote {
			b.lose(n+1, "beat %d has more notes than its two halves; one is left out", half/2+1)
			continue
		}
		tok, ok := b.token(to, note, half, n)
		if !ok {
			continue
		}
		hold(half, max(half+1, endOf(note.At+note.Length)))
		tokens[half] = tok
	}
	for beat := 0; beat < halves; beat += 2 {
		to.Bass = append(to.Bass, tune.JoinHalves(tokens[beat], tokens[beat+1]))
	}
}

// halfOf returns the half beat that a note starts on. The second half stands
// anywhere from a quarter to five sixths of the beat, so that swung notes fall
// on it.
func (b *builder) halfOf(at float64, n int) int {
	beat := math.Floor(at + 1e-6)
	switch part := at - beat; {
	case part < 0.25:
		if part > 0.1 {
			b.lose(n+1, "a note just after beat %d is put on it", int(beat)+1)
		}
		return int(2 * beat)
	case part < 0.84:
		if part < 0.45 || part > 0.72 {
			b.lose(n+1, "a note within beat %d is put on its second half", int(beat)+1)
		}
		return int(2*beat) + 1
	default:
		b.lose(n+1, "a note just before beat %d is put on it", int(beat)+2)
		return int(2*beat) + 2
	}
}

// endOf returns the half beat that a note ends before.
func endOf(at float64) int {
	beat := math.Floor(at + 1e-6)
	switch part := at - beat; {
	case part < 0.25:
		return int(2 * beat)
	case part < 0.84:
		return int(2*beat) + 1
	default:
		return int(2*beat) + 2
	}
}

// token names a note against its chord and folds it into the range.
func (b *builder) token(bar *tune.Bar, note Note, half, n int) (tune.BassToken, bool) {
	c, ok := bar.ChordAt(b.out.Meter, half/2+1, half%2 == 1)
	if !ok || c.None {
		b.lose(n+1, "a note on beat %d sounds without a chord and is left out", half/2+1)
		return tune.BassToken{}, false
	}
	class := ((note.MIDI % 12) + 12) % 12
	tok := tune.BassToken{Kind: tune.BassNote, Degree: c.DegreeOf(class)}
	named := note.Token.Kind == tune.BassNote && note.Token.Degree.Of(c.Root).Semitone() == class
	if named {
		tok = note.Token
	}
	at := 0
	if !b.started {
		at = tune.LowestFrom(b.low, class)
	} else {
		at = b.fold(note.MIDI, class)
		if !named || tune.Move(b.prev, class, tok.Direction) != at {
			tok.Direction = tune.DirectionTo(b.prev, at)
		}
	}
	if !b.started && at != note.MIDI {
		b.moved = at - note.MIDI
	}
	if at-note.MIDI != b.moved {
		b.folded++
	}
	b.started = true
	b.prev, b.prevFile = at, note.MIDI
	return tok, true
}

// fold returns the pitch in the range that keeps nearest to the step the score
// takes from the note before, among those a direction leads to.
func (b *builder) fold(midi, class int) int {
	want := b.prev + midi - b.prevFile
	best, found := 0, false
	for _, d := range []tune.Direction{tune.Nearest, tune.Rise, tune.Fall} {
		at := tune.Move(b.prev, class, d)
		if at < b.low || at > b.high {
			continue
		}
		if !found || abs(at-want) < abs(best-want) {
			best, found = at, true
		}
	}
	return best
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
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
			hits = hits || h != tune.NoHit
		}
		for _, s := range bar.Shapes {
			shapes = shapes || !s.None()
		}
	}
	beats := b.out.Meter.Beats()
	for i := range section.Bars {
		bar := &section.Bars[i]
		if !bass {
			bar.Bass = nil
		}
		if !hits {
			bar.Hits = nil
		} else if bar.Hits == nil {
			bar.Hits = make([]tune.Hit, beats)
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
	if b.moved != 0 {
		b.lose(0, "the bass line is moved by %+d semitones, so that it starts as low as the bass strings allow", b.moved)
	}
	if b.folded > 0 {
		b.lose(0, "%d bass notes stand in another octave, to stay on the bass strings", b.folded)
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

// Package tunetest draws random tunes for property tests. It is for tests only.
package tunetest

import (
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"

	"pgregory.net/rapid"
)

var (
	hits    = []tune.Hit{tune.NoHit, tune.NoHit, tune.HitOn, tune.HitAnd, tune.HitBoth, tune.HitPush, tune.HitLayer}
	meters  = []string{"2/4", "3/4", "4/4", "5/4", "6/4", "7/4", "6/8", "9/8", "12/8"}
	keys    = []string{"C", "Bb", "F#", "Gb", "Em", "Cm", "Ebm", "Ab"}
	symbols = []string{
		"C", "Dm7", "G7", "Bbmaj7", "F#m7b5", "Abdim7", "E7(b9,#11)", "C/E", "Gb7/Bb", "A7alt", "B6/9", "Dsus4",
		"EbmMaj7", "F13#11", "G+", "Cø", "B♭7", "N.C.",
	}
	wordsFor = []string{"", "", "cue", "#1 hit", "50% more", "= slower", "ø and Δ", `a "quoted" word, or two`}
	names    = []string{"A", "B", "Intro", "A1", "A2", "Bridge", "Él"}
	remarks  = []string{"#", "# why this", "#tight", "#  two  spaces  # inside"}
)

// Tune draws a tune that has every feature of the format now and then: copies of
// all kinds, split beats, holds, N.C., shapes, words, comments, a form.
func Tune() *rapid.Generator[*tune.Tune] { return rapid.Custom(draw) }

func draw(t *rapid.T) *tune.Tune {
	meter, _ := harmony.ParseMeter(rapid.SampledFrom(meters).Draw(t, "meter"))
	key, err := harmony.ParseKey(rapid.SampledFrom(keys).Draw(t, "key"))
	if err != nil {
		panic(err)
	}
	swing := rapid.IntRange(1, 9).Draw(t, "short")
	tn := &tune.Tune{
		Title:   rapid.SampledFrom([]string{"Lantern Street", "#9 Blues", "Ünder"}).Draw(t, "title"),
		Key:     key,
		Meter:   meter,
		Tempo:   float64(rapid.IntRange(30_000, 300_000).Draw(t, "tempo")) / 1000,
		Swing:   harmony.Swing{Ratio: tune.Ratio{Long: swing + rapid.IntRange(0, 9).Draw(t, "long"), Short: swing}},
		Comping: tune.Comping(rapid.SampledFrom([]int{0, 0, 0, 1, 4, 6, 7}).Draw(t, "comping")),
		Trains:  rapid.SampledFrom([]string{"", "Thirds on the low string."}).Draw(t, "trains"),
	}
	if rapid.IntRange(0, 4).Draw(t, "falling") == 0 {
		tn.Swing = harmony.Swing{Falling: true}
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "sections") {
		tn.Sections = append(tn.Sections, tune.Section{
			Name:    names[(i+len(tn.Title))%len(names)],
			Meter:   drawOwnMeter(t),
			Comping: tune.Comping(rapid.SampledFrom([]int{0, 0, 0, 2, 3, 5}).Draw(t, "own comping")),
		})
	}
	for i := range tn.Sections {
		drawSection(t, tn, i)
	}
	if rapid.Bool().Draw(t, "has form") {
		tn.Form = []string{tn.Sections[0].Name}
		for range rapid.IntRange(0, 5).Draw(t, "form") {
			tn.Form = append(tn.Form, tn.Sections[rapid.IntRange(0, len(tn.Sections)-1).Draw(t, "next")].Name)
		}
	}
	drawComments(t, tn)
	return tn
}

// drawOwnMeter draws a section's own meter, which most have none of.
func drawOwnMeter(t *rapid.T) (m tune.Meter) {
	if rapid.IntRange(0, 3).Draw(t, "own meter") == 0 {
		m, _ = harmony.ParseMeter(rapid.SampledFrom(meters).Draw(t, "the section's meter"))
	}
	return m
}

func drawSection(t *rapid.T, tn *tune.Tune, i int) {
	s := &tn.Sections[i]
	s.Bars = make([]tune.Bar, rapid.IntRange(1, 6).Draw(t, "bars"))
	for row := tune.ChordsRow; row < tune.Rows; row++ {
		if row != tune.ChordsRow && rapid.IntRange(0, 2).Draw(t, "has "+row.String()) == 0 {
			continue
		}
		for bar := range s.Bars {
			if !drawCopy(t, tn, i, row, bar) {
				drawBar(t, tn, i, row, bar)
			}
		}
	}
	if !hasRow(s, tune.WordsRow) {
		for bar := range s.Bars {
			s.Bars[bar].Copies[tune.WordsRow] = tune.Copy{}
		}
	}
}

func hasRow(s *tune.Section, row tune.Row) bool {
	return slices.ContainsFunc(s.Bars, func(b tune.Bar) bool {
		switch row {
		case tune.BassRow:
			return b.Bass != nil
		case tune.HitsRow:
			return b.Hits != nil
		case tune.ShapesRow:
			return b.Shapes != nil
		case tune.WordsRow:
			return b.Words != ""
		}
		return true
	})
}

// drawCopy makes the bar a copy now and then; it reports whether it did.
func drawCopy(t *rapid.T, tn *tune.Tune, i int, row tune.Row, bar int) bool {
	s := &tn.Sections[i]
	b := &s.Bars[bar]
	before := *b
	switch rapid.IntRange(0, 5).Draw(t, "copy") {
	case 0:
		if bar == 0 {
			return false
		}
		take(b, &s.Bars[bar-1], row)
		b.Copies[row] = tune.Copy{Kind: tune.Simile}
	case 1:
		j := rapid.IntRange(0, i).Draw(t, "from section")
		from := &tn.Sections[j]
		most := len(from.Bars)
		if j == i {
			most = bar
		}
		if most == 0 || !hasRow(from, row) || tn.MeterOf(from) != tn.MeterOf(s) {
			return false
		}
		n := rapid.IntRange(1, most).Draw(t, "from bar")
		take(b, &from.Bars[n-1], row)
		b.Copies[row] = tune.Copy{Kind: tune.CopyOf, Section: from.Name, Bar: n}
	default:
		return false
	}
	if !sings(tn, s, b) || strikesRests(tn, s, b) || row == tune.BassRow && bar == 0 && b.Bass[0].First.Kind == tune.BassHold {
		*b = before
		return false
	}
	return true
}

// strikesRests reports whether the bar writes frets on a beat that rests.
func strikesRests(tn *tune.Tune, s *tune.Section, b *tune.Bar) bool {
	for beat, shape := range b.Shapes {
		if shape.Frets != nil && rests(tn, s, b, beat) {
			return true
		}
	}
	return false
}

// rests reports whether nothing is struck on a beat, counted from 0.
func rests(tn *tune.Tune, s *tune.Section, b *tune.Bar, beat int) bool {
	hits := b.Hits
	if hits == nil {
		hits = tn.CompingOf(s).Hits(tn.MeterOf(s).Beats())
	}
	return beat < len(hits) && hits[beat].Hit == tune.NoHit
}

// sings reports whether no degree of the bar stands over N.C.
func sings(tn *tune.Tune, s *tune.Section, b *tune.Bar) bool {
	for i, beat := range b.Bass {
		for half, tok := range []tune.BassToken{beat.First, beat.Second} {
			if c, ok := b.ChordAt(tn.MeterOf(s), i+1, half == 1); tok.Kind == tune.BassNote && (!ok || c.None) {
				return false
			}
		}
	}
	return true
}

func take(b, from *tune.Bar, row tune.Row) {
	switch row {
	case tune.ChordsRow:
		b.Chords = slices.Clone(from.Chords)
	case tune.BassRow:
		b.Bass = slices.Clone(from.Bass)
	case tune.HitsRow:
		b.Hits = slices.Clone(from.Hits)
	case tune.ShapesRow:
		b.Shapes = slices.Clone(from.Shapes)
	case tune.WordsRow:
		b.Words = from.Words
	}
}

func drawBar(t *rapid.T, tn *tune.Tune, section int, row tune.Row, bar int) {
	s := &tn.Sections[section]
	b := &s.Bars[bar]
	beats := tn.MeterOf(s).Beats()
	switch row {
	case tune.ChordsRow:
		slots := rapid.SampledFrom([]int{1, 1, 2, beats}).Draw(t, "slots")
		for slot := range slots {
			if slot > 0 && rapid.Bool().Draw(t, "hold") {
				continue
			}
			c, err := harmony.ParseChord(rapid.SampledFrom(symbols).Draw(t, "symbol"))
			if err != nil {
				panic(err)
			}
			if slot == 0 && bar > 0 && rapid.IntRange(0, 3).Draw(t, "over") == 0 {
				before := s.Bars[bar-1].Chords
				c = before[len(before)-1].Chord
				b.Copies[row] = tune.Copy{Kind: tune.HoldsOver}
			}
			b.Chords = append(b.Chords, tune.Change{Chord: c, Slot: slot, Slots: slots})
		}
	case tune.BassRow:
		for i := range beats {
			beat := tune.BassBeat{First: drawToken(t, bar == 0 && i == 0)}
			if rapid.IntRange(0, 3).Draw(t, "split") == 0 {
				beat = tune.JoinHalves(beat.First, drawToken(t, false))
			}
			b.Bass = append(b.Bass, beat)
		}
		if !sings(tn, s, b) {
			b.Bass = make([]tune.BassBeat, beats)
		}
	case tune.HitsRow:
		for range beats {
			h := tune.HitToken{Hit: rapid.SampledFrom(hits).Draw(t, "hit")}
			h.Held = h.Hit != tune.NoHit && h.Hit != tune.HitLayer && rapid.IntRange(0, 3).Draw(t, "held") == 0
			b.Hits = append(b.Hits, h)
		}
	case tune.ShapesRow:
		for beat := range beats {
			shape := tune.ShapeToken{}
			switch rapid.IntRange(0, 3).Draw(t, "shape") {
			case 0:
				shape.Choose = true
			case 1:
				if rests(tn, s, b, beat) {
					break
				}
				shape.Frets = rapid.SliceOfN(rapid.IntRange(-1, 24), 6, 6).Draw(t, "frets")
				shape.Frets[2] = 3
			}
			b.Shapes = append(b.Shapes, shape)
		}
	case tune.WordsRow:
		b.Words = rapid.SampledFrom(wordsFor).Draw(t, "words")
	}
}

func drawToken(t *rapid.T, first bool) tune.BassToken {
	switch n := rapid.IntRange(0, 7).Draw(t, "token"); {
	case n == 0:
		return tune.BassToken{Kind: tune.BassRest}
	case n == 1 && !first:
		return tune.BassToken{Kind: tune.BassHold}
	}
	return tune.BassToken{
		Kind:      tune.BassNote,
		Degree:    rapid.SampledFrom(harmony.Degrees).Draw(t, "degree"),
		Direction: tune.Direction(rapid.IntRange(0, 2).Draw(t, "direction")),
		Pin:       rapid.SampledFrom([]int{0, 0, 0, 0, 0, 5, 6}).Draw(t, "pin"),
	}
}

// drawComments puts comments to some lines, in the order of the lines.
func drawComments(t *rapid.T, tn *tune.Tune) {
	if rapid.Bool().Draw(t, "no comments") {
		return
	}
	add := func(section, line string, behind bool) {
		for range rapid.SampledFrom([]int{0, 0, 0, 1, 2}).Draw(t, fmt.Sprint("comments", section, line)) {
			text := rapid.SampledFrom(remarks).Draw(t, "comment")
			tn.Comments = append(tn.Comments, tune.Comment{Section: section, Line: line, Behind: behind, Text: text})
			if behind {
				return
			}
		}
	}
	for _, line := range []string{"tune", "key", "meter", "tempo", "swing"} {
		add("", line, false)
		add("", line, true)
	}
	for i := range tn.Sections {
		s := &tn.Sections[i]
		add(s.Name, "[", false)
		add(s.Name, "[", true)
		for row := tune.ChordsRow; row < tune.Rows; row++ {
			if hasRow(s, row) {
				add(s.Name, row.String(), false)
				add(s.Name, row.String(), true)
			}
		}
	}
	add("", "end", false)
}

// OddSteps is a tune with sections of three meters: a bar each of four and three quarters,
// and one of two dotted quarters.
const OddSteps = `tune   Odd Steps
key    C
meter  4/4
tempo  120
swing  2:1
form   A B C

[A]
chords | Cmaj7       |
bass   | 1 /3 /5 \3  |
hits   | on . . push |

[B]
meter  3/4
chords | Dm7        |
bass   | \1 /b3 \b2 |
hits   | . on push  |

[C]
meter  6/8
chords | G7       |
bass   | \1 /5,b7 |
hits   | on both- |
`

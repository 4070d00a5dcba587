package drills

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

var hitsKind = Kind{
	Name:  memory.Hits,
	Title: "tap the comping",
	Says:  "tap or play the hits of a rhythm while the bass walks",
	Draw: func(m Material) ([]Question, error) {
		meter := fourFour
		if m.Tune != nil {
			if _, graded := rhythms[m.Tune.Meter]; graded {
				meter = m.Tune.Meter
			}
		}
		var qs []Question
		for _, figure := range rhythms[meter] {
			r, err := harmony.ParseRhythm(meter, figure)
			if err != nil {
				return nil, err
			}
			for _, tempo := range []int{slowHits, fastHits} {
				qs = append(qs, Hits{Rhythm: r, Tempo: tempo, Material: m})
				if r.Swings() {
					qs = append(qs, Hits{Rhythm: r, Swung: true, Tempo: tempo, Material: m})
				}
			}
		}
		return qs, nil
	},
}

// slowHits and fastHits are the tempi that rhythms are asked at, in quarter notes a
// minute, and hitsBars is how many bars are tapped (common practice, no source).
const (
	slowHits = 80
	fastHits = 160
	hitsBars = 4
)

var fourFour = tune.Meter{Upper: 4, Lower: 4}

// rhythms are the figures of a meter, from one hit a bar to two bars with a push over
// the bar line (common practice, no source).
var rhythms = map[tune.Meter][]string{
	fourFour: {
		"1", "3", "2", "4",
		"1 3", "2 4", "1 2 3 4",
		"1+", "4+", "2+",
		"1 2+", "1+ 3", "2 3+", "2+ 4", "2+ 4+", "1+ 2+ 3+ 4+",
		"1 2+ | 2 4", "1 2+ | 1+ 3", "1 2+ 4 | 2+ 4",
		"1 2+ | 2 4+", "2 3+ | 1+ 4+", "1 2+ 4+ | 2+ 4+",
	},
	{Upper: 3, Lower: 4}: {
		"1", "2", "3",
		"2 3", "1 3", "1 2 3",
		"1+", "3+", "2+",
		"1 2+", "1+ 3", "2+ 3+",
		"1 2+ | 2 3", "1 2+ | 1+ 3", "1 2+ | 2 3+", "1+ 2+ | 1 3+",
	},
}

// Hits asks for a rhythm to be tapped, or struck, while a bass walks.
type Hits struct {
	Rhythm harmony.Rhythm
	// Swung asks for offbeats at the swing ratio: that of the material's tune, 2 to 1
	// where it has none.
	Swung bool
	// Tempo is in quarter notes a minute.
	Tempo int
	// Material is what the bass walks over.
	Material Material
}

// Tapped is a question that is answered by tapping while music plays.
type Tapped interface {
	Question
	// Along is the music: its tempo and swing are those to tap at.
	Along() (*fretboard.Arrangement, error)
}

// Item is the meter and the figure, its feel and the tempo.
func (q Hits) Item() memory.Item {
	feel := memory.FeelStraight
	if q.Swung {
		feel = memory.FeelSwung
	}
	return memory.Item{Kind: memory.Hits, Rhythm: q.Rhythm.Meter.String() + " " + q.Rhythm.String(), About: feel, Tempo: strconv.Itoa(q.Tempo)}
}

// asked is what the taps are compared with.
func (q Hits) asked() take.Tapping {
	a := take.Tapping{Rhythm: q.Rhythm, Bars: hitsBars, Tempo: float64(q.Tempo), Swing: tune.Ratio{Long: 1, Short: 1}}
	if q.Swung {
		a.Swing = tune.Ratio{Long: 2, Short: 1}
		if t := q.Material.Tune; t != nil && !t.Swing.Straight() {
			a.Swing = t.Swing.RatioAt(a.Tempo / q.Rhythm.Meter.BeatQuarters())
		}
	}
	return a
}

// Ask says the figure in words, and draws it.
func (q Hits) Ask() Ask {
	feel := ""
	if q.Rhythm.Swings() {
		feel = q.Item().About + ", "
	}
	return Ask{
		Prompt: fmt.Sprintf("Tap the comping: on %s, %s%d BPM, for %d bars.", q.inWords(), feel, q.Tempo, hitsBars),
		Hint:   "its beats, such as 1 2+, with a bar line between two bars",
		Takes:  FormText | FormTaps,
		Rows:   q.asked().Rows(),
	}
}

// inWords tells the figure as it is spoken: "1, then the and of 2 in each bar".
func (q Hits) inWords() string {
	if len(q.Rhythm.Bars) == 1 {
		return beatsInWords(q.Rhythm.Bars[0]) + " in each bar"
	}
	bars := make([]string, len(q.Rhythm.Bars))
	for i, struck := range q.Rhythm.Bars {
		bars[i] = beatsInWords(struck) + " in " + [...]string{"one bar", "the next"}[i]
	}
	return strings.Join(bars, ", ")
}

func beatsInWords(struck []int) string {
	words := make([]string, len(struck))
	for i, half := range struck {
		beat, off := harmony.BeatOf(half)
		if words[i] = strconv.Itoa(beat); off {
			words[i] = "the and of " + words[i]
		}
	}
	if n := len(words); n > 1 {
		words[n-1] = "then " + words[n-1]
	}
	return strings.Join(words, ", ")
}

// Along walks the bass over bars of the material, by the tune's own line where it has
// one. Which bars goes by the rhythm, so that each has its own.
func (q Hits) Along() (*fretboard.Arrangement, error) {
	t, err := q.walked()
	if err != nil {
		return nil, err
	}
	return fretboard.Arrange(t, q.Material.Neck, q.Material.hand(), fretboard.Bass)
}

func (q Hits) walked() (*tune.Tune, error) {
	a := q.asked()
	chance := hashed(q.Item().Key())
	t := &tune.Tune{Title: q.Item().Text(), Meter: q.Rhythm.Meter, Tempo: a.Tempo, Swing: harmony.Swing{Ratio: a.Swing}}
	var bars []tune.Bar
	if of := q.Material.Tune; of != nil && of.Meter == t.Meter {
		t.Key = of.Key
		for _, fb := range of.Unroll() {
			if fb.Meter == t.Meter {
				bars = append(bars, tune.Bar{Chords: fb.Bar.Chords, Bass: fb.Bar.Bass})
			}
		}
	} else {
		for _, c := range q.Material.Chords {
			bars = append(bars, tune.Bar{Chords: []tune.Change{{Chord: c, Slots: 1}}})
		}
	}
	if len(bars) == 0 {
		return nil, fmt.Errorf("%s has no chords to walk over", q.Material.Title)
	}
	var section []tune.Bar
	from := int(chance%uint32((len(bars)+hitsBars-1)/hitsBars)) * hitsBars
	for i := range hitsBars {
		section = append(section, bars[(from+i)%len(bars)])
	}
	t.Sections = []tune.Section{{Name: "A", Bars: section}}
	if t.Key == (harmony.Key{}) {
		t.Key.Tonic = section[0].Chords[0].Chord.Root
	}
	if written, _, ok := t.Fold(q.Material.Neck.BassRange()); ok && !slices.ContainsFunc(section, func(b tune.Bar) bool { return b.Bass == nil }) {
		return written, nil
	}
	line, err := walk.Compose(t, walk.Options{Range: q.Material.Neck.BassRange(), Seed: uint64(chance), Fill: func(string, int) bool { return true }})
	if err != nil {
		return nil, err
	}
	return line.Tune(), nil
}

// Right are the beats.
func (q Hits) Right() []string {
	texts := []string{q.Rhythm.String()}
	if commas := strings.ReplaceAll(texts[0], " ", ", "); len(q.Rhythm.Bars) == 1 && commas != texts[0] {
		texts = append(texts, commas)
	}
	return texts
}

// Steps count the figure.
func (q Hits) Steps() []string {
	steps := []string{"Count the beats aloud with the bass, and the ands between them where something is struck."}
	for i, struck := range q.Rhythm.Bars {
		of := "each bar"
		if len(q.Rhythm.Bars) > 1 {
			of = fmt.Sprintf("bar %d of two", i+1)
		}
		steps = append(steps, fmt.Sprintf("In %s strike %s.", of, beatsInWords(struck)))
	}
	return append(steps, "So: "+q.Rhythm.String())
}

// Judge takes taps, which are compared with the rhythm, or its beats as text; times in
// seconds from the first beat, such as 0.04s 0.79s, are taps. A hit more or less, or a
// lead or lag beyond the window, counts as not quite right; so does another tempo. The
// other feel is another rhythm, and a miss; so is another part of the beat.
func (q Hits) Judge(r Reply) Judgement {
	if r.Form == FormText {
		taps, isTaps, err := tapsOf(r.Text)
		if err != nil {
			return unread(err.Error())
		}
		if !isTaps {
			return q.judgeBeats(r.Text)
		}
		r.Form, r.Taps = FormTaps, taps
	}
	if r.Form != FormTaps {
		return unread("Tap, or type " + q.Ask().Hint + ".")
	}
	s := take.DefaultSettings()
	g := take.GradeTaps(q.asked(), r.Taps, s)
	v := Judgement{Result: Miss, Reason: g.Says(), Rows: g.Rows(), Given: givenTaps(g)}
	switch {
	case g.OtherSwing || g.OtherPlace() || len(g.Fit.Slips) > 0:
	case g.Faults() == 0 && g.Late.Abs() <= s.Window && !g.OtherTempo():
		v.Result = Hit
	case g.Faults() <= max(1, g.Expected/8):
		v.Result = Near
	}
	return v
}

// givenTaps is how taps went in a few words, as the history keeps it.
func givenTaps(g *take.Tapped) string {
	given := fmt.Sprintf("%d of %d", g.Matched, g.Expected)
	if g.Extra > 0 {
		given += fmt.Sprintf(", %d extra", g.Extra)
	}
	if g.Matched > 0 {
		given += fmt.Sprintf(", %+d ms", g.Late.Milliseconds())
	}
	if g.Swing > 0 {
		given += fmt.Sprintf(", swing %.1f", g.Swing)
	}
	return given
}

// judgeBeats compares beats that were typed with the figure; a figure of one bar may be
// typed for each of two.
func (q Hits) judgeBeats(text string) Judgement {
	given, err := harmony.ParseRhythm(q.Rhythm.Meter, text)
	if err != nil {
		return unread(err.Error())
	}
	v := Judgement{Result: Miss, Given: given.String(), Reason: fmt.Sprintf("You typed %s; it is %s.", given, q.Rhythm)}
	right := len(given.Bars)%len(q.Rhythm.Bars) == 0 && len(given.Bars) <= hitsBars
	for i, struck := range given.Bars {
		right = right && slices.Equal(struck, q.Rhythm.Bars[i%len(q.Rhythm.Bars)])
	}
	if right {
		v.Result, v.Reason = Hit, "It is "+q.Rhythm.String()+"."
	}
	return v
}

// tapsOf reads taps as times in seconds, each with an s, or in milliseconds, with ms; it
// reports false where the text has none.
func tapsOf(text string) (taps []time.Duration, isTaps bool, err error) {
	words := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,\t", r) })
	for _, w := range words {
		if !strings.HasSuffix(w, "s") {
			return nil, false, nil
		}
		d, err := time.ParseDuration(w)
		if err != nil || d.Abs() > time.Minute {
			return nil, true, fmt.Errorf("%q is no time of a tap: write seconds from the first beat, such as 0.04s 0.79s", w)
		}
		taps = append(taps, d)
	}
	slices.Sort(taps)
	return taps, len(taps) > 0, nil
}

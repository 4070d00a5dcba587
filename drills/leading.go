package drills

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

var leadingKind = Kind{
	Name:  memory.Leading,
	Title: "lead in",
	Says:  "make up a bar that leads from one chord to the next",
	Needs: aChange,
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		seen := map[memory.Item]bool{}
		for _, p := range pairs(m) {
			q := Leading{Chord: p.from, Next: p.to, Key: m.keyOf(p), Meter: p.meter, Beats: p.beats, Neck: m.Neck}
			if !seen[q.Item()] && p.from.Bass.Semitone() != p.to.Bass.Semitone() && p.beats > 1 {
				seen[q.Item()] = true
				qs = append(qs, q)
			}
		}
		return qs, nil
	},
}

// Leading asks for the bass over one chord that leads to the root of the next, as many
// beats as the chord has. It is judged by the rules of criticism, so there are many
// right answers.
type Leading struct {
	Chord, Next harmony.Chord
	Key         harmony.Key
	Meter       tune.Meter
	// Beats is from 2 to those of a bar.
	Beats int
	Neck  fretboard.Neck
}

// Item is the two chords: the first, and where the second's root lies.
func (q Leading) Item() memory.Item {
	return memory.Item{
		Kind: memory.Leading, Quality: q.Chord.Quality().Name(), Root: q.Chord.Root.String(),
		Next: pair{from: q.Chord, to: q.Next}.next().String(), To: q.Next.Quality().Name(),
	}
}

// Ask asks for the bar.
func (q Leading) Ask() Ask {
	what := fmt.Sprintf("A bar of %s in %s", q.Chord.Symbol, q.Meter)
	if q.Beats < q.Meter.Beats() {
		what = fmt.Sprintf("%s of %s", capital(harmony.Counted(q.Beats, "beat")), q.Chord.Symbol)
	}
	return Ask{
		Prompt: fmt.Sprintf("%s, then %s: walk %s that lead there.", what, q.Next.Symbol, harmony.Counted(q.Beats, "note")),
		Chord:  q.Chord.Symbol,
		Hint:   fmt.Sprintf("a degree a beat, such as %s, with / to rise and \\ to fall", q.example()),
		Takes:  FormText, Sounds: pair{from: q.Chord, to: q.Next}.sounds(),
	}
}

// example is what an answer looks like.
func (q Leading) example() string {
	return strings.Join(strings.Fields("1 b3 5 b5 4 b3 2")[:q.Beats], " ")
}

// Steps go from the root to a bar that leads on.
func (q Leading) Steps() []string {
	right := q.Right()[0]
	steps := []string{fmt.Sprintf("Begin on the root of %s, or on its 3 or 5.", q.Chord.Symbol)}
	if q.Beats > 2 {
		between := "Go on by tones of"
		if !q.plain(right) {
			between = "Go on by tones of its scale, most of them tones of"
		}
		steps = append(steps, fmt.Sprintf("%s %s: %s.", between, q.Chord.Symbol, strings.Join(harmony.Spelled(fretboard.BassDegrees(q.Chord)), " ")))
	}
	return append(steps,
		fmt.Sprintf("The last note lies a half step from %s.", q.target()),
		"So: "+right,
	)
}

// plain reports a bar that is tones of the chord up to its last note, which lies a half
// step from the root that comes, and has that root nowhere before.
func (q Leading) plain(text string) bool {
	bass, err := q.read(text)
	if err != nil {
		return false
	}
	for i, b := range bass {
		class := b.First.Degree.Of(q.Chord.Root).Semitone()
		away := mod12(q.Next.Bass.Semitone() - class)
		last := i+1 == len(bass)
		switch {
		case last && away != 1 && away != 11, !last && away == 0:
			return false
		case !last && class != q.Chord.Bass.Semitone() && !slices.Contains(q.Chord.Degrees, q.Chord.DegreeOf(class)):
			return false
		}
	}
	return true
}

// tune is the bar and the one that it leads to.
func (q Leading) tune(bass []tune.BassBeat) *tune.Tune {
	meter := q.Meter
	if meter.Upper = q.Beats; meter.Lower == 8 {
		meter.Upper *= 3
	}
	root := make([]tune.BassBeat, q.Beats)
	for i := range root {
		root[i].First.Kind = tune.BassHold
	}
	arrival := harmony.Degree{Number: 1}
	if q.Next.Bass != q.Next.Root {
		arrival = within(q.Next.DegreeOf(q.Next.Bass.Semitone()))
	}
	root[0].First = tune.BassToken{Kind: tune.BassNote, Degree: arrival}
	key := q.Key
	if key == (harmony.Key{}) {
		key.Tonic = q.Next.Root
	}
	return &tune.Tune{
		Title: "x", Key: key, Meter: meter, Tempo: 100, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}},
		Sections: []tune.Section{{Name: "A", Bars: []tune.Bar{
			{Chords: []tune.Change{{Chord: q.Chord, Slots: 1}}, Bass: bass},
			{Chords: []tune.Change{{Chord: q.Next, Slots: 1}}, Bass: root},
		}}},
	}
}

// Right is a composed bar that the rules find nothing to mind in, such as Steps tells to
// make, or where no seed gives one the first of all such bars that does.
func (q Leading) Right() []string {
	const seeds = 64
	first := ""
	for seed := range uint64(seeds) {
		l, err := walk.Compose(q.tune(make([]tune.BassBeat, q.Beats)), walk.Options{
			Range: q.Neck.BassRange(), Seed: seed, Fill: func(_ string, bar int) bool { return bar == 1 },
		})
		if err != nil {
			break
		}
		text := tune.BassCell(l.Tune().Sections[0].Bars[0].Bass)
		if first == "" {
			first = text
		}
		if q.plain(text) && q.Judge(Typed(memory.Typed, text)).Result == Hit {
			return []string{text}
		}
	}
	if text, ok := q.byTones(nil); ok {
		return []string{text}
	}
	return []string{first}
}

// byTones goes on from some degrees, one a beat, by tones of the chord to a plain bar
// that is judged right, and reports false where there is none.
func (q Leading) byTones(bar []string) (string, bool) {
	var next []harmony.Degree
	switch len(bar) {
	case q.Beats:
		text := strings.Join(bar, " ")
		return text, q.plain(text) && q.Judge(Typed(memory.Typed, text)).Result == Hit
	case 0:
		next = []harmony.Degree{within(q.Chord.DegreeOf(q.Chord.Bass.Semitone()))}
	case q.Beats - 1:
		to := q.Next.Bass.Semitone()
		next = []harmony.Degree{within(q.Chord.DegreeOf(to + 11)), within(q.Chord.DegreeOf(to + 1))}
	default:
		next = fretboard.BassDegrees(q.Chord)
	}
	for _, d := range next {
		if len(bar) > 0 && bar[len(bar)-1] == d.String() {
			continue
		}
		if text, ok := q.byTones(append(slices.Clone(bar), d.String())); ok {
			return text, true
		}
	}
	return "", false
}

// target names the note that the bar leads to.
func (q Leading) target() string {
	if q.Next.Bass != q.Next.Root {
		return fmt.Sprintf("%s, the bass note of %s", q.Next.Bass, q.Next.Symbol)
	}
	return fmt.Sprintf("%s, the root of %s", q.Next.Root, q.Next.Symbol)
}

// Judge takes the tokens of a bass row, or note names. A bar with a fault, or one
// that does not come to the root, is a miss; what leads there with something to
// mind, or by a fourth or fifth, counts as slow.
func (q Leading) Judge(r Reply) Judgement {
	if r.Form != FormText {
		return unread("Type " + q.Ask().Hint + ".")
	}
	bass, err := q.read(r.Text)
	if err != nil {
		return unread(err.Error())
	}
	v := Judgement{Result: Hit, Given: tune.BassCell(bass)}
	t := q.tune(bass)
	if inside, _, ok := t.Fold(q.Neck.BassRange()); ok {
		t = inside // a degree that leaves the strings is taken an octave nearer
	}
	bar := walk.Criticise(t, walk.Critic{Range: q.Neck.BassRange(), Mend: func(string, int) bool { return false }})
	said := map[bool]string{} // the first fault, by whether it is grave
	for _, x := range bar {
		if _, met := said[x.Rule.Grave]; !x.Rule.Good && !met && (x.SectionBar == 1 || !x.Rule.Grave) {
			said[x.Rule.Grave] = fmt.Sprintf("beat %d: %s", x.At.Beat, x.Says)
		}
	}
	by, ok := q.comes(t)
	switch {
	case said[true] != "":
		v.Result, v.Reason = Miss, capital(said[true])+"."
	case !ok || by != 1 && by != 2 && by != 5 && by != 7:
		v.Result = Miss
		v.Reason = fmt.Sprintf("The last note does not lead to %s: come to it by a half step.", q.target())
	case said[false] != "":
		v.Result, v.Reason = Near, "It leads there, but mind "+said[false]+"."
	case by > 2:
		v.Result, v.Reason = Near, fmt.Sprintf("It comes to %s by a leap; a half step leads more surely.", q.Next.Bass)
	case by == 1:
		v.Reason = fmt.Sprintf("A half step leads into %s.", q.target())
	default:
		v.Reason = fmt.Sprintf("A whole step leads into %s.", q.target())
	}
	return v
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// comes returns how many half steps the last note of the bar lies from the root
// that comes; false where there is no such note.
func (q Leading) comes(t *tune.Tune) (int, bool) {
	notes, err := t.Line(q.Neck.BassRange())
	if err != nil || len(notes) < 2 {
		return 0, false
	}
	by := notes[len(notes)-1].Pitch.MIDI() - notes[len(notes)-2].Pitch.MIDI()
	return max(by, -by), true
}

// read reads the bar: a token a beat, degrees or note names.
func (q Leading) read(text string) ([]tune.BassBeat, error) {
	fields := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t|", r) })
	if len(fields) != q.Beats {
		return nil, fmt.Errorf("%s: type one for each of %s, such as %s", harmony.Counted(len(fields), "note"), harmony.Counted(q.Beats, "beat"),
			q.example())
	}
	var bass []tune.BassBeat
	for _, f := range fields {
		beat, err := tune.ParseBassBeat(f)
		if err != nil {
			mark := strings.TrimLeft(f, `/\`)
			n, noteErr := readNote(mark)
			if noteErr != nil {
				return nil, fmt.Errorf("%q is no note of a bass line: type a degree such as b3, or a note such as Eb", f)
			}
			beat, err = tune.ParseBassBeat(f[:len(f)-len(mark)] + within(q.Chord.DegreeOf(n.Semitone())).String())
			if err != nil {
				return nil, err
			}
		}
		bass = append(bass, beat)
	}
	return bass, nil
}

package drills

import (
	"fmt"
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
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		seen := map[memory.Item]bool{}
		for _, p := range pairs(m) {
			q := Leading{Chord: p.from, Next: p.to, Meter: p.meter, Neck: m.Neck}
			if m.Tune != nil {
				q.Key = m.Tune.Key
			}
			if !seen[q.Item()] && !p.onOneRoot() {
				seen[q.Item()] = true
				qs = append(qs, q)
			}
		}
		return qs, nil
	},
}

// Leading asks for a bar of the bass over one chord that leads to the root of the
// next. It is judged by the rules of criticism, so there are many right answers.
type Leading struct {
	Chord, Next harmony.Chord
	Key         harmony.Key
	Meter       tune.Meter
	Neck        fretboard.Neck
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
	beats := q.Meter.Beats()
	return Ask{
		Prompt: fmt.Sprintf("A bar of %s in %s, then %s: walk %s that lead there.", q.Chord.Symbol, q.Meter, q.Next.Symbol, counted(beats, "note")),
		Chord:  q.Chord.Symbol,
		Hint:   fmt.Sprintf("a degree a beat, such as %s, with / to rise and \\ to fall", strings.Join(strings.Fields("1 b3 5 b5 4 b3 2")[:beats], " ")),
		Takes:  FormText, Sounds: pair{from: q.Chord, to: q.Next}.sounds(),
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Steps go from the root to a bar that leads on.
func (q Leading) Steps() []string {
	p := pair{from: q.Chord, to: q.Next}
	return []string{
		fmt.Sprintf("Begin on the root of %s, or on its 3 or 5.", q.Chord.Symbol),
		fmt.Sprintf("Go on by tones of %s: %s.", q.Chord.Symbol, strings.Join(harmony.Spelled(fretboard.BassDegrees(q.Chord)), " ")),
		fmt.Sprintf("The last note lies a half step from %s, the root of %s, which is the %s of %s.", q.Next.Root, q.Next.Symbol, p.next(), q.Chord.Symbol),
		"So: " + q.Right()[0],
	}
}

// tune is the bar and the one that it leads to.
func (q Leading) tune(bass []tune.BassBeat) *tune.Tune {
	root := make([]tune.BassBeat, q.Meter.Beats())
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
		Title: "x", Key: key, Meter: q.Meter, Tempo: 100, Swing: harmony.Swing{Ratio: tune.Ratio{Long: 1, Short: 1}},
		Sections: []tune.Section{{Name: "A", Bars: []tune.Bar{
			{Chords: []tune.Change{{Chord: q.Chord, Slots: 1}}, Bass: bass},
			{Chords: []tune.Change{{Chord: q.Next, Slots: 1}}, Bass: root},
		}}},
	}
}

// Right is a composed bar that the rules find nothing to mind in.
func (q Leading) Right() []string {
	const seeds = 64
	first := ""
	for seed := range uint64(seeds) {
		l, err := walk.Compose(q.tune(make([]tune.BassBeat, q.Meter.Beats())), walk.Options{
			Range: q.Neck.BassRange(), Seed: seed, Fill: func(_ string, bar int) bool { return bar == 1 },
		})
		if err != nil {
			break
		}
		text := tune.BassCell(l.Tune().Sections[0].Bars[0].Bass)
		if first == "" {
			first = text
		}
		if q.Judge(Typed(memory.Typed, text)).Result == Hit {
			return []string{text}
		}
	}
	return []string{first}
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
	bar := walk.Criticise(t, walk.Critic{Range: q.Neck.BassRange()})
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
		v.Reason = fmt.Sprintf("The last note does not lead to %s, the root of %s: come to it by a half step.", q.Next.Root, q.Next.Symbol)
	case said[false] != "":
		v.Result, v.Reason = Near, "It leads there, but mind "+said[false]+"."
	case by > 2:
		v.Result, v.Reason = Near, fmt.Sprintf("It comes to %s by a leap; a half step leads more surely.", q.Next.Root)
	case by == 1:
		v.Reason = fmt.Sprintf("A half step leads into the root of %s.", q.Next.Symbol)
	default:
		v.Reason = fmt.Sprintf("A whole step leads into the root of %s.", q.Next.Symbol)
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
	if len(fields) != q.Meter.Beats() {
		return nil, fmt.Errorf("%s: type one for each of %s, such as %s", counted(len(fields), "note"), counted(q.Meter.Beats(), "beat"),
			strings.Join(strings.Fields("1 b3 5 b5 4 b3 2")[:q.Meter.Beats()], " "))
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

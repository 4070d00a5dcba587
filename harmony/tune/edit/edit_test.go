package edit

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
	"footfall/harmony/walk"
)

const small = `tune   Gate
key    C
meter  4/4
tempo  120
swing  1:1
form   A B A

[A]
chords | Dm7       | G7        | Cmaj7 A7  | %         |
bass   | 1 3 5 b5  | 1 3 5 b7  | 1 5 1 3   | %         |
words  | low       |           |           |           |

[B]
chords | Fmaj7     | . Bb7     | =A1       | G7        |
bass   | 1 3 5 6   | 1 5 1 3   | =A1       | 1 3 5 \b5 |
`

func open(t testing.TB, text string) *Document {
	d, faults := Open(text)
	require.Empty(t, faults)
	return d
}

func cells(d *Document, section, bar int) (chords, bass string) {
	b := d.Tune().Sections[section].Bars[bar]
	for i, x := range b.Bass {
		if i > 0 {
			bass += " "
		}
		bass += x.String()
	}
	return tune.ChordCell(b.Chords), bass
}

func TestSettingTokens(t *testing.T) {
	for _, c := range []struct {
		name         string
		at           Place
		text         string
		chords, bass string
	}{
		{"a chord on a beat", Place{Row: tune.ChordsRow, Beat: 2}, "G7", "Dm7 G7", "1 3 5 b5"},
		{"a chord on the last beat", Place{Row: tune.ChordsRow, Beat: 3}, "G7", "Dm7 . . G7", "1 3 5 b5"},
		{"chords that share the bar", Place{Row: tune.ChordsRow, Beat: 1}, "Dm7 G7 Em7 A7", "Dm7 G7 Em7 A7", "1 3 5 b5"},
		{"a dot lets the chord hold", Place{Bar: 2, Row: tune.ChordsRow, Beat: 2}, ".", "Cmaj7", "1 5 1 3"},
		{"a dot on beat 1 holds the bar before", Place{Bar: 1, Row: tune.ChordsRow}, ".", "Dm7", "1 3 5 b7"},
		{"a degree", Place{Row: tune.BassRow, Beat: 1}, "/b3", "Dm7", "1 /b3 5 b5"},
		{"several, a split beat among them", Place{Row: tune.BassRow, Beat: 2}, `\5,6 -`, "Dm7", `1 3 \5,6 -`},
		{"a copy", Place{Bar: 1, Row: tune.BassRow, Beat: 3}, "=A1", "G7", "1 3 5 b5"},
		{"another way to repeat", Place{Bar: 2, Row: tune.ChordsRow}, "%", "G7", "1 5 1 3"},
	} {
		d := open(t, small)
		d.GoTo(c.at)
		would, err := d.Try(c.text)
		require.NoError(t, err, c.name)
		require.NoError(t, d.Set(c.text), c.name)
		assert.Equal(t, d.Text(), tune.Write(would), c.name)
		chords, bass := cells(d, c.at.Section, c.at.Bar)
		assert.Equal(t, c.chords, chords, c.name)
		assert.Equal(t, c.bass, bass, c.name)
		require.True(t, d.Undo())
		assert.Equal(t, open(t, small).Text(), d.Text(), c.name)
		assert.Equal(t, c.at, d.At(), c.name)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		at   Place
		text string
		says []string
	}{
		{Place{Row: tune.ChordsRow}, "Dmm7", []string{`"Dmm7"`, "write"}},
		{Place{Row: tune.ChordsRow}, ".", []string{"no chord before it"}},
		{Place{Row: tune.ChordsRow}, "C D E F G A B C D", []string{"9 symbols", "at most 8"}},
		{Place{Row: tune.ChordsRow}, "N.C.", []string{`"1" over N.C.`, "A bar 1, token 1"}},
		{Place{Row: tune.ChordsRow}, "%", []string{"first bar"}},
		{Place{Row: tune.BassRow}, "-", []string{"no note before it to hold"}},
		{Place{Row: tune.BassRow}, "b4", []string{`"b4"`, "a degree, one of"}},
		{Place{Row: tune.BassRow, Beat: 2}, "1 3 5", []string{"found 3 tokens", "at most 2"}},
		{Place{Row: tune.BassRow}, "=B1", []string{"stands before this one", "=A1"}},
		{Place{Row: tune.HitsRow}, "onn", []string{"on, and, both"}},
		{Place{Row: tune.ShapesRow}, "8-x", []string{"8-x-8-9-8-x"}},
		{Place{Row: tune.WordsRow}, "a|b", []string{"|"}},
		{Place{Row: tune.WordsRow}, "=B3", []string{"stands before this one"}},
		{Place{Row: tune.BassRow}, "", []string{"nothing is written"}},
	} {
		d := open(t, small)
		before := d.Text()
		d.GoTo(c.at)
		err := d.Set(c.text)
		require.Error(t, err, c.text)
		_, tried := d.Try(c.text)
		assert.Equal(t, err, tried)
		for _, s := range c.says {
			assert.ErrorContains(t, err, s)
		}
		assert.Equal(t, before, d.Text())
		undo, _ := d.Steps()
		assert.Zero(t, undo)
	}
}

// A copy follows what it copies, also over several steps; a bar that is written
// itself is a copy no more.
func TestCopiesFollow(t *testing.T) {
	d := open(t, small)
	d.GoTo(Place{Bar: 2, Row: tune.ChordsRow})
	require.NoError(t, d.Set("Em7"))
	chords, _ := cells(d, 0, 3)
	assert.Equal(t, "Em7 A7", chords)
	d.GoTo(Place{Row: tune.BassRow, Beat: 3})
	require.NoError(t, d.Set("6"))
	_, bass := cells(d, 1, 2)
	assert.Equal(t, "1 3 5 6", bass, "=A1 follows")
	d.GoTo(Place{Section: 1, Row: tune.ChordsRow})
	require.NoError(t, d.Set("F6"))
	chords, _ = cells(d, 1, 1)
	assert.Equal(t, "F6 Bb7", chords, "the . that holds follows")
	d.GoTo(Place{Bar: 3, Row: tune.BassRow, Beat: 1})
	require.NoError(t, d.Set("b7"))
	assert.Equal(t, tune.WrittenOut, d.Tune().Sections[0].Bars[3].Copies[tune.BassRow].Kind)
	assert.Equal(t, tune.Simile, d.Tune().Sections[0].Bars[3].Copies[tune.ChordsRow].Kind)
}

func TestBarsComeAndGo(t *testing.T) {
	d := open(t, small)
	d.GoTo(Place{Row: tune.BassRow, Beat: 2})
	require.NoError(t, d.InsertBar())
	assert.Equal(t, Place{Bar: 1, Row: tune.BassRow}, d.At())
	chords, bass := cells(d, 0, 1)
	assert.Equal(t, "Dm7", chords)
	assert.Equal(t, ". . . .", bass)
	assert.Contains(t, d.Text(), "=A1", "bar 1 is still bar 1")
	require.NoError(t, d.RemoveBars(Range{1, 1}))
	assert.Equal(t, open(t, small).Tune().Sections[0].Bars[2], d.Tune().Sections[0].Bars[2])

	d = open(t, small)
	require.NoError(t, d.RemoveBars(Range{0, 2}))
	chords, bass = cells(d, 0, 0)
	assert.Equal(t, "Cmaj7 A7", chords, "what repeated a bar that is gone is written out")
	assert.Equal(t, "1 5 1 3", bass)
	chords, _ = cells(d, 1, 2)
	assert.Equal(t, "Dm7", chords)
	require.NotContains(t, d.Text(), "=A1")
	require.ErrorContains(t, d.RemoveBars(Range{0, 0}), "section A would have no bar left")
	require.NoError(t, d.RemoveBars(Range{1, 2}))
	require.ErrorContains(t, d.RemoveBars(Range{0, 9}), "no bar left")

	d = open(t, small)
	d.GoTo(Place{Bar: 2})
	require.NoError(t, d.InsertBar())
	chords, _ = cells(d, 0, 4)
	assert.Equal(t, "Cmaj7 A7", chords, "what repeated the bar before keeps what it has")
}

func TestReplacing(t *testing.T) {
	d := open(t, small)
	faults := d.Replace("tune x\n")
	require.NotEmpty(t, faults)
	assert.Equal(t, "no key line", faults[0].Found)
	assert.Equal(t, open(t, small).Text(), d.Text(), "a text with faults is not taken")
	d.GoTo(Place{Section: 1, Bar: 3, Beat: 2})
	require.Empty(t, d.Replace("tune x\nkey C\nmeter 3/4\ntempo 60\n[A]\nchords | C | F |\n"))
	assert.Equal(t, Place{Bar: 1, Beat: 2}, d.At(), "the nearest place there is")
	require.True(t, d.Undo())
	assert.Equal(t, open(t, small).Text(), d.Text(), "one step")
	_, faults = Open("tune x\n")
	assert.NotEmpty(t, faults)
}

func TestSettingTheBassOfABar(t *testing.T) {
	d := open(t, small)
	beat := func(s string) tune.BassBeat {
		b, err := tune.ParseBassBeat(s)
		require.NoError(t, err)
		return b
	}
	require.NoError(t, d.SetBass(Place{Bar: 3}, []tune.BassBeat{beat("5"), beat("-"), beat("1,3"), beat(`\7`)}))
	_, bass := cells(d, 0, 3)
	assert.Equal(t, `5 - 1,3 \7`, bass)
	chords, _ := cells(d, 0, 3)
	assert.Equal(t, "Cmaj7 A7", chords, "its chords are still those of the bar before")
	undo, _ := d.Steps()
	assert.Equal(t, 1, undo)
}

// Writing what stands at a place leaves the bar as it sounds, whatever the tune.
func TestTokenSaysWhatStandsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, faults := Open(tune.Write(tunetest.Tune().Draw(t, "tune")))
		if faults != nil {
			t.Fatal(faults)
		}
		d.GoTo(Place{Section: rapid.IntRange(0, 3).Draw(t, "section"), Bar: rapid.IntRange(0, 4).Draw(t, "bar"),
			Row: tune.Row(rapid.IntRange(0, 4).Draw(t, "row")), Beat: rapid.IntRange(0, 6).Draw(t, "beat")})
		at, token := d.At(), d.Token()
		content := func() []string {
			b := d.Bar(at)
			var out []string
			for beat := range d.beats(at) {
				out = append(out, tokenAt(d.Tune(), b, Place{Section: at.Section, Row: at.Row, Beat: beat}))
			}
			return out
		}
		before := content()
		if err := d.Set(token); err != nil {
			t.Fatalf("%q at %+v: %v\n%s", token, at, err, d.Text())
		}
		if after := content(); !slices.Equal(before, after) {
			t.Fatalf("%q at %+v makes %q of %q\n%s", token, at, after, before, d.Text())
		}
	})
}

func TestComposing(t *testing.T) {
	d := open(t, small)
	o := walk.Options{Range: tune.Within(40, 60)}
	notes, err := d.Compose(Range{1, 2}, o)
	require.NoError(t, err)
	assert.NotEmpty(t, notes)
	_, bass := cells(d, 0, 0)
	assert.Equal(t, "1 3 5 b5", bass, "bars that are not asked for stay")
	_, bass = cells(d, 0, 2)
	assert.NotEqual(t, "1 5 1 3", bass)
	_, err = d.Tune().Line(o.Range)
	assert.NoError(t, err)
	require.Equal(t, []string{"A", "B", "A"}, d.Tune().Form)
	first := d.Text()
	require.True(t, d.Undo())
	assert.Equal(t, open(t, small).Text(), d.Text(), "one step")
	o.Seed = 3
	_, err = d.Compose(Range{0, d.Bars() - 1}, o)
	require.NoError(t, err)
	assert.NotEqual(t, first, d.Text())
	require.Error(t, func() error {
		d := open(t, "tune x\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | N.C. | C |\n")
		_, err := d.Compose(Range{0, 0}, o)
		return err
	}())
}

// Asked again and again for another line, bars get one each time that differs from the
// one before, and comes again only when there are no more.
func TestComposingAnother(t *testing.T) {
	d := open(t, "tune x\nkey Eb\nmeter 4/4\ntempo 120\n[A]\nchords | Bb-7 Eb7alt | Abmaj7 Db7 | G-7 Gbdim7 | F-7 |\n"+
		"bass | 1 /b3 1 \\3 | 1 \\5 1 /5 | 1 \\5 1 b3 | 1 \\b7 \\6 \\b6 |\n")
	for _, r := range []Range{{1, 1}, {0, 1}, {3, 3}, {2, 2}} {
		o := walk.Options{Range: tune.Within(40, 60)}
		seen, before, again := map[string]bool{}, bassOf(d.Tune(), r), 0
		all := map[string]bool{}
		for range 12 {
			_, err := d.ComposeAnother(r, o, seen)
			require.NoError(t, err)
			now := bassOf(d.Tune(), r)
			require.NotEqual(t, before, now)
			if all[now] {
				again++
			}
			all[now] = true
			before = now
			o.Seed++
		}
		require.Less(t, again, 8, "%v: %v", r, all)
		require.GreaterOrEqual(t, len(all), 3, "%v: %v", r, all)
	}
	d = open(t, "tune x\nkey C\nmeter 2/4\ntempo 120\n[A]\nchords | G7 | C |\nbass | 1 - | 1 - |\n")
	text, seen := d.Text(), map[string]bool{}
	o := walk.Options{Range: tune.Within(40, 60), Style: walk.Roots}
	for range 3 {
		before := bassOf(d.Tune(), Range{0, 0})
		if _, err := d.ComposeAnother(Range{0, 0}, o, seen); err != nil {
			require.ErrorIs(t, err, ErrNoOther)
			require.Equal(t, before, bassOf(d.Tune(), Range{0, 0}))
			return
		}
		text = d.Text()
	}
	t.Fatal("the root alone has no other line: " + text)
}

func TestMoving(t *testing.T) {
	d := open(t, small)
	d.GoTo(Place{Row: tune.BassRow})
	d.MoveBeats(4*4 + 1)
	assert.Equal(t, Place{Section: 1, Row: tune.BassRow, Beat: 1}, d.At())
	d.MoveBars(-1)
	assert.Equal(t, Place{Section: 1, Row: tune.BassRow}, d.At())
	d.MoveBars(-1)
	assert.Equal(t, Place{Bar: 3, Row: tune.BassRow}, d.At())
	d.MoveBeats(-99)
	assert.Equal(t, Place{Row: tune.BassRow}, d.At())
	d.MoveBars(99)
	assert.Equal(t, Place{Section: 1, Bar: 3, Row: tune.BassRow}, d.At())
	d.MoveRows(-9)
	assert.Equal(t, tune.ChordsRow, d.At().Row)
	for i := range d.Bars() {
		assert.Equal(t, i, d.Index(d.Place(i)))
	}
}

var texts = []string{"1", "/b3", `\5`, "5,b7", "-", ".", "%", "=A1", "=B1", "=A:2", "Dm7", "G7 C", "N.C.", ". Bb7", "1 3", "on", "both", "*", "x-x-3-4-5-x",
	"a word", "", "|", "Hm", "é", "1 - - -"}

// Whatever is done to whatever tune, the text can be read and is canonical, undo
// to the start gives the start, and redo the end.
func TestUndoGivesTheStartAndRedoTheEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := tune.Write(tunetest.Tune().Draw(t, "tune"))
		d, faults := Open(start)
		if faults != nil {
			t.Fatal(faults)
		}
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			at := Place{Section: rapid.IntRange(0, 4).Draw(t, "section"), Bar: rapid.IntRange(0, 6).Draw(t, "bar"),
				Row: tune.Row(rapid.IntRange(0, 4).Draw(t, "row")), Beat: rapid.IntRange(0, 6).Draw(t, "beat")}
			d.GoTo(at)
			before := d.Text()
			var err error
			switch rapid.IntRange(0, 9).Draw(t, "what") {
			case 0:
				err = d.InsertBar()
			case 1:
				i := d.Index(d.At())
				err = d.RemoveBars(Range{i, i + rapid.IntRange(0, 3).Draw(t, "more")})
			case 2:
				i := d.Index(d.At())
				_, err = d.Compose(Range{i, i + 1}, walk.Options{Range: tune.Within(40, 60), Seed: 5})
			case 3:
				_, err = d.Transpose(rapid.IntRange(-6, 6).Draw(t, "by"), 15)
			case 4:
				err = d.Clear()
			case 5:
				d.Undo()
				before = d.Text()
			default:
				err = d.Set(rapid.SampledFrom(texts).Draw(t, "text"))
			}
			if err != nil && d.Text() != before {
				t.Fatalf("refused with %v, and changed", err)
			}
			again, faults := tune.Read(d.Text())
			if faults != nil {
				t.Fatalf("%v in\n%s", faults, d.Text())
			}
			if tune.Write(again) != d.Text() {
				t.Fatalf("not canonical:\n%s\n%s", d.Text(), tune.Write(again))
			}
			copied := tune.Write(again)
			follow(again)
			if tune.Write(again) != copied {
				t.Fatalf("a copy is none:\n%s", copied)
			}
		}
		for d.Redo() { // what the last steps took back
		}
		end := d.Text()
		undo, _ := d.Steps()
		for range undo {
			d.Undo()
		}
		if d.Text() != start {
			t.Fatalf("undone to\n%s\nfrom\n%s", d.Text(), start)
		}
		for d.Redo() {
		}
		if d.Text() != end {
			t.Fatalf("done again to\n%s\nfrom\n%s", d.Text(), end)
		}
	})
}

// BenchmarkSet writes a token into a tune of 500 bars; the budget is 10 ms, so
// that no key is felt to lag.
func BenchmarkSet(b *testing.B) {
	text := "tune Long\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords |"
	bass := "\nbass |"
	for range 500 {
		text += " Dm7 G7 |"
		bass += " 1 b3 1 3 |"
	}
	d := open(b, text+bass+"\n")
	for i := 0; b.Loop(); i++ {
		d.GoTo(Place{Bar: 250, Row: tune.BassRow, Beat: 1})
		if err := d.Set([]string{"5", "3"}[i%2]); err != nil {
			b.Fatal(err)
		}
	}
}

func FuzzSet(f *testing.F) {
	for i, s := range texts {
		f.Add(s, uint8(i%5), uint8(i))
	}
	f.Fuzz(func(t *testing.T, text string, row, beat uint8) {
		if len(text) > 1<<10 { // what is longer says the same more slowly
			return
		}
		d := open(t, small)
		before := d.Text()
		d.GoTo(Place{Bar: int(beat / 4), Row: tune.Row(row % 5), Beat: int(beat % 4)})
		_, tried := d.Try(text)
		if err := d.Set(text); (err == nil) != (tried == nil) {
			t.Fatalf("tried %v, set %v", tried, err)
		} else if err != nil && d.Text() != before {
			t.Fatal("refused and changed")
		}
		if _, faults := tune.Read(d.Text()); faults != nil {
			t.Fatal(faults)
		}
	})
}

// A key pins the note of a beat to one bass string after the other, then to none.
func TestPin(t *testing.T) {
	d, faults := Open("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | C |\nbass | 1 /3,/5 - . | % |\n")
	require.Empty(t, faults)
	row := func() string { return strings.Split(d.Text(), "\n")[8] }
	for _, want := range []string{"bass   | 1@6 /3,/5 - . | %           |", "bass   | 1@5 /3,/5 - . | %           |", "bass   | 1 /3,/5 - . | %           |"} {
		require.NoError(t, d.Pin([]int{6, 5}))
		assert.Equal(t, strings.Join(strings.Fields(want), " "), strings.Join(strings.Fields(row()), " "))
	}
	d.MoveBeats(1)
	require.NoError(t, d.Pin([]int{6, 5}))
	assert.Contains(t, row(), "1 /3@6,/5@6 - .")
	require.True(t, d.Undo())
	assert.Contains(t, row(), "1 /3,/5 - .")
	for range 2 {
		d.MoveBeats(1)
		require.ErrorContains(t, d.Pin([]int{6, 5}), "no bass note starts on this beat")
	}
}

// An ending is one change, in the last bar of the form alone; tokens that are none
// change nothing.
func TestSetEnding(t *testing.T) {
	d, faults := Open("tune Gate\nkey C\nmeter 4/4\ntempo 100\nform A A\n\n[A]\nchords | C | Am7 D7 |\nbass | 1 3 5 3 | 1 5 1 3 |\n")
	require.Empty(t, faults)
	before := d.Text()
	rows := map[tune.Row]string{tune.BassRow: "5@5 -", tune.HitsRow: "on- .", tune.ShapesRow: "x-12-10-11-10-x ."}
	require.NoError(t, d.SetEnding(3, rows))
	bars := d.Tune().Unroll()
	require.Len(t, bars, 4)
	assert.Equal(t, []string{"A", "End"}, d.Tune().Form)
	assert.Nil(t, bars[1].Bar.Shapes)
	assert.Equal(t, []int{-1, 12, 10, 11, 10, -1}, bars[3].Bar.Shapes[2].Frets)
	assert.Equal(t, Place{Section: 1, Bar: 1, Row: tune.ShapesRow, Beat: 2}, d.At())
	require.True(t, d.Undo())
	assert.Equal(t, before, d.Text())
	rows[tune.HitsRow] = "sometimes"
	assert.Error(t, d.SetEnding(3, rows))
	assert.Equal(t, before, d.Text())
}

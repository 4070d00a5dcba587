package tune_test

import (
	"fmt"
	"strings"
	"testing"

	"footfall/harmony"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lantern is the format's own example, made whole.
const lantern = `tune   Lantern Street
key    Bb
meter  4/4
tempo  104
swing  2:1
form   A A B A

[A]
chords | Bbmaj7 . G7 . | Cm7          | F7         | %     |
bass   | 1 /3 \1 /3    | 1 /b3 /5 \b3 | 1 \b7 \6 \5 | % |
hits   | on . and .    | on . on .    | both . . . | %     |
shapes | * . * .       | * . * .      | * . . .    | %     |
words  | an optional cue, free text per bar | | | |

[B]
chords | Ebmaj7 | Em7b5 |
bass   | =A1 | =A2 |
`

func mustRead(t testing.TB, text string) *tune.Tune {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	return tn
}

func TestReadExample(t *testing.T) {
	tn := mustRead(t, lantern)
	assert.Equal(t, "Lantern Street", tn.Title)
	assert.Equal(t, harmony.Key{Tonic: harmony.Note{Letter: harmony.B, Alter: -1}}, tn.Key)
	assert.Equal(t, tune.Meter{Upper: 4, Lower: 4}, tn.Meter)
	assert.Equal(t, 104.0, tn.Tempo)
	assert.Equal(t, tune.Ratio{Long: 2, Short: 1}, tn.Swing.Ratio)
	assert.Equal(t, []string{"A", "A", "B", "A"}, tn.Form)
	require.Len(t, tn.Sections, 2)
	a := tn.Sections[0].Bars
	require.Len(t, a, 4)
	require.Len(t, a[0].Chords, 2)
	assert.Equal(t, "Bbmaj7", a[0].Chords[0].Chord.Symbol)
	assert.Equal(t, 2, a[0].Chords[1].Slot)
	assert.Equal(t, 4, a[0].Chords[1].Slots)
	assert.Equal(t, a[2].Bass, a[3].Bass)
	assert.Equal(t, tune.Copy{Kind: tune.Simile}, a[3].Copies[tune.BassRow])
	assert.Equal(t, []tune.HitToken{{Hit: tune.HitOn}, {}, {Hit: tune.HitAnd}, {}}, a[0].Hits)
	assert.True(t, a[0].Shapes[0].Choose)
	assert.Equal(t, "an optional cue, free text per bar", a[0].Words)
	assert.Equal(t, a[0].Bass, tn.Sections[1].Bars[0].Bass)
	assert.Len(t, tn.Unroll(), 14)
}

// TestFaults gives each faulty text and, for every fault of it in order, the
// line, the column, and a piece of what is found and of what is wanted.
func TestFaults(t *testing.T) {
	type want struct {
		line, col   int
		found, want string
	}
	const head = "tune T\nkey C\nmeter 4/4\ntempo 120\n"
	cases := map[string]struct {
		text string
		want []want
	}{
		"five at once": {
			"tune T\nkey H\nmeter 4/4\ntempo fast\n[A]\nchords | Dm7 | Qm7 |\nbass | 1 2 x 4 | 1 3 5 |\n",
			[]want{
				{2, 5, `"H"`, "a key"}, {4, 7, `"fast"`, "30 to 300"}, {6, 16, `"Qm7"`, "a chord symbol"},
				{7, 12, `"x"`, "a degree"}, {7, 18, "3 tokens", "4 tokens"},
			},
		},
		"empty": {"", []want{
			{1, 1, "no tune line", "title"}, {1, 1, "no key line", "a key"}, {1, 1, "no meter line", "a meter"},
			{1, 1, "no tempo line", "a tempo"}, {1, 1, "no section", "[A]"},
		}},
		"headers": {
			"tune\nkeys C\nkey C\nkey D\nmeter 8/4\ntempo 301\nswing 1:2\nform A C\nchords | C |\n[A]\nchords | C |\ntempo 90\nbas | 1 |\n",
			[]want{
				{1, 5, "nothing after tune", "the title"}, {2, 1, `"keys"`, "a header, one of tune, key"},
				{4, 1, "a second key line", "one key line"}, {5, 7, `"8/4"`, "2/4 to 7/4"}, {6, 7, `"301"`, "30 to 300"},
				{7, 7, `"1:2"`, "long to short"}, {8, 8, `"C"`, "the name of a section: A"},
				{9, 1, `"chords"`, "a section name such as [A]"},
				{12, 1, `"tempo"`, "headers above"}, {13, 1, `"bas"`, "a row, one of chords"},
			},
		},
		"sections": {
			head + "[A]\nchords | C |\n[A]\nchords | C |\n[1]\nchords | C |\n[B\nchords | C |\n[C]\nbass | 1 1 1 1 |\n",
			[]want{
				{7, 1, "a second section A", "a name that no section has"}, {9, 1, `"[1]"`, "a letter first"},
				{11, 1, `"[B"`, "in brackets"}, {13, 2, "no chords row", "a chords row"},
			},
		},
		"copies": {
			head + "[A]\nchords | % | C | =A3 | =A2 | =B1 | =A9 | =Z1 | = |\nbass | % | =A5 | =B1 | 1 1 1 1 | % | % | % | % |\n[B]\nchords | =A1 |\n",
			[]want{
				{6, 10, `"%" in the first bar`, "written out"}, {6, 18, `"=A3", which comes no earlier`, "before this one"},
				{6, 30, `"=B1", which comes no earlier`, "before"}, {6, 36, `"=A9", but no chords row`, "such as =A3"},
				{6, 42, `"=Z1"`, ""}, {6, 48, `"="`, ""},
				{7, 8, `"%"`, ""}, {7, 12, `"=A5", which comes no earlier`, ""}, {7, 18, `"=B1", but no bass row`, ""},
			},
		},
		"ambiguous copy": {
			head + "[A]\nchords | C | C | C | C | C | C | C | C | C | C | C | C |\n[A1]\nchords | C | C |\n[B]\nchords | =A12 | =A1:2 | =A:12 |\n",
			[]want{{10, 10, `"=A12", which names two bars`, "=A1:2 or =A:12"}},
		},
		"rows": {
			head + "[A]\nchords | C | | . |\nbass 1 3 5 3\nhits | on on on on | at . . . | . . . . | . . . . |\nshapes | 8-x-8 . . . | x-x-x-x-x-x . . . | 1-2-3-4 25-1-1-1 * 1-1-1-1-1 |\nchords | C | C | C |\n",
			[]want{
				{6, 14, "an empty bar", "a chord symbol"}, {7, 6, `"1 3 5 3"`, "a | before"},
				{8, 22, `"at"`, "on, and, both"}, {8, 43, "4 bars in the hits row", "3 bars"},
				{9, 10, `"8-x-8"`, "low to high"}, {9, 24, `"x-x-x-x-x-x"`, "that is played"},
				{9, 52, `"25-1-1-1"`, "0 to 24"}, {9, 63, "a shape of 5 strings", "each of the 4 strings"},
				{10, 1, "a second chords row", "one chords row"},
			},
		},
		"too few bars": {head + "[A]\nchords | C | C |\nbass | 1 1 1 1 |\n", []want{{7, 17, "1 bar in the bass row", "2 bars"}}},
		"too many tokens": {
			head + "[A]\nchords | C C C C C C C C C |\nbass | 1 1 1 1 1 |\n",
			[]want{{6, 26, "9 symbols", "at most 8"}, {7, 16, "5 tokens", "4 tokens"}},
		},
		"nothing to hold": {head + "[A]\nchords | . C |\nbass | - 1 1 1 |\n", []want{{6, 10, `a "." with no chord`, ""}}},
		"first hold":      {head + "form B A\n[A]\nchords | C |\nbass | 1 1 1 1 |\n[B]\nchords | C |\nbass | - 1 1 1 |\n", []want{{11, 8, `a "-" with no note`, "a degree, or a ."}}},
		"no chord":        {head + "[A]\nchords | C N.C. | % |\nbass | 1 . . 3,5 | % |\n", []want{{7, 14, `"3" over N.C.`, "no root"}, {7, 20, `over N.C.`, "no root"}}},
		"too many bars": {
			head + "[A]\nchords |" + strings.Repeat(" C |", 10_001) + "\nbass | 1 |\n",
			[]want{{6, 1, "more bars than fit", "at most 10000"}},
		},
		"too long a form": {
			head + "form " + strings.Repeat("A ", 5001) + "\n[A]\nchords | C | C |\n",
			[]want{{5, 10006, "more than 10000 bars", "a shorter form"}},
		},
		"too many sections": {
			head + strings.Repeat("[A]\nchords | C |\n", 1) + sections(1001),
			[]want{{2005, 1, "one section more", "at most 1000"}},
		},
		"bytes":                  {head + "[A]\nchords | C |\nwords | ♭\xff |\nwords | a\x00 |\n", []want{{7, 10, "the byte 0xff", "UTF-8"}, {8, 10, "U+0000", "control"}}},
		"columns are characters": {head + "[A]\nchords | B♭maj7 | Z |\n", []want{{6, 19, `"Z"`, "a chord symbol"}}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			tn, faults := tune.Read(c.text)
			assert.Nil(t, tn)
			for i, f := range faults {
				if !assert.Less(t, i, len(c.want), f.Error()) {
					continue
				}
				w := c.want[i]
				assert.Equal(t, [2]int{w.line, w.col}, [2]int{f.Line, f.Column}, f.Error())
				assert.Contains(t, f.Found, w.found)
				assert.Contains(t, f.Want, w.want)
			}
			assert.Len(t, faults, len(c.want), faults.Error())
		})
	}
}

// sections writes n sections of a bar.
func sections(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "[S%dx]\nchords | C |\n", i)
	}
	return b.String()
}

// TestAccepted has texts that look odd and are read all the same.
func TestAccepted(t *testing.T) {
	plain := "tune T\nkey C\nmeter 4/4\ntempo 120\n[A]\nchords | C | G7 |\nbass | 1 3 5 3 | 1 3 5 . |\n"
	want := mustRead(t, plain)
	for name, text := range map[string]string{
		"CRLF":                     strings.ReplaceAll(plain, "\n", "\r\n"),
		"CR":                       strings.ReplaceAll(plain, "\n", "\r"),
		"BOM":                      "\ufeff" + plain,
		"tabs":                     strings.ReplaceAll(plain, " ", "\t"),
		"no newline at end":        strings.TrimSuffix(plain, "\n"),
		"no closing bar line":      strings.ReplaceAll(plain, " |\n", "\n"),
		"no spaces":                strings.ReplaceAll(strings.ReplaceAll(plain, " |", "|"), "| ", "|"),
		"indented":                 strings.ReplaceAll(plain, "\n", "\n   "),
		"headers in another order": "tempo 120\nkey C\ntune T\nmeter 4/4\n" + plain[strings.Index(plain, "["):],
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, want, mustRead(t, text)) })
	}
}

package tune_test

import (
	"strings"
	"testing"

	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// FuzzRead feeds any bytes to the reader. It must give a tune or faults that lie
// inside the text, and the canonical text of a tune must be a fixed point.
func FuzzRead(f *testing.F) {
	f.Add(lantern)
	f.Add("")
	f.Add("\ufefftune T\r\nkey C\rmeter 6/8\ntempo 90.5\n[A1]\nchords|C . G7|.|%|=A1:1\nbass|1,b7 /5|-,. \\1|%|%")
	f.Add("tune T\nkey C\nmeter 2/4\ntempo 90\n[A]\nchords | N.C. | \xff\nbass | 1 1\nwords | = | =A1 | % |  # x")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<12 { // what is longer says the same more slowly
			return
		}
		tn, faults := tune.Read(text)
		if tn == nil {
			require.NotEmpty(t, faults)
			lines := 1 + strings.Count(text, "\n") + strings.Count(text, "\r")
			for _, f := range faults {
				assert.Positive(t, f.Line)
				assert.LessOrEqual(t, f.Line, lines)
				assert.Positive(t, f.Column)
				assert.NotEmpty(t, f.Found)
				assert.NotEmpty(t, f.Want)
			}
			return
		}
		require.Empty(t, faults)
		canonical := tune.Write(tn)
		back, faults := tune.Read(canonical)
		require.Empty(t, faults, canonical)
		require.Equal(t, tn, back)
		require.Equal(t, canonical, tune.Write(back))
		_, _ = tn.Line(tune.Within(low, high))
	})
}

// long is a tune of 500 bars with all rows: 20 sections of 25 bars.
func long() string {
	var b strings.Builder
	b.WriteString("tune Long\nkey Bb\nmeter 4/4\ntempo 120\nswing 2:1\n")
	for i := range 20 {
		b.WriteString("\n[" + string(rune('A'+i)) + "]\n")
		for _, row := range []string{
			"chords | Cm7 F7 | Bbmaj7 | Em7b5 A7(b9) | Dm7 | % ",
			`bass   | \1 /b3 \1 3 | /1 3 5,6 \5 | 1 /b5 \1 b7 | /1 - . 5 | % `,
			"hits   | on . and . | on . . . | both . . . | on . on . | % ",
			"shapes | * . . . | 8-x-8-9-8-x . . . | * . * . | . . . . | % ",
			"words  | a cue | | | a longer cue | ",
		} {
			name, bars, _ := strings.Cut(row, "|")
			b.WriteString(name + strings.Repeat("|"+bars, 5) + "|\n")
		}
	}
	return b.String()
}

// BenchmarkRead500 reads a tune of 500 bars with all rows. Budget: 10 ms.
func BenchmarkRead500(b *testing.B) {
	text := long()
	for b.Loop() {
		if _, faults := tune.Read(text); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// BenchmarkWrite500 writes the same tune. Budget: 10 ms.
func BenchmarkWrite500(b *testing.B) {
	tn := mustRead(b, long())
	for b.Loop() {
		tune.Write(tn)
	}
}

// BenchmarkLine500 resolves its bass row. Budget: 5 ms.
func BenchmarkLine500(b *testing.B) {
	tn := mustRead(b, long())
	for b.Loop() {
		if _, err := tn.Line(tune.Within(40, 127)); err != nil {
			b.Fatal(err)
		}
	}
}

// Of a text that is nothing but faults some are told, in an error that can be read.
func TestNothingButFaults(t *testing.T) {
	_, faults := tune.Read(strings.Repeat("x y\n", 300_000))
	assert.LessOrEqual(t, len(faults), 10_001)
	lines := strings.Split(faults.Error(), "\n")
	require.Len(t, lines, 101)
	assert.Regexp(t, `^and \d+ more$`, lines[100])
}

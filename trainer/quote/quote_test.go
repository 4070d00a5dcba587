package quote_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/trainer/quote"
)

func TestHarmless(t *testing.T) {
	for in, want := range map[string]string{
		"Grüne Brücke ♭ 日本\tx\n":    "Grüne Brücke ♭ 日本\tx\n",
		"\x1b[31mred\x07":           `\x1b[31mred\x07`,
		"\u009b31m":                 `\x9b31m`,
		"a\x9bb\xffc":               `a\x9bb\xffc`,
		"\u202eevil\u2066x\u2069":   `\u202eevil\u2066x\u2069`,
		"\x7f\x00\r":                `\x7f\x00\x0d`,
		"\xc0\xaf overlong":         `\xc0\xaf overlong`,
		"a\u2028b":                  `a\u2028b`,
		"a true replacement \ufffd": "a true replacement \ufffd",
	} {
		assert.Equal(t, want, quote.Harmless(in))
	}
	assert.Equal(t, "ab c…", quote.Short("ab\nc"+strings.Repeat("x", 1_000_000), 5))
	assert.Equal(t, "abc", quote.Short("abc", 3))
}

func TestStyled(t *testing.T) {
	for in, want := range map[string]string{
		"\x1b[1;38;5;12mbold\x1b[0m\n":    "\x1b[1;38;5;12mbold\x1b[0m\n",
		"\x1b[2Jcleared \x1b[31mred":      `\x1b[2Jcleared ` + "\x1b[31mred",
		"\x1b]0;title\x07\x1b[1mx\x1b[0m": `\x1b]0;title\x07` + "\x1b[1mx\x1b[0m",
		"\x1b[31":                         `\x1b[31`,
		"\u202ex\x1b[0m":                  `\u202ex` + "\x1b[0m",
		"\x1b[0m\xff":                     "\x1b[0m" + `\xff`,
	} {
		assert.Equal(t, want, quote.Styled(in))
	}
}

// What is written is valid, holds nothing that acts, and in JSON means what it meant.
func TestWriter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		var b bytes.Buffer
		_, err := quote.Writer{Writer: &b}.Write([]byte(text))
		require.NoError(t, err)
		require.Equal(t, quote.Harmless(b.String()), b.String())
		require.True(t, utf8.Valid(b.Bytes()))
		b.Reset()
		require.NoError(t, json.NewEncoder(quote.Writer{Writer: &b, JSON: true}).Encode(text))
		require.Equal(t, quote.Harmless(b.String()), b.String())
		var back string
		require.NoError(t, json.Unmarshal(b.Bytes(), &back))
		require.Equal(t, text, back)
	})
}

// No cell begins like a formula, and each says what it was made of.
func TestCell(t *testing.T) {
	for in, want := range map[string]string{
		"=HYPERLINK(1)": "'=HYPERLINK(1)", "+1": "'+1", "-1": "'-1", "@a": "'@a", "\ta": "'\ta", "'=a": "''=a",
		"'tis": "'tis", "": "", "a=b": "a=b",
	} {
		assert.Equal(t, want, quote.Cell(in))
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("'=+-@a\t\r\n"))).Draw(t, "text")
		cell := quote.Cell(text)
		require.Equal(t, text, quote.FromCell(cell))
		if cell != "" {
			require.NotContains(t, "=+-@\t\r\n", cell[:1])
		}
	})
}

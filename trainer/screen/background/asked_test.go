package background

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// typed is what is read of a terminal that sends some pieces, each read by itself, and
// what was told of its background.
func typed(t *testing.T, asked time.Time, pieces ...string) (keys string, told []bool) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	defer r.Close()
	defer w.Close()
	in := Listen(r, time.Now, func(dark bool) { told = append(told, dark) })
	in.asked = asked
	buf := make([]byte, 256)
	for _, p := range pieces {
		_, err := w.WriteString(p)
		require.NoError(t, err)
		n, err := in.Read(buf)
		require.NoError(t, err)
		keys += string(buf[:n])
	}
	return keys, told
}

// The forms are those of xterm's control sequences (OSC 11) and of XParseColor (X11):
// one to four digits a colour. White, black and the grounds of Solarized, base03 and base3 (its
// README), stand for terminals of players.
func TestTheAnswerIsTakenOutOfWhatIsTyped(t *testing.T) {
	for name, c := range map[string]struct {
		pieces []string
		keys   string
		told   []bool
	}{
		"white":               {[]string{"\x1b]11;rgb:ffff/ffff/ffff\x1b\\"}, "", []bool{false}},
		"black, ended by BEL": {[]string{"\x1b]11;rgb:00/00/00\x07"}, "", []bool{true}},
		"one digit":           {[]string{"\x1b]11;rgb:f/f/e\x07"}, "", []bool{false}},
		"with opacity":        {[]string{"\x1b]11;rgba:0000/0000/0000/ffff\x07"}, "", []bool{true}},
		"Solarized dark":      {[]string{"\x1b]11;rgb:0000/2b2b/3636\x1b\\"}, "", []bool{true}},
		"Solarized light":     {[]string{"\x1b]11;rgb:fdfd/f6f6/e3e3\x1b\\"}, "", []bool{false}},
		"among keys":          {[]string{"12\x1b]11;rgb:ffff/ffff/ffff\x1b\\3\x1b[A"}, "123\x1b[A", []bool{false}},
		"in two reads":        {[]string{"1\x1b]11;rgb:ff", "ff/ffff/ffff\x1b", "\\2"}, "12", []bool{false}},
		"after its escape":    {[]string{"\x1b", "]11;rgb:ffff/ffff/ffff\x1b\\q"}, "\x1bq", []bool{false}},
		"twice":               {[]string{"\x1b]11;rgb:ff/ff/ff\x07", "\x1b]11;rgb:00/00/00\x07x"}, "x", []bool{false}},
		"no answer":           {[]string{"q\x1b", "\x1b[A", "]11;rgb", "é"}, "q\x1b\x1b[A]11;rgbé", nil},
		"keys like one":       {[]string{"\x1b]", "x"}, "\x1b]x", nil},
	} {
		t.Run(name, func(t *testing.T) {
			keys, told := typed(t, time.Now(), c.pieces...)
			assert.Equal(t, c.keys, keys)
			assert.Equal(t, c.told, told)
		})
	}
}

// After the deadline nothing changes under the player, and an answer still is no key.
func TestALateAnswerChangesNothing(t *testing.T) {
	keys, told := typed(t, time.Now().Add(-time.Hour), "a\x1b]11;rgb:ffff/ffff/ffff\x1b\\b", "\x1b]")
	assert.Equal(t, "ab\x1b]", keys)
	assert.Nil(t, told)
}

// What does not fit into one read comes with the next.
func TestNothingIsLostInSmallReads(t *testing.T) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	in := Listen(r, time.Now, func(bool) {})
	const text = "a line that is longer than what is read at once, with \x1b]x no answer in it"
	_, err = w.WriteString(text)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	var b strings.Builder
	buf := make([]byte, 7)
	for {
		n, err := in.Read(buf)
		if err != nil {
			break
		}
		b.Write(buf[:n])
	}
	assert.Equal(t, text, b.String())
}

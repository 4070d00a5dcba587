package background

import (
	"bytes"
	"os"
	"regexp"
	"strconv"
	"sync"
	"time"
)

// Question asks a terminal for its background colour (xterm's control sequences, OSC
// 11, ended by ST). One that does not know it says nothing.
const Question = "\x1b]11;?\x1b\\"

// Deadline is how long an answer counts after a terminal was asked: a line over the
// whole world takes less, and later the player has settled on what they see.
const Deadline = 2 * time.Second

// answer is what a terminal says: red, green and blue in one to four hexadecimal digits,
// ended by BEL or ST (xterm's control sequences; XParseColor's "rgb:" form).
var answer = regexp.MustCompile("\x1b?\\]11;rgba?:([0-9a-fA-F]{1,4})/([0-9a-fA-F]{1,4})/([0-9a-fA-F]{1,4})(?:/[0-9a-fA-F]{1,4})?(?:\x07|\x1b\\\\)")

// begun is an answer whose end has not been read, or the last bytes of a read that may
// be the beginning of one. Escape alone is a key and is not held back.
var begun = regexp.MustCompile("\x1b\\](?:1(?:1(?:;[rgba:/0-9a-fA-F]{0,26}\x1b?)?)?)?$")

// Terminal is what a player types at a terminal that was asked for its background: the
// answer, which comes among the keys, is taken out of what is read, whenever it comes.
type Terminal struct {
	*os.File
	now   func() time.Time
	asked time.Time
	once  sync.Once
	told  func(dark bool)
	// held is what may be the beginning of an answer; escaped is set where the last byte
	// handed on was an escape.
	held    []byte
	escaped bool
	paste   paste
}

// Listen reads from a terminal that is being asked now; told hears once, at most, and
// from the goroutine that reads, whether the background is dark.
func Listen(f *os.File, now func() time.Time, told func(dark bool)) *Terminal {
	return &Terminal{File: f, now: now, asked: now(), told: told}
}

// Read reads what is typed. It may return nothing, and no error, where all that came was
// an answer. A long paste is handed on as several.
func (t *Terminal) Read(into []byte) (int, error) {
	if len(into) >= len(pasteEnds+pasteBegins) {
		if joint := t.paste.joint(); joint != "" {
			return copy(into, joint), nil
		}
	}
	n, err := t.read(into)
	t.paste.follow(into[:n])
	return n, err
}

func (t *Terminal) read(into []byte) (int, error) {
	if len(t.held) >= len(into) {
		n := copy(into, t.held)
		t.held = t.held[n:]
		return n, nil
	}
	n, err := t.File.Read(into[:len(into)-len(t.held)])
	if n == 0 || err != nil {
		return n, err
	}
	return copy(into, t.take(into[:n])), nil
}

// take takes the answer out of what was read, and holds back what may be its beginning.
func (t *Terminal) take(read []byte) []byte {
	all := append(bytes.Clone(t.held), read...)
	t.held = nil
	if m := answer.FindSubmatchIndex(all); m != nil && (all[m[0]] == '\x1b' || m[0] == 0 && t.escaped) {
		if t.now().Sub(t.asked) <= Deadline {
			t.once.Do(func() { t.told(isDark(all[m[2]:m[3]], all[m[4]:m[5]], all[m[6]:m[7]])) })
		}
		all = append(all[:m[0]:m[0]], all[m[1]:]...)
	} else if at := begun.FindIndex(all); at != nil && t.now().Sub(t.asked) <= Deadline {
		t.held = bytes.Clone(all[at[0]:])
		all = all[:at[0]]
	}
	if len(all) > 0 {
		t.escaped = all[len(all)-1] == '\x1b'
	}
	return all
}

// isDark reports whether white text stands out more on a colour than black text does,
// by the contrast of WCAG 2.2: its relative luminance is below 0.179, where
// (L + 0.05)/0.05 equals 1.05/(L + 0.05).
func isDark(digits ...[]byte) bool {
	const red, green, blue, even = 0.2126, 0.7152, 0.0722, 0.179
	luminance := 0.0
	for i, share := range []float64{red, green, blue} {
		v, _ := strconv.ParseUint(string(digits[i]), 16, 16)
		luminance += share * linear(float64(v)/float64(uint(1)<<(4*len(digits[i]))-1))
	}
	return luminance < even
}

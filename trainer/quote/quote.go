// Package quote makes text from outside harmless where it is shown: names of files,
// ports and tunes, and whatever a file or an argument holds.
//
// It knows characters only; it must never know what they stand for.
package quote

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Harmless returns text with every character that a terminal acts on, or that turns
// the direction of others, written as \x1b or \u202e: C0 but line feed and tab, DEL,
// C1 (ECMA-48), the bidirectional controls (Unicode 15, Bidi_Control), and bytes that
// are no UTF-8.
func Harmless(text string) string {
	if clean(text) {
		return text
	}
	var b strings.Builder
	for len(text) > 0 {
		r, n := utf8.DecodeRuneInString(text)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, text[0])
		case !acts(r):
			b.WriteRune(r)
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
		text = text[n:]
	}
	return b.String()
}

func clean(text string) bool {
	for i, r := range text {
		if acts(r) || r == utf8.RuneError && !strings.HasPrefix(text[i:], "\ufffd") {
			return false
		}
	}
	return true
}

// acts reports whether a character does something to a terminal.
func acts(r rune) bool {
	switch {
	case r == '\n' || r == '\t':
		return false
	case r < 0x20 || 0x7f <= r && r < 0xa0:
		return true
	}
	return unicode.Is(unicode.Bidi_Control, r) || r == 0x2028 || r == 0x2029
}

// Styled is Harmless for text that has styles in it: escape sequences that set colors
// and weight (SGR, ECMA-48) are kept.
func Styled(text string) string {
	if !strings.ContainsFunc(strings.ReplaceAll(text, "\x1b", ""), acts) && whole(text) {
		return text
	}
	var b strings.Builder
	for {
		at := strings.IndexByte(text, 0x1b)
		if at < 0 {
			b.WriteString(Harmless(text))
			return b.String()
		}
		b.WriteString(Harmless(text[:at]))
		text = text[at:]
		n := max(1, style(text))
		if n > 1 {
			b.WriteString(text[:n])
		} else {
			b.WriteString(Harmless(text[:1]))
		}
		text = text[n:]
	}
}

// whole reports whether every escape in a text begins a style.
func whole(text string) bool {
	for {
		at := strings.IndexByte(text, 0x1b)
		if at < 0 {
			return utf8.ValidString(text)
		}
		n := style(text[at:])
		if n == 0 || !utf8.ValidString(text[:at]) {
			return false
		}
		text = text[at+n:]
	}
}

// style returns the length of the style that a text begins with, 0 for none.
func style(text string) int {
	if !strings.HasPrefix(text, "\x1b[") {
		return 0
	}
	for i := 2; i < len(text); i++ {
		switch c := text[i]; {
		case c == 'm':
			return i + 1
		case c != ';' && c != ':' && (c < '0' || c > '9'):
			return 0
		}
	}
	return 0
}

// Short returns harmless text of at most most characters, cut with … at its end.
func Short(text string, most int) string {
	if len(text) > 4*most { // a character has four bytes at most
		text = text[:4*most]
	}
	text = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return ' '
		}
		return r
	}, Harmless(text))
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}

// Writer writes text on harmless. A character that is cut in two by a write is taken
// for bytes that are none.
type Writer struct {
	io.Writer
	// JSON writes what is harmless in JSON strings: \u001b for \x1b.
	JSON bool
}

// Write writes all of b, or an error.
func (w Writer) Write(b []byte) (int, error) {
	text := string(b)
	if clean(text) {
		return w.Writer.Write(b)
	}
	if w.JSON {
		var out strings.Builder
		for _, r := range text {
			if acts(r) && r != '\r' {
				fmt.Fprintf(&out, `\u%04x`, r)
			} else {
				out.WriteRune(r)
			}
		}
		text = out.String()
	} else {
		text = Harmless(text)
	}
	if _, err := io.WriteString(w.Writer, text); err != nil {
		return 0, err
	}
	return len(b), nil
}

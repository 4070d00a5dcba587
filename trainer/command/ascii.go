package command

import (
	"io"
	"os"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// asciiOnly reports whether the user's locale has no characters beyond ASCII: C or
// POSIX, by the first of its variables that is set (POSIX.1-2017, 8.2).
func asciiOnly() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := os.Getenv(name); v != "" {
			return v == "C" || v == "POSIX"
		}
	}
	return false
}

// inASCII writes text on in ASCII: signs by those that stand for them, letters
// without their marks, and a ? for what has neither. JSON has no need of it.
type inASCII struct{ io.Writer }

var signs = strings.NewReplacer("♭", "b", "♯", "#", "Δ7", "maj7", "Δ9", "maj9", "Δ", "maj7", "ø", "m7b5", "°", "dim", "…", "...", "—", "-", "–", "-", "‘", "'", "’", "'",
	"“", `"`, "”", `"`, "×", "x", "→", "->", "↑", "^", "↓", "v", "·", "*", "•", "*", "ß", "ss", "æ", "ae", "å", "a")

// Write writes all of b, or an error.
func (w inASCII) Write(b []byte) (int, error) {
	var out strings.Builder
	for _, r := range norm.NFKD.String(signs.Replace(string(b))) {
		switch {
		case r < 0x80:
			out.WriteRune(r)
		case !unicode.Is(unicode.Mn, r):
			out.WriteByte('?')
		}
	}
	if _, err := io.WriteString(w.Writer, out.String()); err != nil {
		return 0, err
	}
	return len(b), nil
}

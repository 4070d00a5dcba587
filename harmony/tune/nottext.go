package tune

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// NotText reports a file that holds no text: one fault for all of it, at its first
// byte or character that belongs to none. It is text in another encoding, or more
// than a tenth of it is not UTF-8 or is control characters.
func NotText(text string) (Fault, bool) {
	if strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff") {
		return Fault{Line: 1, Column: 1, Found: "text in UTF-16", Want: "the same text saved as UTF-8"}, true
	}
	f := Fault{Want: "a text in UTF-8"}
	line, column, strange := 1, 1, 0
	for i, c := range text {
		found := ""
		if c == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(text[i:]); size == 1 {
				found = fmt.Sprintf("the byte %#02x", text[i])
			}
		} else if unicode.IsControl(c) && c != '\t' && c != '\n' && c != '\r' {
			found = fmt.Sprintf("the control character %U", c)
		}
		if found != "" {
			if strange++; strange == 1 {
				f.Line, f.Column, f.Found = line, column, found+" in a file that is not text"
			}
		}
		column++
		if c == '\n' {
			line, column = line+1, 1
		}
	}
	return f, strange*10 > len(text)
}

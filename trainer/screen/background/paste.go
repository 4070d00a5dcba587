package background

import (
	"bytes"
	"unicode/utf8"
)

// A terminal tells where what is pasted begins and ends (xterm's bracketed paste).
const pasteBegins, pasteEnds = "\x1b[200~", "\x1b[201~"

// mostPasted is what is handed on of a paste as one, in bytes. Bubble Tea reads a quarter
// of a kilobyte at a time and each time searches all that came of the paste before: a
// megabyte took seconds.
const mostPasted = 32 << 10

// paste follows a paste through what is handed on.
type paste struct {
	inside bool
	length int
	last   []byte // the bytes handed on last, as many as may begin a sign
}

// follow looks at what is handed on.
func (p *paste) follow(read []byte) {
	p.length += len(read)
	all := append(p.last, read...)
	if begins, ends := bytes.LastIndex(all, []byte(pasteBegins)), bytes.LastIndex(all, []byte(pasteEnds)); begins > ends {
		p.inside, p.length = true, len(all)-begins-len(pasteBegins)
	} else if ends > begins {
		p.inside = false
	}
	p.last = bytes.Clone(all[max(0, len(all)-len(pasteEnds)+1):])
}

// joint ends a paste that has become long and begins another, where that splits neither
// a character nor a sign; else it is "".
func (p *paste) joint() string {
	if !p.inside || p.length < mostPasted {
		return ""
	}
	if r, size := utf8.DecodeLastRune(p.last); r == utf8.RuneError && size < 2 || bytes.ContainsRune([]byte(pasteEnds+"\r"), r) {
		return ""
	}
	p.length, p.last = 0, nil
	return pasteEnds + pasteBegins
}

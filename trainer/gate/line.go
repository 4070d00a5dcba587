package gate

import (
	"bufio"
	"bytes"
	"errors"
)

// Line reads a line, with its end, of which it returns as much as r buffers: cut is set
// where there was more, which is passed over. The line holds until r is read again.
func Line(r *bufio.Reader) (line []byte, cut bool, err error) {
	line, err = r.ReadSlice('\n')
	for errors.Is(err, bufio.ErrBufferFull) {
		if !cut {
			line, cut = bytes.Clone(line), true
		}
		_, err = r.ReadSlice('\n')
	}
	return line, cut, err
}

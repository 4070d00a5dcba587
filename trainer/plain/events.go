package plain

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"footfall/trainer/gate"
	"footfall/trainer/session"
)

// longestLine bounds a line of the player's, or of a program that sits in for them, in
// bytes.
const longestLine = 1 << 16

// Events lets a program sit in for the player: each event is a line of JSON on out,
// each line that comes in a command, and the end of the input quits. Notices for
// people go to errs. It returns at the end of the session; nothing answered is lost.
func Events(in io.Reader, out, errs io.Writer, s *session.Session) error {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	tell := func(told []session.Told) error {
		for _, t := range told {
			if n, ok := t.Event.(session.Notice); ok && n.Says != "" {
				fmt.Fprintln(errs, "footfall:", n.Says)
			}
			if session.Private(t.Event) {
				continue
			}
			if err := enc.Encode(t); err != nil {
				s.Do(session.Quit{})
				return err
			}
		}
		return nil
	}
	err := tell(s.Begin())
	lines := bufio.NewReaderSize(in, longestLine)
	for err == nil && !s.Over() {
		err = tell(s.Do(nextCommand(lines)))
	}
	return err
}

// nextCommand reads a line as a command.
func nextCommand(lines *bufio.Reader) session.Command {
	line, cut, err := gate.Line(lines)
	switch {
	case cut:
		return session.Unread{Says: fmt.Sprintf("a line of more than %d bytes changes nothing: write a JSON object a line", longestLine)}
	case err != nil && len(bytes.TrimSpace(line)) == 0:
		return session.Quit{}
	}
	return session.ReadCommand(line)
}

package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"footfall/harmony"
)

// said is standard output. It remembers the first error of writing to it, so that
// an answer that did not arrive is never taken for one that did.
type said struct {
	io.Writer
	err error
}

// Write writes on, and remembers an error.
func (s *said) Write(b []byte) (int, error) {
	n, err := s.Writer.Write(b)
	if err != nil && s.err == nil {
		s.err = err
	}
	return n, err
}

// unwrapped is the writer under a said, which may be a terminal.
func unwrapped(w io.Writer) io.Writer {
	if s, ok := w.(*said); ok {
		w = s.Writer
	}
	if a, ok := w.(inASCII); ok {
		return a.Writer
	}
	return w
}

// Main runs the program with the arguments after its name, says on errs what went
// wrong, and returns the code to exit with: 0, ExitFailure or ExitBadInput.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	if asciiOnly() && !asksJSON(args) {
		out, errs = inASCII{out}, inASCII{errs}
	}
	s := &said{Writer: out}
	root := New(s)
	root.SetArgs(args)
	root.SetIn(in)
	root.SetErr(errs)
	err := root.Execute()
	if s.err != nil {
		err = failure{fmt.Errorf("standard output cannot be written: %w; what you see of the answer is not all of it", cause(s.err))}
	}
	switch {
	case err == nil:
	case asksJSON(args):
		_ = json.NewEncoder(errs).Encode(faultOf(err))
	default:
		fmt.Fprintln(errs, "footfall:", err)
	}
	return ExitCode(err)
}

// asksJSON reports whether the arguments ask for JSON, though they may not all be
// readable.
func asksJSON(args []string) bool {
	for _, a := range args {
		switch a {
		case "--json", "--json=true":
			return true
		case "--":
			return false
		}
	}
	return false
}

// fault is an error as scripts read it. Line and Column are those of the first
// fault of a text.
type fault struct {
	Error  string `json:"error"`
	File   string `json:"file,omitempty"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Exit   int    `json:"exit"`
}

func faultOf(err error) fault {
	f := fault{Error: err.Error(), Exit: ExitCode(err)}
	var file fileError
	if errors.As(err, &file) {
		f.File = file.file
	}
	var one harmony.Fault
	var all harmony.Faults
	if errors.As(err, &all) && len(all) > 0 {
		one = all[0]
	} else {
		errors.As(err, &one)
	}
	f.Line, f.Column = one.Line, one.Column
	return f
}

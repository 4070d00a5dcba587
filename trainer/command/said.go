package command

import (
	"fmt"
	"io"
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
		return s.Writer
	}
	return w
}

// Main runs the program with the arguments after its name, says on errs what went
// wrong, and returns the code to exit with: 0, ExitFailure or ExitBadInput.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	s := &said{Writer: out}
	root := New(s)
	root.SetArgs(args)
	root.SetIn(in)
	root.SetErr(errs)
	err := root.Execute()
	if s.err != nil {
		err = failure{fmt.Errorf("standard output cannot be written: %w; what you see of the answer is not all of it", cause(s.err))}
	}
	if err != nil {
		fmt.Fprintln(errs, "footfall:", err)
	}
	return ExitCode(err)
}

package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"footfall/harmony"
	"footfall/trainer/quote"
)

// said is standard output. It remembers the first error of writing to it, so that
// an answer that did not arrive is never taken for one that did.
type said struct {
	// Writer takes what is told, and makes it harmless; raw is what is behind it.
	io.Writer
	raw io.Writer
	err error
}

// Write writes on, and remembers an error.
func (s *said) Write(b []byte) (int, error) { return s.to(s.Writer, b) }

func (s *said) to(w io.Writer, b []byte) (int, error) {
	n, err := w.Write(b)
	if err != nil && s.err == nil {
		s.err = err
	}
	return n, err
}

// unwrapped is the writer under a said, which may be a terminal.
func unwrapped(w io.Writer) io.Writer {
	if s, ok := w.(*said); ok {
		return s.raw
	}
	return w
}

// document is standard output for what other programs read again, byte for byte; a
// terminal gets it made harmless.
func document(w io.Writer) io.Writer {
	if s, ok := w.(*said); ok && !isTerminal(s.raw) {
		return rawly{s}
	}
	return w
}

type rawly struct{ *said }

// Write writes on as it is, and remembers an error.
func (r rawly) Write(b []byte) (int, error) { return r.to(r.raw, b) }

// Main runs the program with the arguments after its name, says on errs what went
// wrong, and returns the code to exit with: 0, ExitFailure or ExitBadInput.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	setZone()
	asJSON := asks(args, "--json", "--json=true")
	told := func(w io.Writer, asJSON bool) io.Writer {
		if asciiOnly() && !asJSON {
			w = inASCII{w}
		}
		return quote.Writer{Writer: w, JSON: asJSON}
	}
	s := &said{Writer: told(out, asJSON || asks(args, "--events")), raw: out}
	errs = told(errs, asJSON)
	root := New(s)
	root.SetArgs(args)
	root.SetIn(in)
	root.SetErr(errs)
	err := root.Execute()
	if readerGone(s.err) {
		return ExitFailure
	}
	if s.err != nil {
		err = failure{fmt.Errorf("standard output cannot be written: %w; what you see of the answer is not all of it", cause(s.err))}
	}
	switch {
	case err == nil:
	case asJSON:
		_ = json.NewEncoder(errs).Encode(faultOf(err))
	default:
		fmt.Fprintln(errs, "footfall:", short(err))
	}
	return ExitCode(err)
}

// asks reports whether one of some flags is among the arguments, though they may not
// all be readable.
func asks(args []string, flags ...string) bool {
	for _, a := range args {
		if a == "--" {
			return false
		}
		if slices.Contains(flags, a) {
			return true
		}
	}
	return false
}

// mostSaid is how much of what stands in a file or an argument a message says, in
// characters.
const mostSaid = 200

var long = regexp.MustCompile(fmt.Sprintf(`\S{%d,}`, mostSaid+1))

// short is an error's text, with what is long in it cut.
func short(err error) string { return cut(err.Error()) }

func cut(text string) string {
	text = long.ReplaceAllStringFunc(text, func(s string) string { return quote.Short(s, mostSaid) })
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if len(l) > 2*lineEnd {
			begins, ends := strings.ToValidUTF8(l[:lineEnd], ""), strings.ToValidUTF8(l[len(l)-lineEnd:], "")
			lines[i] = begins + " … " + ends
		}
	}
	return strings.Join(lines, "\n")
}

// lineEnd is how much is said of both ends of a line that a text of many words makes
// long, in bytes: where it is said what would do. What the program says itself is shorter.
const lineEnd = 1000

// fault is an error as scripts read it. Line and Column are those of the first
// fault of a text.
type fault struct {
	Error  string `json:"error"`
	File   string `json:"file,omitempty"`
	Line   int    `json:"line,omitempty"`
	Column int    `json:"column,omitempty"`
	Exit   int    `json:"exit"`
}

// longestPath is the longest that a path can be on Linux, in bytes (PATH_MAX).
const longestPath = 4096

func faultOf(err error) fault {
	f := fault{Error: short(err), Exit: ExitCode(err)}
	var file fileError
	if errors.As(err, &file) {
		if f.File = file.file; len(f.File) > longestPath {
			f.File = quote.Short(f.File, mostSaid)
		}
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

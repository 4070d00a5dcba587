package command

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

// runOn executes the command line on given input and returns what it wrote, the
// error that the program would print behind it, and its exit code.
func runOn(in io.Reader, args ...string) (stdout, stderr string, code int) {
	var out, errs bytes.Buffer
	code = Main(args, in, &out, &errs)
	return out.String(), errs.String(), code
}

func TestChordAnswersEachLineInOrder(t *testing.T) {
	in := "Dm7b5\n\nBb7/Ab\r\nxyz\nN.C.\nC6/9"
	want := `{"symbol":"Dm7b5","root":"D","bass":"D","degrees":["1","b3","b5","b7"],"notes":["D","F","Ab","C"]}
{"symbol":"","error":"column 1: found the end; want a root, A to G, or N.C. for no chord","column":1}
{"symbol":"Bb7/Ab","root":"Bb","bass":"Ab","degrees":["1","3","5","b7"],"notes":["Bb","D","F","Ab"]}
{"symbol":"xyz","error":"column 1: found \"x\"; want a root, A to G, or N.C. for no chord","column":1}
{"symbol":"N.C.","root":"","bass":"","degrees":[],"notes":[]}
{"symbol":"C6/9","root":"C","bass":"C","degrees":["1","3","5","6","9"],"notes":["C","E","G","A","D"]}
`
	for _, args := range [][]string{{"chord", "-"}, {"chord", "-", "--json"}} {
		marked, _, _ := runOn(strings.NewReader("\ufeff"+in), args...)
		require.Equal(t, want, marked, "the byte order mark of a file is no part of a symbol")
		out, _, code := runOn(strings.NewReader(in), args...)
		require.Equal(t, want, out)
		require.Equal(t, ExitBadInput, code, "a line at fault")
	}
	_, _, code := runOn(strings.NewReader("C\nF7\n"), "chord", "-")
	require.Zero(t, code)
}

func TestChordAnswersLinesOfAnyLength(t *testing.T) {
	in := strings.Repeat("C", 3*longestLine) + "\n\xff\xfe\nG7\n"
	out, _, code := runOn(strings.NewReader(in), "chord", "-")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 3)
	require.Contains(t, lines[0], `"column":65`)
	require.Contains(t, lines[1], `"column":1`)
	require.Contains(t, lines[2], `"root":"G"`)
	require.Equal(t, ExitBadInput, code)
}

// A program at the other end of a pipe gets each answer before it asks again.
func TestChordAnswersBeforeTheNextQuestion(t *testing.T) {
	in, ask := io.Pipe()
	answers, out := io.Pipe()
	cmd := New(nil)
	cmd.SetArgs([]string{"chord", "-"})
	cmd.SetIn(in)
	cmd.SetOut(out)
	done := make(chan error, 1)
	go func() { done <- cmd.Execute() }()
	buffer := make([]byte, 4096)
	for _, symbol := range []string{"C", "F#m11", "Ebmaj7"} {
		_, err := io.WriteString(ask, symbol+"\n")
		require.NoError(t, err)
		n, err := answers.Read(buffer)
		require.NoError(t, err)
		require.Contains(t, string(buffer[:n]), `"symbol":"`+symbol+`"`)
	}
	require.NoError(t, ask.Close())
	require.NoError(t, <-done)
}

func TestChordWritesATableForPeople(t *testing.T) {
	out, errs, code := runOn(nil, "chord", "C", "Bb7/Ab", "Cq", "N.C.")
	require.Equal(t, "C        1 3 5      C E G\nBb7/Ab   1 3 5 b7   Bb D F Ab   over Ab, the b7\nN.C.                            no chord\n", out)
	require.Contains(t, errs, "Cq\n ^ column 2: found \"q\"")
	require.Equal(t, ExitBadInput, code)
}

func TestExitCodes(t *testing.T) {
	for _, args := range [][]string{
		{"chord"}, {"chord", "-m7"}, {"chord", "--nosuch"}, {"nosuch"}, {"chord", ""},
	} {
		_, _, code := runOn(strings.NewReader(""), args...)
		require.Equal(t, ExitBadInput, code, "%q", args)
	}
	out, _, code := runOn(strings.NewReader(""), "chord", "-")
	require.Empty(t, out)
	require.Zero(t, code)

	cmd := New(nil)
	cmd.SetArgs([]string{"chord", "C"})
	cmd.SetOut(brokenPipe{})
	require.Equal(t, ExitFailure, ExitCode(cmd.Execute()), "nowhere to write is no fault of the input")

	bad := &cobra.Command{Use: "x", RunE: func(*cobra.Command, []string) error { return badInput(errors.New("no such tune")) }}
	markFailures(bad)
	bad.SetArgs(nil)
	require.Equal(t, ExitBadInput, ExitCode(bad.RunE(bad, nil)))
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

// The budget is 100,000 symbols in 2 s on two cores: 20 µs a symbol.
func BenchmarkChordLines(b *testing.B) {
	symbols := []string{"Cmaj7", "Dm7b5", "G7(b9,#11)", "Bb13#11/Ab", "F#m11", "C6/9", "Eb7alt", "oops"}
	var in strings.Builder
	for i := range b.N {
		in.WriteString(symbols[i%len(symbols)])
		in.WriteByte('\n')
	}
	b.ResetTimer()
	cmd := New(nil)
	cmd.SetArgs([]string{"chord", "-"})
	cmd.SetIn(strings.NewReader(in.String()))
	cmd.SetOut(io.Discard)
	_ = cmd.Execute()
}

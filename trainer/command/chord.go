package command

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"footfall/harmony"
)

// chordAnswer is what is said of a symbol that was read.
type chordAnswer struct {
	Symbol  string   `json:"symbol"`
	Root    string   `json:"root"`
	Bass    string   `json:"bass"`
	Degrees []string `json:"degrees"`
	Notes   []string `json:"notes"`

	bassDegree harmony.Degree
}

// chordFault is what is said of a symbol that was not.
type chordFault struct {
	Symbol string `json:"symbol"`
	Error  string `json:"error"`
	Column int    `json:"column"`
}

func newChordCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "chord SYMBOL… | -",
		Short: "Read chord symbols: their degrees and notes",
		Long: `Read chord symbols and say the degrees and notes of each.

With - the symbols come from standard input, one a line, and each line gets one
line of JSON, faults and empty lines too, in the same order. Every symbol is
answered; the exit code is 2 if any of them could not be read.`,
		Example: "  footfall chord Cm7b5 'G7(b9,#11)' C/E\n  footfall chord --json Bbmaj7\n  printf 'Dm7\\nG7\\n' | footfall chord -",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			out := bufio.NewWriterSize(cmd.OutOrStdout(), 1<<16)
			faults, asked, err := 0, len(args), error(nil)
			switch {
			case len(args) == 1 && args[0] == "-":
				faults, asked, err = answerLines(cmd.InOrStdin(), out, describe)
			case p.json:
				faults, err = answerJSON(args, out, describe)
			default:
				faults, err = answerTable(args, out, cmd.ErrOrStderr())
			}
			if err := errors.Join(err, out.Flush()); err != nil {
				return err
			}
			if faults > 0 {
				return badInput(fmt.Errorf("%d of %d symbols could not be read", faults, asked))
			}
			return nil
		},
	}
	cmd.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		return fmt.Errorf("%w; a symbol starts with its root, A to G, and - alone reads standard input", err)
	})
	return cmd
}

// describe answers for one symbol: a chordAnswer, or a chordFault and false.
func describe(symbol string) (any, bool) {
	symbol = strings.TrimSpace(symbol)
	c, err := harmony.ParseChord(symbol)
	var fault *harmony.SymbolError
	if errors.As(err, &fault) {
		return chordFault{symbol, fault.Error(), fault.Column}, false
	}
	a := chordAnswer{Symbol: symbol, Degrees: make([]string, len(c.Degrees)), Notes: make([]string, len(c.Degrees))}
	if c.None {
		return a, true
	}
	a.Root, a.Bass = c.Root.String(), c.Bass.String()
	a.bassDegree = c.DegreeOf(c.Bass.Semitone())
	for i, d := range c.Degrees {
		a.Degrees[i], a.Notes[i] = d.String(), c.Note(d).String()
	}
	return a, true
}

// answerJSON writes a line for each text, the answer that describe has for it,
// and counts the faults: those for which it reports false.
func answerJSON(texts []string, out io.Writer, describe func(string) (any, bool)) (faults int, err error) {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	for _, s := range texts {
		answer, ok := describe(s)
		if !ok {
			faults++
		}
		if err := enc.Encode(answer); err != nil {
			return faults, err
		}
	}
	return faults, nil
}

// longestLine is how much of a line of input is kept, in bytes; no symbol and no
// shape comes near it.
const longestLine = 4096

// answerLines answers each line of in by a line of JSON as soon as no more input
// waits, so that a program at the other end can ask one by one.
func answerLines(in io.Reader, out *bufio.Writer, describe func(string) (any, bool)) (faults, asked int, err error) {
	reader := bufio.NewReaderSize(in, longestLine)
	for {
		line, readErr := reader.ReadSlice('\n')
		text := string(line)
		if asked == 0 {
			text = strings.TrimPrefix(text, "\ufeff") // the mark some editors put before UTF-8
		}
		for errors.Is(readErr, bufio.ErrBufferFull) {
			_, readErr = reader.ReadSlice('\n')
		}
		if readErr != nil && text == "" {
			break
		}
		asked++
		n, err := answerJSON([]string{text}, out, describe)
		faults += n
		if err == nil && reader.Buffered() == 0 {
			err = out.Flush()
		}
		if err != nil {
			return faults, asked, err
		}
		if readErr != nil {
			if readErr != io.EOF {
				return faults, asked, readErr
			}
			break
		}
	}
	return faults, asked, nil
}

// answerTable writes what was read as a table for people, and each fault under
// its symbol to errs.
func answerTable(symbols []string, out, errs io.Writer) (faults int, err error) {
	table := tabwriter.NewWriter(out, 0, 0, 3, ' ', 0)
	for _, s := range symbols {
		switch a, _ := describe(s); a := a.(type) {
		case chordFault:
			faults++
			fmt.Fprintf(errs, "%s\n%s^ %s\n", a.Symbol, strings.Repeat(" ", a.Column-1), a.Error)
		case chordAnswer:
			bass := ""
			switch {
			case a.Root == "":
				bass = "no chord"
			case a.Bass != a.Root:
				bass = fmt.Sprintf("over %s, the %s", a.Bass, a.bassDegree)
			}
			row := strings.Join([]string{a.Symbol, strings.Join(a.Degrees, " "), strings.Join(a.Notes, " "), bass}, "\t")
			fmt.Fprintln(table, strings.TrimRight(row, "\t"))
		}
	}
	return faults, table.Flush()
}

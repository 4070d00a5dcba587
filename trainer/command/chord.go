package command

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/quote"
)

// chordAnswer is what is said of a symbol that was read.
type chordAnswer struct {
	Symbol  string   `json:"symbol"`
	Root    string   `json:"root"`
	Bass    string   `json:"bass"`
	Degrees []string `json:"degrees"`
	Notes   []string `json:"notes"`

	bassDegree harmony.Degree
	caution    string // what many charts mean by it
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
		Long: `Read chord symbols and say the degrees and notes of each. A 4 alone is read
as sus4, alt7 as 7alt, and a b13 keeps the 5.

With - the symbols come from standard input, one a line, and each line gets one
line of JSON, faults and empty lines too, in the same order. Every symbol is
answered; the exit code is 2 if any of them could not be read.`,
		Example: "  footfall chord Cm7b5 'G7(b9,#11)' C/E\n  footfall chord --json Bbmaj7\n  printf 'Dm7\\nG7\\n' | footfall chord -",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return p.answer(cmd, args, "symbols", describe, func(symbols []string, out, errs io.Writer) (int, error) {
				return answerTable(symbols, out, errs, p.plain)
			})
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
	var fault harmony.Fault
	if errors.As(err, &fault) {
		return chordFault{symbol, fault.Error(), fault.Column}, false
	}
	a := chordAnswer{Symbol: symbol, Degrees: make([]string, len(c.Degrees)), Notes: make([]string, len(c.Degrees))}
	if c.None {
		return a, true
	}
	a.Root, a.Bass = c.Root.String(), c.Bass.String()
	a.caution = c.Caution()
	a.bassDegree = c.DegreeOf(c.Bass.Semitone())
	for i, d := range c.Degrees {
		a.Degrees[i], a.Notes[i] = d.String(), c.Note(d).String()
	}
	return a, true
}

// answerTable writes what was read as a table for people, or in whole lines, and
// each fault under its symbol to errs.
func answerTable(symbols []string, out, errs io.Writer, inLines bool) (faults int, err error) {
	table := tabwriter.NewWriter(out, 0, 0, 3, ' ', 0)
	for _, s := range symbols {
		switch a, _ := describe(s); a := a.(type) {
		case chordFault:
			faults++
			if inLines || len(a.Symbol) > mostSaid {
				fmt.Fprintf(errs, "%s: %s\n", quote.Short(a.Symbol, mostSaid), cut(a.Error))
				continue
			}
			fmt.Fprintf(errs, "%s\n%s^ %s\n", a.Symbol, strings.Repeat(" ", a.Column-1), a.Error)
		case chordAnswer:
			bass := ""
			switch {
			case a.Root == "":
				bass = "no chord"
			case a.Bass != a.Root:
				bass = fmt.Sprintf("over %s, the %s", a.Bass, a.bassDegree)
			case a.caution != "":
				bass = a.caution
			}
			if inLines {
				fmt.Fprintln(table, sayChord(a, bass))
				continue
			}
			row := strings.Join([]string{a.Symbol, strings.Join(a.Degrees, " "), strings.Join(a.Notes, " "), bass}, "\t")
			fmt.Fprintln(table, strings.TrimRight(row, "\t"))
		}
	}
	return faults, table.Flush()
}

// sayChord says a chord in a line: each degree with its note.
func sayChord(a chordAnswer, bass string) string {
	words := make([]string, 0, len(a.Degrees)+1)
	for i, d := range a.Degrees {
		words = append(words, d+" "+a.Notes[i])
	}
	if bass != "" {
		words = append(words, bass)
	}
	return a.Symbol + ": " + strings.Join(words, ", ") + "."
}

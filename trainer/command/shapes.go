package command

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/plain"
	"footfall/trainer/sheet"
)

// foundShape is a shape as scripts read it: millimetres and effort to one and
// two places.
type foundShape struct {
	Frets   string   `json:"frets"`
	Degrees []string `json:"degrees"`
	Fingers []int    `json:"fingers"`
	SpanMM  float64  `json:"span_mm"`
	Effort  float64  `json:"effort"`
}

func newShapesCommand(p *program) *cobra.Command {
	var bass string
	cmd := &cobra.Command{
		Use:   "shapes SYMBOL",
		Short: "Find the shapes of a chord above a bass degree, best first",
		Long: `Find every shape of a chord that a hand can hold, its lowest note on the bass
strings, best first. A slash chord has its own bass; else --bass names the
degree that is lowest, which may lie outside the chord, and without it any tone
of the chord may be. --json lists all of them.`,
		Example: "  footfall shapes Dm --bass b3",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			q := fretboard.Query{}
			var err error
			if q.Chord, err = harmony.ParseChord(args[0]); err != nil {
				return badInput(fmt.Errorf("%q: %w", args[0], err))
			}
			if q.Chord.None {
				return badInput(fmt.Errorf("%s is no chord, so it has no shapes; write a chord symbol such as Dm7", args[0]))
			}
			if bass != "" {
				if q.Bass, err = harmony.ParseDegree(bass); err != nil {
					return badInput(fmt.Errorf("--bass: %w", err))
				}
			}
			neck, hand := p.settings.Instrument()
			shapes := neck.Shapes(hand, q)
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(foundShapes(shapes))
			}
			if p.plain {
				return plain.Shapes(cmd.OutOrStdout(), neck, q, shapes)
			}
			return printShapes(cmd.OutOrStdout(), neck, q, shapes)
		},
	}
	cmd.Flags().StringVar(&bass, "bass", "", "the degree that is lowest, such as b3 or 6")
	return cmd
}

func foundShapes(shapes []fretboard.Shape) []foundShape {
	found := make([]foundShape, len(shapes))
	for i, s := range shapes {
		found[i] = foundShape{
			Frets: s.String(), Degrees: harmony.Spelled(s.Degrees), Fingers: s.Fingers,
			SpanMM: rounded(s.SpanMM, 1), Effort: rounded(s.Effort, 2),
		}
	}
	return found
}

// shownShapes is how many shapes a person is shown.
const shownShapes = 10

func printShapes(w io.Writer, neck fretboard.Neck, q fretboard.Query, shapes []fretboard.Shape) error {
	var b strings.Builder
	what := q.Chord.Symbol
	if q.Bass != (harmony.Degree{}) {
		what += " with its " + q.Bass.String() + " in the bass"
	}
	switch len(shapes) {
	case 0:
		fmt.Fprintf(&b, "No shape of %s fits the hand on the bass strings.\n", what)
	case 1:
		fmt.Fprintf(&b, "%s: one shape.\n", what)
	default:
		fmt.Fprintf(&b, "%s: %d shapes, best first.\n", what, len(shapes))
	}
	for i, s := range shapes[:min(shownShapes, len(shapes))] {
		if i == 0 {
			fmt.Fprintf(&b, "\n%s\n  %-19s%-18s%-14s%s\n", sheet.Grid(neck, s.Frets, harmony.Spelled(s.Degrees)), "frets", "degrees", "fingers", "reach")
		}
		fmt.Fprintf(&b, "  %-19s%-18s%-14s%.0f mm\n", s, strings.Join(harmony.Spelled(s.Degrees), " "), fingerWords(s), s.SpanMM)
	}
	if more := len(shapes) - shownShapes; more > 0 {
		fmt.Fprintf(&b, "  and %d more\n", more)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// fingerWords writes a shape's fingers beside its frets, 0 for an open string.
func fingerWords(s fretboard.Shape) string {
	words := make([]string, len(s.Frets))
	for i, f := range s.Frets {
		words[i] = "x"
		if f >= 0 {
			words[i] = fmt.Sprint(s.Fingers[i])
		}
	}
	return strings.Join(words, "-")
}

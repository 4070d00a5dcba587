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
	var bass, along string
	cmd := &cobra.Command{
		Use:   "shapes SYMBOL",
		Short: "Find the shapes of a chord above a bass degree, best first",
		Long: `Find every shape of a chord that a hand can hold, its lowest note on the bass
strings, best first. A slash chord has its own bass; else --bass names the
degree that is lowest, which may lie outside the chord, and without it any tone
of the chord may be. --json lists all of them.

--along FRETS follows one shape of the chord up the neck instead: the shape, its
octave and its inversions on the same strings, lowest first.`,
		Example: "  footfall shapes Dm --bass b3\n  footfall shapes Cmaj7 --along x-3-5-4-5-x",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			err := oneOf(cmd, "bass", "along")
			if err != nil {
				return err
			}
			q := fretboard.Query{}
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
			if cmd.Flags().Changed("along") {
				return p.family(cmd.OutOrStdout(), neck, hand, q.Chord, along)
			}
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
	cmd.Flags().StringVar(&along, "along", "", "a shape to follow up the neck, such as x-3-5-4-5-x")
	return cmd
}

// family answers with one shape's family up the neck.
func (p *program) family(w io.Writer, neck fretboard.Neck, hand fretboard.Hand, c harmony.Chord, along string) error {
	frets, err := neck.Tuning.ParseFrets(along)
	if err != nil {
		return badInput(fmt.Errorf("--along %q: %w", along, err))
	}
	shapes, err := neck.Along(hand, c, frets)
	if err != nil {
		return badInput(fmt.Errorf("--along: %s is no shape of %s: %w", fretboard.FormatFrets(frets), c.Symbol, err))
	}
	if p.json {
		return json.NewEncoder(w).Encode(foundShapes(shapes))
	}
	if p.plain {
		return plain.Family(w, neck, hand, c, shapes)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s up the neck: %s.\n", c.Symbol, harmony.Counted(len(shapes), "place"))
	shapesTable(&b, neck, shapes, len(shapes))
	_, err = io.WriteString(w, b.String())
	return err
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
	shapesTable(&b, neck, shapes, shownShapes)
	if more := len(shapes) - shownShapes; more > 0 {
		fmt.Fprintf(&b, "  and %d more\n", more)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// shapesTable draws the first of some shapes and lists them, no more than most.
func shapesTable(b *strings.Builder, neck fretboard.Neck, shapes []fretboard.Shape, most int) {
	for i, s := range shapes[:min(most, len(shapes))] {
		if i == 0 {
			fmt.Fprintf(b, "\n%s\n  %-19s%-18s%-14s%s\n", sheet.Grid(neck, s.Frets, harmony.Spelled(s.Degrees)), "frets", "degrees", "fingers", "reach")
		}
		fmt.Fprintf(b, "  %-19s%-18s%-14s%.0f mm\n", s, strings.Join(harmony.Spelled(s.Degrees), " "), fingerWords(s), s.SpanMM)
	}
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

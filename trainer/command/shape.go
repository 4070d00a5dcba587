package command

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/quote"
	"footfall/trainer/sheet"
)

// readShape is what frets sound, as scripts read it.
type readShape struct {
	Frets    string       `json:"frets"`
	Notes    []string     `json:"notes"`
	Readings []shapeNamed `json:"readings"`
	Over     *shapeOver   `json:"over,omitempty"`

	frets []int
}

// shapeNamed is one name of a shape. Chord is the symbol without the bass.
type shapeNamed struct {
	Symbol    string             `json:"symbol"`
	Root      string             `json:"root"`
	Bass      string             `json:"bass"`
	Degrees   []string           `json:"degrees"`
	Inversion string             `json:"inversion"`
	Omits     []string           `json:"omits"`
	Adds      []string           `json:"adds,omitempty"`
	Families  []fretboard.Family `json:"families,omitempty"`
	Says      string             `json:"says"`
}

// shapeOver is what a shape does over a chord.
type shapeOver struct {
	Symbol  string   `json:"symbol"`
	Degrees []string `json:"degrees"`
	Says    string   `json:"says"`
}

// shapeFault is a shape that could not be read.
type shapeFault struct {
	Frets string `json:"frets"`
	Error string `json:"error"`
}

func newShapeCommand(p *program) *cobra.Command {
	var symbol string
	cmd := &cobra.Command{
		Use:   "shape FRETS… | -",
		Short: "Tell what a shape is, and what it does over a chord",
		Long: `Read frets, low string to high, x for a string that is not played, and name
what sounds: every chord it may be, the nearest name first.

FRETS is written x-3-2-0-1-0, with blanks or commas for the dashes, or x32010
where no fret is past 9. With - the shapes come from standard input, one a line,
and each line gets one line of JSON in the same order.`,
		Example: "  footfall shape x-2-3-2-3-x --over G7\n  footfall shape --json x32010",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var over *harmony.Chord
			if cmd.Flags().Changed("over") {
				c, err := harmony.ParseChord(symbol)
				if err != nil {
					return badInput(fmt.Errorf("--over %q: %w", symbol, err))
				}
				over = &c
			}
			neck, _ := p.settings.Instrument()
			if singleFrets(args) {
				args = []string{strings.Join(args, " ")}
			}
			describe := func(text string) (any, bool) { return describeShape(neck, text, over) }
			return p.answer(cmd, args, "shapes", describe, func(texts []string, out, errs io.Writer) (int, error) {
				return printShapesRead(out, errs, texts, neck, describe, p.plain), nil
			})
		},
	}
	cmd.Flags().StringVar(&symbol, "over", "", "a chord that sounds with the shape, such as G7")
	return cmd
}

// singleFrets tells whether the arguments are the frets of one shape, written
// without quotes: x 3 2 0 1 0.
func singleFrets(args []string) bool {
	for _, a := range args {
		if len(a) > 2 {
			return false
		}
	}
	return len(args) > 1
}

// describeShape answers for one shape: a readShape, or a shapeFault and false.
func describeShape(neck fretboard.Neck, text string, over *harmony.Chord) (any, bool) {
	text = strings.TrimSpace(text)
	frets, err := neck.Tuning.ParseFrets(text)
	if err != nil {
		return shapeFault{Frets: text, Error: err.Error()}, false
	}
	return readShapeOf(neck, frets, over), true
}

// printShapesRead writes shapes for people, and each fault to errs.
func printShapesRead(out, errs io.Writer, texts []string, neck fretboard.Neck, describe func(string) (any, bool), inLines bool) (faults int) {
	for i, text := range texts {
		switch read, _ := describe(text); read := read.(type) {
		case shapeFault:
			faults++
			fmt.Fprintf(errs, "%s: %s\n", quote.Short(read.Frets, mostSaid), cut(read.Error))
		case readShape:
			if inLines {
				sayShape(out, read)
				continue
			}
			if i > 0 {
				fmt.Fprintln(out)
			}
			printShape(out, neck, read)
		}
	}
	return faults
}

func readShapeOf(neck fretboard.Neck, frets []int, over *harmony.Chord) readShape {
	read := readShape{frets: frets, Frets: fretboard.FormatFrets(frets), Notes: []string{}, Readings: []shapeNamed{}}
	for _, n := range neck.Spell(frets, over) {
		read.Notes = append(read.Notes, n.String())
	}
	for _, r := range neck.Read(frets) {
		read.Readings = append(read.Readings, shapeNamed{
			Symbol: r.Chord.Symbol, Root: r.Chord.Root.String(), Bass: r.Chord.Bass.String(),
			Degrees: harmony.Spelled(r.Degrees), Inversion: r.Inversion, Omits: harmony.Spelled(r.Omits), Adds: harmony.Spelled(r.Adds),
			Families: r.Families, Says: r.ShapeWords(),
		})
	}
	if over != nil {
		o := neck.ReadOver(frets, *over)
		read.Over = &shapeOver{Symbol: over.Symbol, Degrees: harmony.Spelled(o.Degrees), Says: o.Says}
	}
	return read
}

// shownReadings is how many names a person is shown.
const shownReadings = 5

func printShape(w io.Writer, neck fretboard.Neck, read readShape) {
	labels := read.Notes
	switch {
	case read.Over != nil && len(read.Over.Degrees) > 0:
		labels = read.Over.Degrees
	case len(read.Readings) > 0:
		labels = read.Readings[0].Degrees
	}
	fmt.Fprintf(w, "%s  %s\n\n%s", read.Frets, strings.Join(read.Notes, " "), sheet.Grid(neck, read.frets, labels))
	if read.Over != nil {
		fmt.Fprintf(w, "\n%s.\n", upperFirst(read.Over.Says))
	}
	if len(read.Readings) == 0 {
		fmt.Fprintln(w, "\nNo chord has these notes.")
		return
	}
	fmt.Fprintln(w)
	for _, r := range read.Readings[:min(shownReadings, len(read.Readings))] {
		fmt.Fprintf(w, "  %-10s %-16s %s\n", r.Symbol, strings.Join(r.Degrees, " "), r.words())
	}
}

// sayShape says a shape in lines: its notes, then each name it has.
func sayShape(w io.Writer, read readShape) {
	fmt.Fprintf(w, "%s: %s.\n", read.Frets, strings.Join(read.Notes, " "))
	if read.Over != nil {
		fmt.Fprintf(w, "%s.\n", upperFirst(read.Over.Says))
	}
	if len(read.Readings) == 0 {
		fmt.Fprintln(w, "No chord has these notes.")
	}
	for _, r := range read.Readings[:min(shownReadings, len(read.Readings))] {
		fmt.Fprintf(w, "It is %s: %s, %s.\n", r.Symbol, strings.Join(r.Degrees, " "), r.words())
	}
}

// words say what kind of shape a reading makes of it.
func (r shapeNamed) words() string {
	words := []string{r.Inversion}
	for _, d := range r.Omits {
		if d != "1" {
			words = append(words, "without "+d)
		}
	}
	for _, d := range r.Adds {
		words = append(words, "with "+d)
	}
	for _, f := range r.Families {
		if f != fretboard.SixthInBass {
			words = append(words, string(f))
		}
	}
	return strings.Join(words, ", ")
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

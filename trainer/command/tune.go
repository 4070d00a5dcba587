package command

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

func newTuneCommand(p *program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "tune",
		Short: "List, show, check, format, import, export and add tunes",
		Example: "  footfall tune list\n" +
			"  footfall tune show key-ring",
		Long: `List, show, check and format tunes, and take them to and from other programs.

A TUNE is the name or title of a tune, the path of a file, or - for standard
input.`,
	}
	cmd.AddCommand(newTuneListCommand(p), newTuneShowCommand(p), newTuneCheckCommand(p), newTuneFormatCommand(p),
		newTuneImportCommand(p), newTuneExportCommand(p), newTuneAddCommand(p))
	return cmd
}

// tuneSummary is a tune in a list. Order is the place of a built-in one, or of what the
// player keeps by its name, from easy to hard, from 1; File is that of one of the
// player's own.
type tuneSummary struct {
	Order  int     `json:"order,omitempty"`
	Name   string  `json:"name"`
	Title  string  `json:"title"`
	Key    string  `json:"key"`
	Meter  string  `json:"meter"`
	Tempo  float64 `json:"tempo"`
	Bars   int     `json:"bars"`
	Trains string  `json:"trains"`
	File   string  `json:"file,omitempty"`
	// Lesson is the title of the lesson that brings it.
	Lesson string `json:"lesson,omitempty"`
	says   string
}

func summary(name string, t *tune.Tune, file string) tuneSummary {
	return tuneSummary{0, name, t.Title, t.Key.String(), t.Meter.String(), t.Tempo, len(t.Unroll()), t.Trains, file, "", cmp.Or(t.Trains, file)}
}

func newTuneListCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List the tunes, from easy to hard, your own and those of lessons, and what each trains",
		Example: "  footfall tune list\n" +
			"  footfall tune list --json",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			own, errs := p.book().Tunes()
			for _, err := range errs {
				p.warn(cmd, err.Error())
			}
			var list []tuneSummary
			for i, name := range content.TuneNames() {
				t, _ := content.Tune(name)
				s := summary(name, t, "")
				if mine := slices.IndexFunc(own, func(o tunebook.Own) bool { return o.Name == name }); mine >= 0 {
					s = summary(name, own[mine].Tune, own[mine].Path)
					own = slices.Delete(own, mine, mine+1)
				}
				s.Order = i + 1
				list = append(list, s)
			}
			for _, o := range own {
				list = append(list, summary(o.Name, o.Tune, o.Path))
			}
			for _, t := range session.LessonTunes(p.data) {
				s := summary(t.Name, t.Tune, "")
				s.Trains, s.Lesson, s.says = t.Says(), t.Lesson, t.Says()
				list = append(list, s)
			}
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(list)
			}
			if p.plain {
				for _, s := range list {
					fmt.Fprintf(cmd.OutOrStdout(), "%s: %s, key %s, %s, %s. %s\n", s.Name, s.Title, s.Key, s.Meter, harmony.Counted(s.Bars, "bar"), s.says)
				}
				return nil
			}
			w := tabwriter.NewWriter(cmd.OutOrStdout(), 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "name\ttitle\tkey\tmeter\tbars")
			for _, s := range list {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%d\n", s.Name, s.Title, s.Key, s.Meter, s.Bars)
			}
			if err := w.Flush(); err != nil {
				return err
			}
			for _, s := range list {
				fmt.Fprintf(cmd.OutOrStdout(), "\n%s\n%s\n", s.Name, wrapped(s.says, "  ", lineWidth))
			}
			return nil
		},
	}
}

// lineWidth is the width that text output keeps to.
const lineWidth = 79

// wrapped breaks text into indented lines of a width.
func wrapped(text, indent string, width int) string {
	var b strings.Builder
	col := 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case col == 0:
			b.WriteString(indent)
			col = len(indent)
		case col+1+n > width:
			b.WriteString("\n" + indent)
			col = len(indent)
		default:
			b.WriteByte(' ')
			col++
		}
		b.WriteString(word)
		col += n
	}
	return b.String()
}

func newTuneCheckCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE… | -",
		Short: "Name every fault of a tune with its line and column",
		Long: `Name every fault of a tune with its line and column, what was found there and
what would do. A bass row that leaves the bass strings is a fault too, and so is
whatever cannot be arranged: a shape that does not hang on the note of the line,
or that no hand holds, and a hit above which no shape fits. Hits for which the
hand has no time at the tune's tempo, and shapes with a note outside their chord,
are no fault, but told. With --json the answer is one list of all faults, empty
where there are none.`,
		Example: "  footfall tune check my.tune",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return checkTunes(cmd, p, args)
		},
		ValidArgsFunction: completeTunes,
	}
}

// fileFault is a fault and the file that has it.
type fileFault struct {
	File string `json:"file"`
	tune.Fault
}

func checkTunes(cmd *cobra.Command, p *program, args []string) error {
	faults := []fileFault{}
	for _, arg := range args {
		text, err := tuneText(cmd, arg)
		if err != nil {
			return err
		}
		t, found := p.checked(text)
		for _, f := range found {
			faults = append(faults, fileFault{source(arg), f})
			if !p.json {
				fmt.Fprintf(cmd.ErrOrStderr(), "%s: %v\n", source(arg), f)
				if f.Fix != "" {
					fmt.Fprintf(cmd.ErrOrStderr(), "this makes the whole row right:\n%s", f.Fix)
				}
			}
		}
		if t != nil {
			p.warnOfRush(cmd, source(arg), t)
			p.warnOfOutside(cmd, source(arg), t)
		}
		if t != nil && len(found) == 0 && !p.json {
			fmt.Fprintf(cmd.OutOrStdout(), "%s: %s, %s, no faults\n", source(arg), t.Title, harmony.Counted(len(t.Unroll()), "bar"))
		}
	}
	if p.json {
		if err := json.NewEncoder(cmd.OutOrStdout()).Encode(faults); err != nil {
			return err
		}
	}
	if len(faults) > 0 {
		return badInput(fmt.Errorf("%s found", harmony.Counted(len(faults), "fault")))
	}
	return nil
}

// checked reads a tune's text and tells all its faults, what cannot be arranged among them. The
// tune is nil where it cannot be read, or its line leaves the bass strings.
func (p *program) checked(text string) (*tune.Tune, tune.Faults) {
	neck, hand := p.settings.Instrument()
	t, faults := tune.Check(text, neck.BassRange())
	if t == nil {
		return nil, faults
	}
	for _, e := range fretboard.Refused(t, neck, hand) {
		line, column, _ := tune.Where(text, e.Section, e.SectionBar, e.Beat, tune.ShapesRow, tune.HitsRow, tune.BassRow, tune.ChordsRow)
		faults = append(faults, tune.Fault{Line: line, Column: column, Want: e.Want,
			Found: fmt.Sprintf("in section %s, bar %d, beat %d: %s", e.Section, e.SectionBar, e.Beat, e.What)})
	}
	return t, faults
}

// warnOfOutside tells which given shapes have a note that is outside their chord, which is no
// fault.
func (p *program) warnOfOutside(cmd *cobra.Command, name string, t *tune.Tune) {
	neck, _ := p.settings.Instrument()
	told := map[string]bool{}
	for _, s := range fretboard.Outside(t, neck) {
		says := fmt.Sprintf("%s: section %s, bar %d, beat %d: over %s the shape %s has the %s, outside the chord; if that is not meant, write another shape or *",
			name, s.Section, s.SectionBar, s.At.Beat, s.Chord.Symbol, fretboard.FormatFrets(s.Frets), strings.Join(harmony.Spelled(s.Degrees), " and the "))
		if !told[says] {
			told[says] = true
			p.warn(cmd, says)
		}
	}
}

// warnOfRush tells where a tune's hits leave the hand no time, which is no fault.
func (p *program) warnOfRush(cmd *cobra.Command, name string, t *tune.Tune) {
	neck, hand := p.settings.Instrument()
	a, err := fretboard.Arrange(t, neck, hand, tune.BassHalves)
	if err != nil {
		return // what cannot be arranged is told where it is
	}
	told := map[string]bool{}
	for _, r := range a.Rushed {
		says := fmt.Sprintf("%s: section %s, bar %d, beat %g: the hit comes %.2f s after the one before, too soon for the hand to get there at %g BPM",
			name, r.Section, r.SectionBar, countedBeat(r.At), r.Seconds, t.Tempo)
		if r.Bass {
			says = fmt.Sprintf("%s: section %s, bar %d, beat %g: the push falls together with a bass note of the split beat, and no hand holds both",
				name, r.Section, r.SectionBar, countedBeat(r.At))
		}
		if !told[says] {
			told[says] = true
			p.warn(cmd, says)
		}
	}
}

// ended puts a tune's last chord at one of its places, counted from 1.
func (p *program) ended(t *tune.Tune, place int) (*tune.Tune, error) {
	neck, hand := p.settings.Instrument()
	e, err := fretboard.EndingsOf(t, neck, hand)
	if err != nil {
		return nil, err
	}
	if place < 1 || place > len(e.Shapes) {
		return nil, fmt.Errorf("there is no place %d for %s: write 1 to %d", place, e.Chord.Symbol, len(e.Shapes))
	}
	d, faults := edit.Open(tune.Write(t))
	if len(faults) > 0 {
		return nil, faults
	}
	err = d.SetEnding(e.Beat, e.Rows(place-1))
	return d.Tune(), err
}

func newTuneFormatCommand(p *program) *cobra.Command {
	var key string
	var oldHits bool
	var ending int
	cmd := &cobra.Command{
		Use:   "format TUNE",
		Short: "Print a tune in its canonical text",
		Long: `Print a tune in its canonical text: headers and rows in a fixed order, bars in
columns, comments with the lines they belong to. Formatting twice changes
nothing.

With --key the tune is transposed. What does not fit the neck in the new key, a
shape or the bass row, is told on standard error.

With --ending its last chord is written at the lowest, the second or the third of its
places on the neck, held to the end; a last section that is played before gets a
copy of its own for that.

With --old-hits the tune is one of the first build, where a . in the hits row
left the beat to the layer and a shapes row struck: a * is put for each such .,
and a hit where the shapes row struck.`,
		Example: "  footfall tune format my.tune\n  footfall tune format tin-kettle-blues --key Ab > mine.tune",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			read := tune.Read
			if oldHits {
				read = tune.ReadOldHits
			}
			t, err := readTuneBy(cmd, args[0], read)
			if err != nil {
				return err
			}
			if t, err = transpose(cmd, p, t, key); err != nil {
				return err
			}
			if cmd.Flags().Changed("ending") {
				if t, err = p.ended(t, ending); err != nil {
					return badInput(fmt.Errorf("--ending: %w", err))
				}
			}
			return printTune(cmd.OutOrStdout(), p, t)
		},
		ValidArgsFunction: completeTunes,
	}
	addKeyFlag(cmd, &key, "transpose to a key, such as Ab or F#m")
	cmd.Flags().IntVar(&ending, "ending", 0, "end at one of the last chord's places on the neck, 1 (lowest) to 3")
	cmd.Flags().BoolVar(&oldHits, "old-hits", false, "read the hits as the first build did")
	return cmd
}

// transpose moves a tune to the key of a flag, "" for its own, and tells what does
// not fit the neck there.
func transpose(cmd *cobra.Command, p *program, t *tune.Tune, key string) (*tune.Tune, error) {
	if key == "" {
		return t, nil
	}
	to, err := harmony.ParseKey(key)
	if err != nil {
		return nil, badInput(fmt.Errorf("--key %w", err))
	}
	neck, _ := p.settings.Instrument()
	out, lost, err := t.Transpose(to, neck.HighestFret)
	if err != nil {
		return nil, badInput(fmt.Errorf("--key %w", err))
	}
	for _, l := range lost {
		p.warn(cmd, l.Error())
	}
	if _, err := out.Line(neck.BassRange()); err != nil {
		p.warn(cmd, fmt.Sprintf("the bass row leaves the bass strings: %v", err))
	}
	return out, nil
}

// printTune prints a tune's canonical text; in JSON as {"text"}.
func printTune(w io.Writer, p *program, t *tune.Tune) error {
	text := tune.Write(t)
	if p.json {
		return json.NewEncoder(w).Encode(struct {
			Text string `json:"text"`
		}{text})
	}
	_, err := io.WriteString(w, text)
	return err
}

package command

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/plain"
)

func newTuneShowCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "show TUNE",
		Short: "Show a tune with the notes of its bass row",
		Long: `Show a tune, section by section: chords, bass degrees with the notes they lead to
the first time the section is played, hits, shapes and words.`,
		Example: "  footfall tune show tin-kettle-blues",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := readTune(cmd, args[0])
			if err != nil {
				return err
			}
			neck, _ := p.settings.Instrument()
			line, lineErr := t.Line(neck.BassRange())
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(tuneDetail(tuneName(cmd, args[0]), t, line, lineErr))
			}
			if p.plain {
				if lineErr != nil {
					fmt.Fprintln(cmd.OutOrStdout(), "The bass row leaves the bass strings:", lineErr)
				}
				return plain.Tune(cmd.OutOrStdout(), t)
			}
			showTune(cmd.OutOrStdout(), t, line, lineErr)
			return nil
		},
		ValidArgsFunction: completeTunes,
	}
}

type detail struct {
	tuneSummary
	Swing    string        `json:"swing"`
	Comping  string        `json:"comping,omitempty"`
	Form     []string      `json:"form"`
	Sections []sectionJSON `json:"sections"`
	Line     []noteJSON    `json:"line"`
	// LineError says where the bass row leaves the bass strings.
	LineError string `json:"line_error,omitempty"`
	Text      string `json:"text"`
}

type sectionJSON struct {
	Name string `json:"name"`
	// Meter and Comping are left out where the section has none of its own.
	Meter   string    `json:"meter,omitempty"`
	Comping string    `json:"comping,omitempty"`
	Bars    []barJSON `json:"bars"`
}

type barJSON struct {
	Chords []changeJSON `json:"chords"`
	Bass   []string     `json:"bass,omitempty"`
	Hits   []string     `json:"hits,omitempty"`
	Shapes []string     `json:"shapes,omitempty"`
	Words  string       `json:"words,omitempty"`
}

type changeJSON struct {
	Symbol string `json:"symbol"`
	Slot   int    `json:"slot"`
	Slots  int    `json:"slots"`
}

type noteJSON struct {
	Bar  int     `json:"bar"`
	Beat float64 `json:"beat"`
	// Off says what the beat's .5 says too.
	Off    bool   `json:"off"`
	Halves int    `json:"halves"`
	Chord  string `json:"chord"`
	Degree string `json:"degree"`
	Note   string `json:"note"`
	MIDI   int    `json:"midi"`
}

func tuneDetail(name string, t *tune.Tune, line []tune.LineNote, lineErr error) detail {
	d := detail{tuneSummary: summary(name, t, ""), Swing: t.Swing.String(), Comping: t.Comping.String(), Form: t.FormOrder(), Text: tune.Write(t), Line: []noteJSON{}}
	for _, s := range t.Sections {
		sj := sectionJSON{Name: s.Name, Comping: s.Comping.String()}
		if s.Meter != (tune.Meter{}) {
			sj.Meter = s.Meter.String()
		}
		for _, b := range s.Bars {
			bj := barJSON{Bass: tokens(b.Bass), Hits: tokens(b.Hits), Shapes: tokens(b.Shapes), Words: b.Words}
			for _, c := range b.Chords {
				bj.Chords = append(bj.Chords, changeJSON{c.Chord.String(), c.Slot, c.Slots})
			}
			sj.Bars = append(sj.Bars, bj)
		}
		d.Sections = append(d.Sections, sj)
	}
	for _, n := range line {
		d.Line = append(d.Line, noteJSON{n.At.Bar, countedBeat(n.At), n.At.Off, n.Halves, n.Chord.String(), n.Degree.String(), n.Pitch.String(), n.Pitch.MIDI()})
	}
	if lineErr != nil {
		d.LineError = lineErr.Error()
	}
	return d
}

func tokens[T fmt.Stringer](row []T) []string {
	var out []string
	for _, t := range row {
		out = append(out, t.String())
	}
	return out
}

// showTune prints a tune for reading, four bars a line where they fit.
func showTune(w io.Writer, t *tune.Tune, line []tune.LineNote, lineErr error) {
	fmt.Fprintf(w, "%s\nkey %s, %s, tempo %g, swing %s, form %s, %s\n",
		t.Title, t.Key, t.Meters(), t.Tempo, t.Swing, strings.Join(t.FormOrder(), " "), harmony.Counted(len(t.Unroll()), "bar"))
	if t.Trains != "" {
		fmt.Fprintln(w, wrapped(t.Trains, "", lineWidth))
	}
	if lineErr != nil {
		fmt.Fprintln(w, wrapped("the bass row leaves the bass strings: "+lineErr.Error(), "", lineWidth))
	}
	notes := barNotes(line)
	first := map[string]int{}
	for _, fb := range t.Unroll() {
		if fb.SectionBar == 1 {
			if _, ok := first[fb.Section]; !ok {
				first[fb.Section] = fb.Number
			}
		}
	}
	for _, s := range t.Sections {
		fmt.Fprintf(w, "\n[%s]\n", s.Name)
		if s.Meter != (tune.Meter{}) {
			fmt.Fprintln(w, "meter", s.Meter)
		}
		if c := t.CompingOf(&s); c != tune.NoComping {
			fmt.Fprintln(w, "comping", c)
		}
		showSection(w, s, notes, first[s.Name])
	}
}

// barNotes gathers the notes of the line by bar.
func barNotes(line []tune.LineNote) map[int][]string {
	notes := map[int][]string{}
	for _, n := range line {
		notes[n.At.Bar] = append(notes[n.At.Bar], n.Pitch.String())
	}
	return notes
}

func showSection(w io.Writer, s tune.Section, notes map[int][]string, first int) {
	names := []string{"chords", "bass", "notes", "hits", "shapes", "words"}
	cells := make([][]string, len(names))
	widths := make([]int, len(s.Bars))
	for i := range s.Bars {
		b := &s.Bars[i]
		bar := []string{
			tune.ChordCell(b.Chords), strings.Join(tokens(b.Bass), " "), strings.Join(notes[first+i], " "),
			strings.Join(tokens(b.Hits), " "), strings.Join(tokens(b.Shapes), " "), b.Words,
		}
		for row, text := range bar {
			cells[row] = append(cells[row], text)
			widths[i] = max(widths[i], utf8.RuneCountInString(text))
		}
	}
	for from := 0; from < len(s.Bars); {
		to, width := from, len("chords |")
		for to < len(s.Bars) && to-from < 4 && (to == from || width+widths[to]+3 <= lineWidth) {
			width += widths[to] + 3
			to++
		}
		if from > 0 {
			fmt.Fprintln(w)
		}
		for row, name := range names {
			if strings.Join(cells[row], "") == "" {
				continue
			}
			fmt.Fprintf(w, "%-6s |", name)
			for i := from; i < to; i++ {
				text := cells[row][i]
				fmt.Fprint(w, " "+text+strings.Repeat(" ", widths[i]-utf8.RuneCountInString(text))+" |")
			}
			fmt.Fprintln(w)
		}
		from = to
	}
}

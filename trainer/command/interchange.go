package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content/exchange"
	"footfall/content/exchange/musicxml"
	"footfall/content/exchange/transcribe"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/session"
)

// importing holds the flags of one import.
type importing struct {
	*program
	chords, title, key, meter string
	tempo                     float64
	propose                   bool
}

func newTuneImportCommand(p *program) *cobra.Command {
	i := &importing{program: p}
	cmd := &cobra.Command{
		Use:   "import FILE | -",
		Short: "Make a tune of MusicXML, a MIDI file or a typed chart",
		Long: `Make a tune of a file from another program and print its text. What FILE is, its
content says:

    MusicXML, plain or compressed (.musicxml .xml .mxl); without chord symbols its
    bass becomes the bass row of the tune that --chords names, or with --propose it
    gets chords that fit its notes, each to be confirmed; a guitarist's part with
    tablature becomes the bass row, the hits and the shapes
    a Standard MIDI File (.mid): its bass, or the lowest notes of its guitar, become
    the bass row of the tune that --chords names
    a chart as it is typed: | Dm7 | G7 | Cmaj7 | % | or chords alone, one a bar,
    with marks of sections and repeats, endings, x2, D.C., and lines such as
    Title: Lamp Post, Key: Bb, Tempo: 120, 3/4; or the degrees of a key it names,
    I vi ii V or 1 6- 2- 5

What the file holds and a tune cannot, and what was in doubt, is listed on
standard error.`,
		Example: "  footfall tune import chart.musicxml > chart.tune\n  footfall tune import bass.mid --chords tin-kettle-blues\n" +
			"  echo 'Dm7 G7 Cmaj7 %' | footfall tune import - --title Turn --tempo 120",
		Args: cobra.ExactArgs(1),
		RunE: i.run,
	}
	i.flags(cmd)
	return cmd
}

// flags are those by which a file's gaps are filled beforehand.
func (i *importing) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&i.chords, "chords", "", "the tune whose chords go with a file that holds none")
	cmd.Flags().BoolVar(&i.propose, "propose", false, "put in chords that fit the notes, where the file holds none")
	cmd.Flags().StringVar(&i.title, "title", "", "the title, where the file names none or another")
	addKeyFlag(cmd, &i.key, "the key, where the file names none or another")
	cmd.Flags().StringVar(&i.meter, "meter", "", "the meter of a chart, where it names none (4/4 unless given)")
	cmd.Flags().Float64Var(&i.tempo, "tempo", 0, "the tempo in BPM, where the file names none or another")
	cobra.CheckErr(cmd.RegisterFlagCompletionFunc("chords", completeTunes))
}

// readForeign reads a file of another program, as long as one that begins so may be.
func readForeign(cmd *cobra.Command, name string) ([]byte, error) {
	in, err := openInput(cmd, name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	data, err := session.Foreign(in)
	if err != nil {
		return nil, unread(source(name), err)
	}
	return data, nil
}

func (i *importing) run(cmd *cobra.Command, args []string) error {
	data, err := readForeign(cmd, args[0])
	if err != nil {
		return err
	}
	o, err := i.options(cmd)
	if err != nil {
		return err
	}
	if args[0] != "-" {
		o.File = args[0]
	}
	if exchange.FormatOf(data) == exchange.Tune {
		err = errors.New("this is a tune already: use it as it is, or print it with `footfall tune format`")
	}
	var t *tune.Tune
	var losses []transcribe.Loss
	if err == nil {
		t, losses, err = exchange.Read(data, o)
	}
	if errors.Is(err, exchange.ErrNoChords) {
		err = noChords(err, data)
	}
	if err != nil {
		return badInput(inFile(args[0], err))
	}
	neck, hand := i.settings.Instrument()
	losses = append(losses, session.Unheld(t, neck, hand)...)
	if i.json {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(struct {
			Text   string            `json:"text"`
			Losses []transcribe.Loss `json:"losses"`
		}{tune.Write(t), append([]transcribe.Loss{}, losses...)})
	}
	for _, l := range transcribe.Gathered(losses, mostTold) {
		fmt.Fprintln(cmd.ErrOrStderr(), l)
	}
	_, err = io.WriteString(cmd.OutOrStdout(), tune.Write(t))
	return err
}

// mostTold is how many lines say at most what a file holds and its tune does not.
const mostTold = 20

// noChords says what to do with a file that holds no chord symbols.
func noChords(err error, data []byte) error {
	if exchange.FormatOf(data) == exchange.MusicXML {
		return fmt.Errorf("%w, with --chords, or have chords that fit its notes put in, with --propose", err)
	}
	return fmt.Errorf("%w, with --chords", err)
}

// options are what the flags of an import say.
func (i *importing) options(cmd *cobra.Command) (o exchange.Options, err error) {
	neck, _ := i.settings.Instrument()
	bass := neck.BassRange()
	o = exchange.Options{Low: bass.Low, High: bass.High, Title: i.title, Tempo: i.tempo, Propose: i.propose}
	if cmd.Flags().Changed("tempo") {
		if err := checkTempo(i.tempo); err != nil {
			return o, badInput(err)
		}
	}
	if i.key != "" {
		k, err := harmony.ParseKey(i.key)
		if err != nil {
			return o, badInput(fmt.Errorf("--key %w", err))
		}
		o.Key = &k
	}
	if i.meter != "" {
		m, ok := harmony.ParseMeter(i.meter)
		if !ok {
			return o, badInput(fmt.Errorf("--meter %q is none; give 2/4 to 7/4, 6/8, 9/8 or 12/8", i.meter))
		}
		o.Meter = &m
	}
	if i.chords != "" {
		if o.Chords, err = readTune(cmd, i.chords); err != nil {
			return o, err
		}
	}
	return o, nil
}

// checkTempo says what is wrong with the value of a --tempo flag.
func checkTempo(tempo float64) error {
	if !(tempo >= tune.LowestTempo && tempo <= tune.HighestTempo) {
		return fmt.Errorf("--tempo %g: give %d to %d BPM", tempo, tune.LowestTempo, tune.HighestTempo)
	}
	return nil
}

func newTuneExportCommand(p *program) *cobra.Command {
	var file, layer, key string
	cmd := &cobra.Command{
		Use:   "export TUNE",
		Short: "Write a tune as MusicXML for other programs",
		Long: `Arrange a tune on your neck and write one pass of it as MusicXML, as one guitar
part: a staff and its tablature, the shapes as hits in one voice, the bass line
with its degrees in another, fingers, and chord symbols where they change. It
goes to standard output, or to the file that -o names, compressed where that ends
in .mxl. Importing it again gives the same tune.`,
		Example:           "  footfall tune export tin-kettle-blues > blues.musicxml\n  footfall tune export my.tune -o my.mxl --layer bass",
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeTunes,
		RunE: func(cmd *cobra.Command, args []string) error {
			ending := strings.ToLower(filepath.Ext(file))
			if file != "" && ending != ".musicxml" && ending != ".xml" && ending != ".mxl" {
				return badInput(fmt.Errorf("-o %s cannot be written; give an ending of .musicxml, .xml or .mxl", file))
			}
			a, err := p.arrangement(cmd, args[0], asked{layer: layer, key: key})
			if err != nil {
				return err
			}
			xml, err := musicXML(a)
			if err != nil {
				return err
			}
			if file == "" {
				return p.printDocument(document(cmd.OutOrStdout()), xml)
			}
			if ending == ".mxl" {
				if xml, err = musicxml.Pack(xml); err != nil {
					return err
				}
			}
			err = writeWhole(file, func(f io.WriteSeeker) error {
				_, err := f.Write(xml)
				return err
			})
			if err != nil || !p.json {
				return err
			}
			return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]any{"file": file, "tune": a.Tune.Title, "bars": len(a.Tune.Unroll())})
		},
	}
	cmd.Flags().StringVarP(&file, "output", "o", "", "the file to write: .musicxml, .xml or .mxl")
	addKeyFlag(cmd, &key, "write it in another key, such as Eb or F#m")
	addLayerFlag(cmd, &layer)
	return cmd
}

// printDocument prints a MusicXML document; in JSON as {"musicxml"}.
func (p *program) printDocument(w io.Writer, document []byte) error {
	if p.json {
		return json.NewEncoder(w).Encode(map[string]string{"musicxml": string(document)})
	}
	_, err := w.Write(document)
	return err
}

// musicXML writes an arrangement as a MusicXML document.
func musicXML(a *fretboard.Arrangement) ([]byte, error) {
	o := musicxml.Options{Range: a.Neck.BassRange(), Tuning: a.Neck.Tuning, Layer: a.Layer, Places: map[tune.Position]musicxml.Place{}}
	// In another key the arrangement may have folded the line.
	_, err := a.Tune.Line(o.Range)
	folded := err != nil
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind == fretboard.ShapeEvent {
			s := musicxml.Shape{Chord: e.Chord, Times: e.Times, Halves: e.Halves, Held: e.Held}
			for k, fret := range e.Frets {
				p := fretboard.Place{String: len(e.Frets) - k, Fret: fret}
				if fret >= 0 && (e.Free || p != e.Place) { // the line sounds the bass note
					s.Places = append(s.Places, musicxml.Place{String: p.String, Fret: fret, Finger: e.Fingers[k]})
				}
			}
			o.Shapes = append(o.Shapes, s)
			continue
		}
		o.Places[e.At] = musicxml.Place{String: e.Place.String, Fret: e.Place.Fret, Finger: e.Finger}
		if !folded {
			continue
		}
		n := tune.LineNote{At: e.At, Halves: e.Halves, Chord: e.Chord, Degree: e.Degree, Pitch: e.Note}
		if k := len(o.Line); k > 0 {
			n.Direction = tune.DirectionTo(o.Line[k-1].Pitch.MIDI(), n.Pitch.MIDI())
		}
		o.Line = append(o.Line, n)
	}
	return musicxml.Write(a.Tune, o)
}

func writeMusicXML(w io.Writer, h handout) error {
	document, err := musicXML(h.Arrangement)
	if err != nil {
		return err
	}
	_, err = w.Write(document)
	return err
}

func writePackedMusicXML(w io.WriteSeeker, h handout) error {
	document, err := musicXML(h.Arrangement)
	if err != nil {
		return err
	}
	packed, err := musicxml.Pack(document)
	if err != nil {
		return err
	}
	_, err = w.Write(packed)
	return err
}

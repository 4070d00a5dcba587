package command

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"footfall/fretboard"
	model "footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/quote"
	"footfall/trainer/session"
	"footfall/trainer/settings"
	"footfall/trainer/sheet"
	"footfall/trainer/sound"
)

// handout is what a file is made from. Its tune has the tempo that is asked for.
type handout struct {
	*fretboard.Arrangement
	settings settings.Settings
	countIn  int // bars counted before music
}

// sheetKind is a kind of file that a tune is written as, told by the file's
// ending. Kinds that are text have text set, the others write.
type sheetKind struct {
	ending, what string
	text         func(io.Writer, handout) error
	write        func(io.WriteSeeker, handout) error
	timed        bool // it is music in time, which may be counted in
}

var sheetKinds = []sheetKind{
	{ending: ".html", what: "a page to read on a screen or to print, on A4 or Letter", text: writeHTML},
	{ending: ".svg", what: "the same as one picture", text: writeSVG},
	{ending: ".txt", what: "plain text", text: writeText},
	{ending: ".musicxml", what: "MusicXML: a staff and its tablature, with chord symbols and fingers", text: writeMusicXML},
	{ending: ".mxl", what: "the same, compressed", write: writePackedMusicXML},
	{ending: ".mid", what: "a Standard MIDI File, a track a string and what keeps time", write: writeMIDI, timed: true},
	{ending: ".wav", what: "the arrangement played, and what keeps time", write: writeWAV, timed: true},
}

func newSheetCommand(p *program) *cobra.Command {
	var file string
	var as asked
	var tempo float64
	var countIn int
	var kinds strings.Builder
	for _, k := range sheetKinds {
		fmt.Fprintf(&kinds, "    %-9s %s\n", k.ending, k.what)
	}
	cmd := &cobra.Command{
		Use:   "sheet TUNE -o FILE",
		Short: "Write a tune's arrangement to a file: a handout",
		Long: `Arrange a tune on your neck and write it down. The ending of FILE says how:

` + kinds.String() + `
TUNE is the name or title of a tune, a file, or - for standard input. FILE is
replaced if it is there already, whole or not at all. A FILE of - is plain text
on standard output, -.html, -.svg or -.musicxml another kind of it.`,
		Example:           "  footfall sheet lantern-street -o lantern.html\n  footfall sheet my.tune -o my.svg --layer bass --key Eb\n  footfall sheet my.tune -o - | less",
		ValidArgsFunction: completeTunes,
		Args:              cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			kind, err := sheetKindOf(file)
			if err != nil {
				return badInput(err)
			}
			if countIn < 0 || countIn > 2 {
				return badInput(fmt.Errorf("--count-in %d: give 0, 1 or 2 bars", countIn))
			}
			if countIn > 0 && !kind.timed {
				return badInput(fmt.Errorf("--count-in %d: only a MIDI or wave file counts in; leave it out, or name such a file", countIn))
			}
			toOutput := onOutput(file)
			if toOutput && (kind.text == nil || p.json) {
				return badInput(fmt.Errorf("-o %s: standard output takes text only, and not with --json; name a file", file))
			}
			a, err := p.arrangement(cmd, args[0], as)
			if err != nil {
				return err
			}
			if !cmd.Flags().Changed("tempo") {
				tempo = a.Tune.Tempo
			}
			if err := checkTempo(tempo); err != nil {
				return badInput(err)
			}
			t := *a.Tune
			a.Tune, t.Tempo = &t, tempo
			h := handout{Arrangement: a, settings: p.settings, countIn: countIn}
			if toOutput {
				return kind.text(document(cmd.OutOrStdout()), h)
			}
			if err := writeWhole(file, func(f io.WriteSeeker) error {
				if kind.text != nil {
					return kind.text(f, h)
				}
				return kind.write(f, h)
			}); err != nil {
				return err
			}
			bars := len(a.Tune.Unroll())
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]any{"file": file, "tune": a.Tune.Title, "layer": a.Layer.String(), "bars": bars, "tempo": tempo})
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: %s, %s, %s\n", file, a.Tune.Title, harmony.Counted(bars, "bar"), a.Layer)
			return err
		},
	}
	cmd.Flags().StringVarP(&file, "output", "o", "", "the file to write; its ending says what it holds")
	cmd.Flags().Float64Var(&tempo, "tempo", 0, "in BPM (the tune's own unless given)")
	cmd.Flags().IntVar(&countIn, "count-in", 0, "bars counted in before the music of a MIDI or wave file, 0 to 2")
	addKeyFlag(cmd, &as.key, "write it in another key, such as Eb or F#m")
	addLayerFlag(cmd, &as.layer)
	addCompingFlag(cmd, &as.comping)
	addSchoolFlag(cmd, &as.school)
	return cmd
}

// sheetKindOf finds the kind of file that a name asks for.
func sheetKindOf(name string) (sheetKind, error) {
	if name == "" {
		return sheetKind{}, errors.New("no file is given: name one with -o")
	}
	ending := filepath.Ext(name)
	if name == "-" {
		ending = ".txt"
	}
	var endings []string
	for _, k := range sheetKinds {
		if strings.EqualFold(ending, k.ending) {
			return k, nil
		}
		endings = append(endings, k.ending)
	}
	if ending == "" {
		return sheetKind{}, fmt.Errorf("-o %s has no ending, which says what is written; give one of %s", name, strings.Join(endings, " "))
	}
	return sheetKind{}, fmt.Errorf("-o %s: %s cannot be written; give one of %s", name, ending, strings.Join(endings, " "))
}

// onOutput tells whether a name stands for standard output: - or - and an
// ending.
func onOutput(name string) bool { return strings.TrimSuffix(name, filepath.Ext(name)) == "-" }

// writeWhole writes a file so that it is there whole or not at all, whatever
// becomes of the program: a part of it lies beside it under another name.
func writeWhole(name string, write func(io.WriteSeeker) error) (err error) {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		if info.IsDir() {
			return isFolder(name)
		}
		return badInput(fmt.Errorf("-o %s is a device, and only files can be written whole; name a file", name))
	}
	part := name + ".part"
	f, err := os.Create(part)
	if err != nil {
		return unwritten(name, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(part)
		}
	}()
	w := disk{f, nil}
	err = write(&w)
	if w.err != nil {
		err = unwritten(name, w.err)
	}
	if err != nil {
		return err
	}
	if err = errors.Join(f.Sync(), f.Close()); err != nil {
		return unwritten(name, err)
	}
	if err = os.Rename(part, name); err != nil {
		return unwritten(name, err)
	}
	return nil
}

// disk remembers why it could not be written, whatever its writer makes of that.
type disk struct {
	io.WriteSeeker
	err error
}

func (d *disk) Write(b []byte) (int, error) {
	n, err := d.WriteSeeker.Write(b)
	if d.err == nil {
		d.err = err
	}
	return n, err
}

func writeHTML(w io.Writer, h handout) error {
	return harmless(w, func(w io.Writer) error { return sheet.HTML(w, h.Arrangement) })
}

func writeSVG(w io.Writer, h handout) error {
	return harmless(w, func(w io.Writer) error { return sheet.SVG(w, h.Arrangement) })
}

func writeText(w io.Writer, h handout) error {
	_, err := io.WriteString(w, quote.Harmless(sheet.Text(h.Arrangement, textColumns)))
	return err
}

// harmless writes what people will look at: what is in it of a tune turns no text around.
func harmless(w io.Writer, write func(io.Writer) error) error {
	lines := &byLines{to: quote.Writer{Writer: w}}
	if err := write(lines); err != nil {
		return err
	}
	_, err := lines.to.Write(lines.held)
	return err
}

// byLines hands on whole lines, so that a handout of thousands of bars is not held, and no
// character is parted.
type byLines struct {
	to   io.Writer
	held []byte
}

func (b *byLines) Write(p []byte) (int, error) {
	b.held = append(b.held, p...)
	if end := bytes.LastIndexByte(b.held, '\n') + 1; end > 1<<16 {
		if _, err := b.to.Write(b.held[:end]); err != nil {
			return 0, err
		}
		b.held = append(b.held[:0], b.held[end:]...)
	}
	return len(p), nil
}

// textColumns is the width of a text sheet, in characters.
const textColumns = 80

// model is the music of a handout, and how it is written.
func (h handout) model() (*model.Score, sound.Export, error) {
	c := h.settings.Sound
	x := sound.Export{CountIn: h.countIn, Mix: sound.Mix{ClickDB: c.ClickDB, BassDB: c.BassDB, ShapesDB: c.ShapesDB}}
	s, err := model.Of(h.Arrangement, c.GhostNotes)
	if err == nil {
		x.Time, err = session.TimekeepingOf(h.settings)
	}
	if err != nil {
		return nil, x, badInput(fmt.Errorf("%s: %w", h.Tune.Title, err))
	}
	return s, x, nil
}

func writeMIDI(w io.WriteSeeker, h handout) error {
	s, x, err := h.model()
	if err != nil {
		return err
	}
	return sound.WriteSMF(w, s, x)
}

func writeWAV(w io.WriteSeeker, h handout) error {
	s, x, err := h.model()
	if err != nil {
		return err
	}
	return sound.WriteWAV(w, s, x)
}

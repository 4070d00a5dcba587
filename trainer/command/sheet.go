package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/settings"
	"footfall/trainer/sound"
)

// handout is what a file is made from.
type handout struct {
	*fretboard.Arrangement
	settings settings.Settings
	tempo    float64 // quarter notes a minute
}

// sheetKinds are the kinds of files that a tune is written as, told by the
// file's ending.
var sheetKinds = []struct {
	ending, what string
	write        func(io.WriteSeeker, handout) error
}{
	{".mid", "a Standard MIDI File, a track a string and the click", writeMIDI},
	{".wav", "the arrangement played with the click", writeWAV},
	{".musicxml", "MusicXML: notation with tablature data, chord symbols and diagrams", writeMusicXML},
	{".mxl", "the same, compressed", writePackedMusicXML},
}

func newSheetCommand(p *program) *cobra.Command {
	var file, layer, key string
	var tempo float64
	var kinds strings.Builder
	for _, k := range sheetKinds {
		fmt.Fprintf(&kinds, "    %-9s %s\n", k.ending, k.what)
	}
	cmd := &cobra.Command{
		Use:   "sheet TUNE -o FILE",
		Short: "Write a tune's arrangement to a file: a handout",
		Long: `Arrange a tune on your neck and write it down. The ending of FILE says how:

` + kinds.String() + `
TUNE is the name of a built-in tune, a file, or - for standard input. FILE is
replaced if it is there already.`,
		ValidArgsFunction: completeTunes,
		Args:              cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			write, err := sheetWriter(file)
			if err != nil {
				return badInput(err)
			}
			a, err := p.arrangement(cmd, args[0], layer, key)
			if err != nil {
				return err
			}
			if !cmd.Flags().Changed("tempo") {
				tempo = a.Tune.Tempo
			}
			if math.IsNaN(tempo) || tempo < take.LowestTempo || tempo > take.HighestTempo {
				return badInput(fmt.Errorf("--tempo %g: give %d to %d quarter notes a minute", tempo, take.LowestTempo, take.HighestTempo))
			}
			h := handout{Arrangement: a, settings: p.settings, tempo: tempo}
			if err := writeWhole(file, func(f *os.File) error { return write(f, h) }); err != nil {
				return err
			}
			bars := len(a.Tune.Unroll())
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(map[string]any{"file": file, "tune": a.Tune.Title, "layer": a.Layer.String(), "bars": bars, "tempo": tempo})
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: %s, %d bars, %s\n", file, a.Tune.Title, bars, a.Layer)
			return err
		},
	}
	cmd.Flags().StringVarP(&file, "output", "o", "", "the file to write; its ending says what it holds")
	cmd.Flags().Float64Var(&tempo, "tempo", 0, "in quarter notes a minute (the tune's own unless given)")
	cmd.Flags().StringVar(&key, "key", "", "write it in another key, such as Eb or F#m")
	addLayerFlag(cmd, &layer)
	return cmd
}

// sheetWriter finds what writes the kind of file that a name asks for.
func sheetWriter(name string) (func(io.WriteSeeker, handout) error, error) {
	if name == "" {
		return nil, errors.New("no file is given: name one with -o")
	}
	var endings []string
	for _, k := range sheetKinds {
		if strings.EqualFold(filepath.Ext(name), k.ending) {
			return k.write, nil
		}
		endings = append(endings, k.ending)
	}
	return nil, fmt.Errorf("-o %s: its ending %q is none that can be written; give one of %s", name, filepath.Ext(name), strings.Join(endings, " "))
}

// writeWhole writes a file so that it is there whole or not at all, whatever
// becomes of the program: a part of it lies beside it under another name.
func writeWhole(name string, write func(*os.File) error) (err error) {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return badInput(fmt.Errorf("-o %s is no file that can be written", name))
	}
	part := name + ".part"
	f, err := os.Create(part)
	if err != nil {
		return badInput(err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(part)
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(part, name)
}

// model is the music of a handout, at its tempo.
func (h handout) model() (*sound.Score, error) {
	s, err := sound.FromArrangement(h.Arrangement)
	if err != nil {
		return nil, badInput(fmt.Errorf("%s: %w", h.Tune.Title, err))
	}
	s.Tempo = h.tempo
	return s, nil
}

func writeMIDI(w io.WriteSeeker, h handout) error {
	s, err := h.model()
	if err != nil {
		return err
	}
	return sound.WriteSMF(w, s)
}

func writeWAV(w io.WriteSeeker, h handout) error {
	s, err := h.model()
	if err != nil {
		return err
	}
	c := h.settings.Sound
	return sound.WriteWAV(w, s, sound.Mix{ClickDB: c.ClickDB, BassDB: c.BassDB, ShapesDB: c.ShapesDB})
}

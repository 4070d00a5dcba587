package command

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/trainer/gate"
	"footfall/trainer/hearing"
	"footfall/trainer/hearing/wav"
)

// leastChord is the confidence below which a chord's note is not listed: under
// it most are overtones.
const leastChord = 0.2

// takeNote is a note of a recording as scripts read it.
type takeNote struct {
	Onset    float64 `json:"onset_s"`
	Duration float64 `json:"duration_s"`
	MIDI     int     `json:"midi"`
	Cents    float64 `json:"cents"`
	Part     string  `json:"part"`
	// Confidence is the chance that the note was played, over 0 to 1.
	Confidence float64 `json:"confidence"`
	// Told is when a listener to the running sound is told of the note.
	Told float64 `json:"told_s"`
}

func newHearCommand(p *program) *cobra.Command {
	return &cobra.Command{
		Use:   "hear FILE.wav | -",
		Short: "List the notes heard in a recording",
		Long: `List the notes heard in a recording of one guitar: when each begins and how long
it lasts, its pitch, how many cents off it is, whether it belongs to the bass line
or to a chord above it, and how sure that is.

The recording is a WAV file of 8 to 192 kHz, mono or stereo, of whole numbers or
float. A damaged file is read as far as it goes, with a warning.`,
		Example: "  footfall hear take.wav\n  footfall hear --json take.wav",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			rec, notes, err := p.hearRecording(cmd, args[0])
			if err != nil {
				return err
			}
			notes = slices.DeleteFunc(notes, func(n hearing.Note) bool {
				return n.Part == hearing.Chord && n.Confidence < leastChord
			})
			if p.json {
				return writeHeardJSON(cmd.OutOrStdout(), notes)
			}
			return writeHeard(cmd.OutOrStdout(), notes, rec, p.plain)
		},
	}
}

// hearRecording hears the recording a command was given, from standard input for "-",
// and passes on its warnings.
func (p *program) hearRecording(cmd *cobra.Command, name string) (*wav.Recording, []hearing.Note, error) {
	in, err := openInput(cmd, name)
	if err != nil {
		return nil, nil, err
	}
	defer in.Close()
	whole, err := seekable(in, name)
	if err != nil {
		return nil, nil, err
	}
	defer whole.Close()
	rec, err := wav.Open(whole)
	if err != nil {
		return nil, nil, badInput(inFile(name, err))
	}
	for _, w := range rec.Warnings {
		p.warn(cmd, fmt.Sprintf("%s: %s", source(name), w))
	}
	notes, err := hearing.HearAll(rec.Rate, rec.Pieces())
	if err != nil {
		return nil, nil, badInput(inFile(name, err))
	}
	return rec, notes, nil
}

// seekable is a recording that can be read more than once. A stream that is none is
// refused by how it begins, before the rest is read.
func seekable(in *gate.File, name string) (*gate.File, error) {
	begins, err := in.Peek(12)
	if err == nil {
		if err := wav.Judge(begins); err != nil {
			return nil, badInput(inFile(name, err))
		}
	}
	var whole *gate.File
	if err == nil {
		whole, err = in.Seekable(wav.MaxBytes)
	}
	if err != nil {
		return nil, unread(source(name), err)
	}
	return whole, nil
}

func writeHeardJSON(out io.Writer, notes []hearing.Note) error {
	list := make([]takeNote, len(notes))
	for i, n := range notes {
		list[i] = takeNote{
			Onset: rounded(n.Onset, 4), Duration: rounded(n.Duration, 4), MIDI: n.MIDI, Cents: rounded(n.Cents, 1),
			Part: n.Part.String(), Confidence: rounded(n.Confidence, 3), Told: rounded(n.Told, 4),
		}
	}
	return json.NewEncoder(out).Encode(list)
}

// rounded keeps so many decimals.
func rounded(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p)/p + 0 // no −0
}

func writeHeard(out io.Writer, notes []hearing.Note, rec *wav.Recording, inLines bool) error {
	if len(notes) == 0 {
		_, err := fmt.Fprintf(out, "No note is heard in %.1f s of sound.\n", rec.Seconds())
		return err
	}
	if inLines {
		for _, n := range notes {
			if _, err := fmt.Fprintf(out, "%s at %.3f s for %.3f s, %s, %+.0f cents, sure to %.0f %%.\n", harmony.FlatName(n.MIDI), n.Onset, n.Duration, n.Part, n.Cents, 100*n.Confidence); err != nil {
				return err
			}
		}
		return nil
	}
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "onset s\tlasts s\tnote\tcents\tpart\tsure\t")
	for _, n := range notes {
		fmt.Fprintf(table, "%.3f\t%.3f\t%s\t%+.0f\t%s\t%.0f %%\t\n", n.Onset, n.Duration, harmony.FlatName(n.MIDI), n.Cents, n.Part, 100*n.Confidence)
	}
	return table.Flush()
}

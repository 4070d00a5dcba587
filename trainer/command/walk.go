package command

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// walkedNote is a note of a composed line as scripts read it. Bars count through
// the form, section_bar within its section, beats from 1.
type walkedNote struct {
	Section    string  `json:"section"`
	SectionBar int     `json:"section_bar"`
	Bar        int     `json:"bar"`
	Beat       float64 `json:"beat"`
	Kind       string  `json:"kind"`
	Chord      string  `json:"chord"`
	Degree     string  `json:"degree"`
	Direction  string  `json:"direction"`
	Note       string  `json:"note"`
	MIDI       int     `json:"midi"`
	Beats      float64 `json:"beats"`
	Kept       bool    `json:"kept"`
	Reason     string  `json:"reason"`
}

// walked is a composed line as scripts read it.
type walked struct {
	Tune   string       `json:"tune"`
	Key    string       `json:"key"`
	Style  string       `json:"style"`
	Seed   uint64       `json:"seed"`
	Cost   float64      `json:"cost"`
	Events []walkedNote `json:"events"`
}

func newWalkCommand(p *program) *cobra.Command {
	var style string
	var seed uint64
	cmd := &cobra.Command{
		Use:               "walk TUNE",
		ValidArgsFunction: completeTunes,
		Short:             "Compose a walking bass line over a tune",
		Long: `Compose a walking bass line over a tune's chords and print the tune with it.

Bars of the bass row that hold nothing but rests are filled, and the others kept
and joined; a bass row without such bars is composed anew. A section that the
form repeats may get another line each time, as a section of its own.

Styles: ` + strings.Join(walk.StyleNames(), ", ") + `. The same seed gives the same line.
With --json the answer is the notes of one pass, with the reason of each.

TUNE is the name of a built-in tune, a file, or - for standard input.`,
		Example: "  footfall walk lantern-street --style two-feel\n  footfall walk my.tune --seed 7 > walked.tune",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := walk.ParseStyle(style)
			if err != nil {
				return badInput(err)
			}
			t, err := readTune(cmd, args[0])
			if err != nil {
				return err
			}
			neck, _ := p.settings.Instrument()
			low, high := neck.BassRange()
			line, err := walk.Compose(t, walk.Options{Style: s, Seed: seed, Low: low, High: high})
			if err != nil {
				return badInput(err)
			}
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(walkedOf(t, line, s, seed))
			}
			_, err = fmt.Fprint(cmd.OutOrStdout(), tune.Write(line.Tune()))
			return err
		},
	}
	cmd.Flags().StringVar(&style, "style", walk.StyleNames()[0], "what the line may use: "+strings.Join(walk.StyleNames(), ", "))
	cmd.Flags().Uint64Var(&seed, "seed", 0, "which of the lines near the best; 0 is the best")
	_ = cmd.RegisterFlagCompletionFunc("style", cobra.FixedCompletions(walk.StyleNames(), cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func walkedOf(t *tune.Tune, line *walk.Line, style walk.Style, seed uint64) walked {
	out := walked{Tune: t.Title, Key: t.Key.String(), Style: style.String(), Seed: seed, Cost: line.Cost, Events: []walkedNote{}}
	bars := t.Unroll()
	for _, n := range line.Notes {
		bar := bars[n.At.Bar-1]
		beat := float64(n.At.Beat)
		if n.At.Off {
			beat += 0.5
		}
		out.Events = append(out.Events, walkedNote{
			Section: bar.Section, SectionBar: bar.SectionBar, Bar: n.At.Bar, Beat: beat, Kind: "bass",
			Chord: n.Chord.Symbol, Degree: n.Degree.String(), Direction: [...]string{"nearest", "rise", "fall"}[n.Direction],
			Note: n.Pitch.String(), MIDI: n.Pitch.MIDI(), Beats: float64(n.Halves) / 2, Kept: n.Kept, Reason: n.Reason,
		})
	}
	return out
}

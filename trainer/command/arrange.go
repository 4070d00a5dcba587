package command

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"footfall/fretboard"
	"footfall/trainer/plain"
	"footfall/trainer/sheet"
)

// arrangedEvent is an event as scripts read it. Bars count through the form;
// section_bar counts within its section; beats count from 1, with .5 for the
// second half of a beat.
type arrangedEvent struct {
	Section    string  `json:"section"`
	SectionBar int     `json:"section_bar"`
	Bar        int     `json:"bar"`
	Beat       float64 `json:"beat"`
	Kind       string  `json:"kind"`
	Chord      string  `json:"chord"`
	Degree     string  `json:"degree"`
	Note       string  `json:"note"`
	MIDI       int     `json:"midi"`
	String     int     `json:"string"`
	Fret       int     `json:"fret"`
	Finger     int     `json:"finger"`
	Frets      string  `json:"frets"`
	Fingers    []int   `json:"fingers,omitempty"`
	Hit        string  `json:"hit,omitempty"`
	// Held and By say whether a shape rings on and who asks for it; Strikes are the
	// beats of its bar at which it sounds.
	Held    *bool     `json:"held,omitempty"`
	Strikes []float64 `json:"strikes,omitempty"`
	By      string    `json:"by,omitempty"`
	// Says and Choices are there with --why.
	Says    string       `json:"says,omitempty"`
	Choices []choiceJSON `json:"choices,omitempty"`
}

// choiceJSON is a shape that could be struck at a hit: what it costs the hand and the
// voice leading, and what the whole costs more with it.
type choiceJSON struct {
	Frets   string  `json:"frets"`
	Fingers []int   `json:"fingers"`
	Hand    float64 `json:"hand"`
	Voices  float64 `json:"voices"`
	More    float64 `json:"more"`
}

// arranged is an arrangement as scripts read it.
type arranged struct {
	Tune   string          `json:"tune"`
	Key    string          `json:"key"`
	Layer  string          `json:"layer"`
	School string          `json:"school"`
	Events []arrangedEvent `json:"events"`
	Cost   float64         `json:"cost"`
}

// The bounds of --width: below the narrowest one bar does not fit beside the strings.
const narrowest, widest = 40, 1000

func newArrangeCommand(p *program) *cobra.Command {
	var as asked
	var why bool
	var width int
	cmd := &cobra.Command{
		Use:               "arrange TUNE",
		ValidArgsFunction: completeTunes,
		Short:             "Find where on the neck to play a tune's bass line and shapes",
		Example: "  footfall arrange lantern-street\n" +
			"  footfall arrange my.tune --layer bass+halves --why\n" +
			"  footfall arrange tin-kettle-blues --key Bb --school shells --json",
		Long: `Find a place for every bass note and a shape for every hit, so that the whole
costs the hand least, and print it: chords, degrees, hits and a row a string.

TUNE is the name or title of a tune, a file, or - for standard input.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("tempo") {
				if err := checkTempo(as.tempo); err != nil {
					return badInput(err)
				}
			}
			if width < narrowest || width > widest {
				return badInput(fmt.Errorf("--width %d: give %d to %d characters", width, narrowest, widest))
			}
			a, err := p.arrangement(cmd, args[0], as)
			if err != nil {
				return err
			}
			switch {
			case p.json:
				return json.NewEncoder(cmd.OutOrStdout()).Encode(arrangedOf(a, why))
			case why && p.plain:
				return plain.Choices(cmd.OutOrStdout(), a, mostChoices)
			case why:
				return sheet.Choices(cmd.OutOrStdout(), a, mostChoices)
			case p.plain:
				return plain.Arrangement(cmd.OutOrStdout(), a)
			}
			_, err = fmt.Fprint(cmd.OutOrStdout(), sheet.Text(a, width))
			return err
		},
	}
	addLayerFlag(cmd, &as.layer)
	addCompingFlag(cmd, &as.comping)
	addSchoolFlag(cmd, &as.school)
	cmd.Flags().BoolVar(&why, "why", false, "say what each shape does, and which were the next best at its hit")
	cmd.Flags().Float64Var(&as.tempo, "tempo", 0, "the tempo it has to be playable at, in BPM (the tune's own unless given)")
	addKeyFlag(cmd, &as.key, "play it in another key, such as Eb or F#m")
	cmd.Flags().IntVar(&width, "width", 80, fmt.Sprintf("characters a line, %d to %d", narrowest, widest))
	return cmd
}

// mostChoices is how many shapes --why names at a hit.
const mostChoices = 3

func arrangedOf(a *fretboard.Arrangement, why bool) arranged {
	out := arranged{Tune: a.Tune.Title, Key: a.Tune.Key.String(), Layer: a.Layer.String(), School: a.School.String(), Events: []arrangedEvent{}, Cost: a.Cost}
	for i := range a.Events {
		e := &a.Events[i]
		x := arrangedEvent{
			Section: e.Section, SectionBar: e.SectionBar, Bar: e.At.Bar, Beat: countedBeat(e.At),
			Kind: e.Kind.String(), Chord: e.Chord.Symbol, Degree: e.Degree.String(), Note: e.Note.String(), MIDI: e.Note.MIDI(),
			String: e.Place.String, Fret: e.Place.Fret, Finger: e.Finger,
		}
		if e.Kind == fretboard.ShapeEvent {
			x.Frets, x.Fingers, x.Hit = fretboard.FormatFrets(e.Frets), e.Fingers, e.Hit.String()
			x.Held, x.By = &e.Held, e.By.String()
			for _, at := range e.Times {
				x.Strikes = append(x.Strikes, countedBeat(at))
			}
			if why {
				x.Says = a.Says(i)
				choices := a.Choices(i)
				for _, c := range choices[:min(mostChoices, len(choices))] {
					x.Choices = append(x.Choices, choiceJSON{fretboard.FormatFrets(c.Frets), c.Fingers, c.Hand, c.Voices, c.More})
				}
			}
		}
		out.Events = append(out.Events, x)
	}
	return out
}

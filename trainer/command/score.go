package command

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/gate"
	"footfall/trainer/hearing/wav"
	"footfall/trainer/listen"
	"footfall/trainer/session"
)

// takeReaders are the kinds of recordings that can be scored, told by how their
// files begin.
var takeReaders = []struct {
	begins string
	read   func(in *gate.File, open []int) (heard take.Heard, warnings []string, err error)
}{
	{"MThd", func(in *gate.File, open []int) (take.Heard, []string, error) {
		data, err := in.All(listen.MaxFile)
		var notes []listen.Note
		if err == nil {
			notes, err = listen.ReadFile(data)
		}
		listen.TellStrings(notes, open)
		return take.Heard{Notes: begun(notes)}, nil, err
	}},
	{"RIFF", streamedTake},
	{"RIFX", streamedTake},
	{"RF64", streamedTake},
	{"BW64", streamedTake},
}

func streamedTake(in *gate.File, _ []int) (take.Heard, []string, error) {
	whole, err := in.Seekable(wav.MaxBytes)
	if err != nil {
		return take.Heard{}, nil, err
	}
	defer whole.Close()
	return recordedTake(whole)
}

// recordedTake hears a WAV recording as it is graded.
func recordedTake(r io.ReadSeeker) (take.Heard, []string, error) {
	rec, err := listen.ReadRecording(r)
	if err != nil {
		return take.Heard{}, nil, err
	}
	heard := take.Heard{Notes: begun(rec.Notes), ByEar: true}
	for _, s := range rec.Strums {
		heard.Strums = append(heard.Strums, session.StrumOf(s))
	}
	return heard, rec.Warnings, nil
}

func newScoreCommand(p *program) *cobra.Command {
	var file string
	var as asked
	var tempo float64
	var free bool
	cmd := &cobra.Command{
		Use:   "score TUNE --take FILE",
		Short: "Score a recording of a tune, note by note",
		Example: "  footfall score key-ring --take take.mid --tempo 120\n" +
			"  footfall score key-ring --take take.wav --tempo 120 --layer bass --json",
		Long: `Score a recorded pass of a tune: what was right, missed, extra or wrong, and how
each note lay in time. FILE is a Standard MIDI File or a WAV recording of the guitar, or
- for standard input; its time 0 is bar 1 beat 1, without a count-in.

With --free the line is the player's own: each bar is judged by whether its chords
are to be heard in the bass, and no bass row is needed. Notes struck with a chord
off the beat are not the bass's.

TUNE is the name or title of a tune, a file, or - for standard input.`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeTunes,
		RunE: func(cmd *cobra.Command, args []string) error {
			if file == "" {
				return badInput(errors.New("no recording is given: name a file with --take"))
			}
			if file == "-" && args[0] == "-" {
				return badInput(errors.New("tune and recording cannot both come from standard input"))
			}
			if free {
				if cmd.Flags().Changed("layer") || as.comping != "" {
					return badInput(errors.New("--free judges the bass alone, whatever is struck above it: leave out --layer and --comping"))
				}
				return p.scoreFree(cmd, args[0], file, tempo)
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
			start, err := a.Tune.Placed(1, tempo)
			if err != nil {
				return badInput(fmt.Errorf("%s: %w", tuneName(cmd, args[0]), err))
			}
			heard, err := p.readTake(cmd, file, a.Neck)
			if err != nil {
				return err
			}
			s := take.DefaultSettings()
			s.Window = time.Duration(p.settings.Listen.WindowMS * float64(time.Millisecond))
			score := take.Grade(take.Expect(a, start, take.Bars{}), heard, s)
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(scoredOf(a, tempo, score))
			}
			return printScore(cmd.OutOrStdout(), a, tempo, score)
		},
	}
	cmd.Flags().StringVar(&file, "take", "", "the recording: a MIDI or WAV file, or - for standard input")
	cmd.Flags().BoolVar(&free, "free", false, "judge a line that the player made up, bar by bar")
	cmd.Flags().Float64Var(&tempo, "tempo", 0, "the tempo it was played at, in BPM (the tune's own unless given)")
	addLayerFlag(cmd, &as.layer)
	addCompingFlag(cmd, &as.comping)
	addSchoolFlag(cmd, &as.school)
	return cmd
}

// readTake reads a recording, of any kind that is known, of a guitar.
func (p *program) readTake(cmd *cobra.Command, name string, neck fretboard.Neck) (take.Heard, error) {
	in, err := openInput(cmd, name)
	if err != nil {
		return take.Heard{}, err
	}
	defer in.Close()
	begins, err := in.Peek(12) // before the rest is read
	if err != nil {
		return take.Heard{}, unread(source(name), err)
	}
	open := slices.Clone(neck.Tuning)
	slices.Reverse(open)
	for _, r := range takeReaders {
		if !bytes.HasPrefix(begins, []byte(r.begins)) {
			continue
		}
		heard, warnings, err := r.read(in, open)
		if refused := new(gate.Refused); errors.As(err, &refused) {
			return take.Heard{}, unread(source(name), err)
		}
		if err != nil {
			return take.Heard{}, badInput(inFile(name, err))
		}
		for _, w := range warnings {
			p.warn(cmd, fmt.Sprintf("%s: %s", source(name), w))
		}
		return heard, nil
	}
	err = wav.Judge(begins) // says what it is instead
	return take.Heard{}, badInput(fileError{name, fmt.Sprintf("%s cannot be scored: %v, or give a Standard MIDI File", source(name), err), err})
}

// printScore tells a take's score in lines: the sum, then each fault.
func printScore(out io.Writer, a *fretboard.Arrangement, tempo float64, sc *take.Score) error {
	lines := []string{fmt.Sprintf("%s, %s, %g a minute", a.Tune.Title, a.Layer, tempo)}
	lines = append(lines, sc.Report()...)
	for i := range sc.Events {
		if fault := sc.Fault(i); fault != "" {
			lines = append(lines, "  "+fault)
		}
	}
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

// begun returns the notes that begin, as they are graded.
func begun(notes []listen.Note) []take.Played {
	var played []take.Played
	for _, n := range notes {
		if n.On {
			played = append(played, session.PlayedOf(n))
		}
	}
	return played
}

// scored is a take's score as scripts read it. Offsets are late above 0.
type scored struct {
	Tune     string  `json:"tune"`
	Layer    string  `json:"layer"`
	Tempo    float64 `json:"tempo"`
	WindowMS float64 `json:"window_ms"`

	take.Counts
	StringsKnown bool `json:"strings_known"`

	// OffsetMS, TempoRatio, Slips and StoppedBar are the fit of the take as a whole;
	// MeanMS and SDMS are what is left after it.
	OffsetMS   float64     `json:"offset_ms"`
	TempoRatio float64     `json:"tempo_ratio"`
	Slips      []take.Slip `json:"slips"`
	StoppedBar *int        `json:"stopped_bar"`
	// Causes say the fit in sentences.
	Causes []string `json:"causes"`

	MeanMS  float64        `json:"mean_ms"`
	SDMS    float64        `json:"sd_ms"`
	DriftMS float64        `json:"drift_ms"`
	Offbeat *scoredOffbeat `json:"offbeat,omitempty"`

	Clean bool `json:"clean"`
	// Why says why it is not clean.
	Why string `json:"why,omitempty"`

	// Bars and Degrees are worst first.
	Bars    []scoredTally `json:"bars"`
	Degrees []scoredTally `json:"degrees"`
	Events  []scoredEvent `json:"events"`
	Extras  []scoredExtra `json:"extras"`
}

// scoredOffbeat is how what is due on the offbeat lies; swing is long to short to one.
type scoredOffbeat struct {
	Expected    int     `json:"expected"`
	Matched     int     `json:"matched"`
	SwingAsked  float64 `json:"swing_asked"`
	SwingPlayed float64 `json:"swing_played"`
	SDMS        float64 `json:"sd_ms"`
}

type scoredTally struct {
	Section    string `json:"section,omitempty"`
	SectionBar int    `json:"section_bar,omitempty"`
	Bar        int    `json:"bar,omitempty"`
	Degree     string `json:"degree,omitempty"`
	take.Counts
	MeanMS float64 `json:"mean_ms"`
	SDMS   float64 `json:"sd_ms"`
}

// scoredEvent is an expected event; kind and place are those of arrange. What was
// not played is null.
type scoredEvent struct {
	Section    string  `json:"section"`
	SectionBar int     `json:"section_bar"`
	Bar        int     `json:"bar"`
	Beat       float64 `json:"beat"`
	Kind       string  `json:"kind"`
	Chord      string  `json:"chord"`
	Degree     string  `json:"degree"`
	At         float64 `json:"at_s"`
	MIDI       int     `json:"midi"`
	String     int     `json:"string"`
	Fret       int     `json:"fret"`
	Verdict    string  `json:"verdict"`
	// Confidence is how sure it is, 0 to 1, that what the verdict goes by was
	// played; null where nothing was heard.
	Confidence   *float64 `json:"confidence"`
	PlayedMIDI   *int     `json:"played_midi"`
	PlayedString *int     `json:"played_string"`
	// OffsetMS is what is left after the fit, RawMS what there was before.
	OffsetMS      *float64     `json:"offset_ms"`
	RawMS         *float64     `json:"raw_ms"`
	OffsetPercent *float64     `json:"offset_percent"`
	OutsideMS     *float64     `json:"outside_ms,omitempty"`
	Notes         []scoredNote `json:"notes,omitempty"`
	// Absent and Foreign are the degrees that spoke against a hit heard by ear.
	Absent  []string `json:"absent,omitempty"`
	Foreign []string `json:"foreign,omitempty"`
	LeftOut []int    `json:"left_out,omitempty"`
	Added   []int    `json:"added,omitempty"`
}

// scoredNote is one note of a hit. Where an ear judged the hit as a whole it has
// no verdict.
type scoredNote struct {
	MIDI         int      `json:"midi"`
	Degree       string   `json:"degree"`
	String       int      `json:"string"`
	Fret         int      `json:"fret"`
	Verdict      string   `json:"verdict,omitempty"`
	PlayedMIDI   *int     `json:"played_midi"`
	PlayedString *int     `json:"played_string"`
	OffsetMS     *float64 `json:"offset_ms"`
}

type scoredExtra struct {
	At     float64 `json:"at_s"`
	MIDI   int     `json:"midi"`
	String int     `json:"string"`
}

func scoredOf(a *fretboard.Arrangement, tempo float64, sc *take.Score) scored {
	clean, why := sc.Clean()
	out := scored{
		Tune: a.Tune.Title, Layer: a.Layer.String(), Tempo: tempo, WindowMS: inMS(sc.Settings.Window),
		Counts: sc.Counts, StringsKnown: sc.StringsKnown,
		OffsetMS: inMS(sc.Fit.Offset), TempoRatio: rounded(sc.Fit.TempoRatio, 5), Slips: append([]take.Slip{}, sc.Fit.Slips...), Causes: append([]string{}, sc.Causes()...),
		MeanMS: inMS(sc.Timing.Mean), SDMS: inMS(sc.Timing.Spread), DriftMS: inMS(sc.Timing.Drift),
		Clean: clean, Why: why,
		Bars: talliesOf(sc.Bars), Degrees: talliesOf(sc.Degrees), Events: []scoredEvent{}, Extras: []scoredExtra{},
	}
	if sc.Fit.StoppedBar > 0 {
		out.StoppedBar = &sc.Fit.StoppedBar
	}
	if o := sc.Offbeats; o.Expected > 0 {
		out.Offbeat = &scoredOffbeat{o.Expected, o.Matched, o.Wanted, o.Heard, inMS(o.Spread)}
	}
	for i := range sc.Events {
		out.Events = append(out.Events, scoredEventOf(sc, i))
	}
	for _, j := range sc.Extras {
		p := sc.Played[j]
		out.Extras = append(out.Extras, scoredExtra{p.Time.Seconds(), p.MIDI, p.String})
	}
	return out
}

func scoredEventOf(sc *take.Score, i int) scoredEvent {
	e, o := &sc.Events[i], &sc.Outcomes[i]
	x := scoredEvent{
		Section: e.Section, SectionBar: e.SectionBar, Bar: e.At.Bar, Beat: countedBeat(e.At), Kind: e.Kind.String(),
		Chord: e.Chord.Symbol, Degree: e.Degree.String(), At: e.Time.Seconds(), Verdict: o.Verdict.String(),
	}
	base := append(append([]take.Want{}, e.Free...), e.Notes...)[0]
	x.MIDI, x.String, x.Fret = base.MIDI, base.Place.String, base.Place.Fret
	if e.Kind == fretboard.BassEvent {
		x.PlayedMIDI, x.PlayedString, _ = played(sc, o.Notes[0])
	} else {
		for k, w := range e.Notes {
			n := noteOf(sc, w, o.Notes[k])
			if o.Whole {
				n.Verdict = ""
			}
			x.Notes = append(x.Notes, n)
		}
		for _, w := range o.LeftOut(*e) {
			x.LeftOut = append(x.LeftOut, w.MIDI)
		}
		for _, j := range o.Added {
			x.Added = append(x.Added, sc.Played[j].MIDI)
		}
	}
	if o.Verdict.Right() || o.Verdict.Wrong() {
		ms, raw, percent := inMS(o.Offset), inMS(sc.Raw(i)), o.Percent(*e)
		x.OffsetMS, x.RawMS, x.OffsetPercent = &ms, &raw, &percent
	}
	for _, c := range o.Absent {
		x.Absent = append(x.Absent, e.Chord.DegreeOf(c).String())
	}
	for _, c := range o.Foreign {
		x.Foreign = append(x.Foreign, e.Chord.DegreeOf(c).String())
	}
	if o.Confidence > 0 {
		sure := rounded(o.Confidence, 3)
		x.Confidence = &sure
	}
	if o.Outside != 0 {
		ms := inMS(o.Outside)
		x.OutsideMS = &ms
	}
	return x
}

func noteOf(sc *take.Score, w take.Want, m take.Mark) scoredNote {
	n := scoredNote{MIDI: w.MIDI, Degree: w.Degree.String(), String: w.Place.String, Fret: w.Place.Fret, Verdict: m.Verdict.String()}
	n.PlayedMIDI, n.PlayedString, n.OffsetMS = played(sc, m)
	return n
}

// played returns what was played for a note, nil for nothing.
func played(sc *take.Score, m take.Mark) (midi, str *int, ms *float64) {
	if m.Played < 0 {
		return nil, nil, nil
	}
	p, late := sc.Played[m.Played], inMS(m.Offset)
	if p.String != 0 {
		str = &p.String
	}
	return &p.MIDI, str, &late
}

func talliesOf(tallies []take.Tally) []scoredTally {
	out := []scoredTally{}
	for _, t := range tallies {
		x := scoredTally{
			Section: t.Section, SectionBar: t.SectionBar, Bar: t.Bar,
			Counts: t.Counts,
			MeanMS: inMS(t.Mean), SDMS: inMS(t.Spread),
		}
		if t.Bar == 0 {
			x.Degree = t.Degree.String()
		}
		out = append(out, x)
	}
	return out
}

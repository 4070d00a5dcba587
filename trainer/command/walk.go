package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
	"footfall/trainer/plain"
	"footfall/trainer/session"
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

// remarked is a remark on a line as scripts read it. Better is one better bar,
// in the tokens of a bass row, "" for praise and where there is none.
type remarked struct {
	Section    string  `json:"section"`
	SectionBar int     `json:"section_bar"`
	Bar        int     `json:"bar"`
	Beat       float64 `json:"beat"`
	Rule       string  `json:"rule"`
	Good       bool    `json:"good"`
	Grave      bool    `json:"grave"`
	Says       string  `json:"says"`
	Source     string  `json:"source"`
	// Grade is the bar's, 10 without a remark; BetterGrade that of the better one.
	Grade       int    `json:"grade"`
	Better      string `json:"better"`
	BetterGrade *int   `json:"better_grade"`
}

func newWalkCommand(p *program) *cobra.Command {
	var style, key, from string
	var seed uint64
	var judge bool
	cmd := &cobra.Command{
		Use:               "walk TUNE",
		ValidArgsFunction: completeTunes,
		Short:             "Compose a walking bass line over a tune, or judge the one it has",
		Long: `Compose a walking bass line over a tune's chords and print the tune with it.

Bars of the bass row that hold nothing but rests are filled, and the others kept
and joined; a bass row without such bars is composed anew. A section that the
form repeats may get another line each time, as a section of its own.

With --from the bars before one are kept, however they are filled, and the line
is composed from there on: --from 9 is bar 9 of the form, --from B the first bar
of section B and --from B3 its third. --from FILE takes the bars of that tune's
bass row that hold a note, and composes the others.

Styles: ` + styleHelp() + `
The same seed gives the same line. With --json the answer is the notes of one
pass, with the reason of each.

With --judge nothing is composed: the answer is what is good and bad about the
tune's own line, bar by bar, with one better bar for each fault. A bar's grade is
10, one more for each thing that is good, two less for what to mind and five less
for a fault.

TUNE is the name or title of a tune, a file, or - for standard input.`,
		Example: "  footfall walk lantern-street --style two-feel\n  footfall walk my.tune --seed 7 > walked.tune\n  footfall walk my.tune --judge",
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
			if t, err = transpose(cmd, p, t, key); err != nil {
				return err
			}
			if judge {
				for _, flag := range []string{"style", "seed", "from"} {
					if cmd.Flags().Changed(flag) {
						return badInput(errors.New("--judge composes nothing: leave out --style, --seed and --from"))
					}
				}
				return p.judgeLine(cmd, t)
			}
			neck, _ := p.settings.Instrument()
			o := walk.Options{Style: s, Seed: seed, Range: neck.BassRange(), Hand: session.WalkingHand(neck)}
			if from != "" {
				if t, o.Fill, err = composeFrom(cmd, t, from); err != nil {
					return err
				}
			}
			line, err := walk.Compose(t, o)
			if err != nil {
				return badInput(err)
			}
			if n := line.Freed(); n > 0 {
				p.warn(cmd, harmony.Counted(n, "shape")+" named frets above the old line; a * takes the place of each")
			}
			if p.json {
				return json.NewEncoder(cmd.OutOrStdout()).Encode(walkedOf(t, line, s, seed))
			}
			_, err = fmt.Fprint(cmd.OutOrStdout(), tune.Write(line.Tune()))
			return err
		},
	}
	cmd.Flags().StringVar(&style, "style", walk.StyleNames()[0], "what the line is made of: "+strings.Join(walk.StyleNames(), ", "))
	completeFlag(cmd, "style", walk.StyleNames())
	cmd.Flags().Uint64Var(&seed, "seed", 0, "which line: another number, another line")
	cmd.Flags().StringVar(&from, "from", "", "keep what comes before a bar (9, B, B3), or the bars that a tune's file gives")
	addKeyFlag(cmd, &key, "in another key, such as Eb or F#m")
	cmd.Flags().BoolVar(&judge, "judge", false, "judge the tune's own line")
	return cmd
}

// styleHelp lists the styles and what a listener hears.
func styleHelp() string {
	var b strings.Builder
	for i, name := range walk.StyleNames() {
		fmt.Fprintf(&b, "\n  %-12s  %s", name, walk.Style(i).Says())
	}
	return b.String()
}

// composeFrom reads what --from names: a bar of the form, before which all is
// kept, or a tune whose bass row is kept where it holds a note. It returns the tune
// with that row and the bars to compose, nil for those without a note.
func composeFrom(cmd *cobra.Command, t *tune.Tune, from string) (*tune.Tune, func(section string, bar int) bool, error) {
	bars := t.Unroll()
	first := slices.IndexFunc(bars, func(fb tune.FormBar) bool {
		return from == fmt.Sprint(fb.Number) || from == fb.Section || from == fmt.Sprintf("%s%d", fb.Section, fb.SectionBar)
	})
	if first >= 0 {
		keep := map[string]bool{}
		for _, fb := range bars[:first] {
			keep[fmt.Sprint(fb.Section, " ", fb.SectionBar)] = true
		}
		return t, func(section string, bar int) bool { return !keep[fmt.Sprint(section, " ", bar)] }, nil
	}
	given, err := readTune(cmd, from)
	if err != nil {
		return nil, nil, badInput(fmt.Errorf("--from %s names no bar of %s, 1 to %d, A or A3, and no tune: %w", from, t.Title, len(bars), err))
	}
	out := *t
	out.Sections = slices.Clone(t.Sections)
	for i := range out.Sections {
		s := &out.Sections[i]
		like := given.Section(s.Name)
		if like == nil || given.MeterOf(like) != t.MeterOf(s) || len(like.Bars) != len(s.Bars) {
			return nil, nil, badInput(fmt.Errorf("%s has no section %s of %s in %s: --from takes the line of the same form", from, s.Name,
				harmony.Counted(len(s.Bars), "bar"), t.MeterOf(s)))
		}
		s.Bars = slices.Clone(s.Bars)
		for j := range s.Bars {
			s.Bars[j].Bass = slices.Clone(like.Bars[j].Bass)
			s.Bars[j].Copies[tune.BassRow] = tune.Copy{}
			if s.Bars[j].Bass == nil {
				s.Bars[j].Bass = make([]tune.BassBeat, t.MeterOf(s).Beats())
			}
		}
	}
	return &out, nil, nil
}

// judgeLine prints what is good and bad about a tune's own bass row.
func (p *program) judgeLine(cmd *cobra.Command, t *tune.Tune) error {
	neck, _ := p.settings.Instrument()
	remarks := walk.Criticise(t, walk.Critic{Range: neck.BassRange(), Hand: session.WalkingHand(neck)})
	out := cmd.OutOrStdout()
	if p.json {
		list := []remarked{}
		for _, r := range remarks {
			x := remarked{
				Section: r.Section, SectionBar: r.SectionBar, Bar: r.At.Bar, Beat: countedBeat(r.At), Rule: r.Rule.Name,
				Good: r.Rule.Good, Grave: r.Rule.Grave, Says: r.Says, Source: r.Rule.Source, Grade: r.Grade, Better: tune.BassCell(r.Better),
			}
			if r.Better != nil {
				x.BetterGrade = &r.BetterGrade
			}
			list = append(list, x)
		}
		return json.NewEncoder(out).Encode(list)
	}
	if len(remarks) == 0 {
		_, err := fmt.Fprintln(out, "no remarks: the tune has no line to judge, or nothing to say of it")
		return err
	}
	if p.plain {
		return plain.Remarks(out, remarks)
	}
	bar, rules := 0, []walk.Rule{}
	for _, r := range remarks {
		if !slices.Contains(rules, r.Rule) {
			rules = append(rules, r.Rule)
		}
		if r.At.Bar != bar {
			bar = r.At.Bar
			fmt.Fprintln(out, r.Head())
		}
		says := fmt.Sprintf("beat %g: %s (%s)", countedBeat(r.At), r.Says, r.Rule.Name)
		fmt.Fprintf(out, "  %-5s  %s\n", r.Rule.Kind(), strings.TrimSpace(wrapped(says, "         ", lineWidth)))
		if r.Better != nil {
			fmt.Fprintf(out, "         better: %s (grade %d)\n", tune.BassCell(r.Better), r.BetterGrade)
		}
	}
	fmt.Fprintln(out, "\nwhere the rules come from")
	for _, rule := range rules {
		fmt.Fprintf(out, "  %-10s  %s\n", rule.Name, strings.TrimSpace(wrapped(rule.Source, "              ", lineWidth)))
	}
	return nil
}

// countedBeat is a place in its bar as a player counts: 2.5 is the second half
// of beat 2.
func countedBeat(at tune.Position) float64 {
	if at.Off {
		return float64(at.Beat) + 0.5
	}
	return float64(at.Beat)
}

func walkedOf(t *tune.Tune, line *walk.Line, style walk.Style, seed uint64) walked {
	out := walked{Tune: t.Title, Key: t.Key.String(), Style: style.String(), Seed: seed, Cost: line.Cost, Events: []walkedNote{}}
	bars := t.Unroll()
	for _, n := range line.Notes {
		bar := bars[n.At.Bar-1]
		out.Events = append(out.Events, walkedNote{
			Section: bar.Section, SectionBar: bar.SectionBar, Bar: n.At.Bar, Beat: countedBeat(n.At), Kind: "bass",
			Chord: n.Chord.Symbol, Degree: n.Degree.String(), Direction: [...]string{"nearest", "rise", "fall"}[n.Direction],
			Note: n.Pitch.String(), MIDI: n.Pitch.MIDI(), Beats: float64(n.Halves) / 2, Kept: n.Kept, Reason: n.Reason,
		})
	}
	return out
}

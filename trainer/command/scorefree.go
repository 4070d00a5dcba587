package command

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/drills/take"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// walkedFreely is a free walk as scripts read it. Clear counts the clear bars.
type walkedFreely struct {
	Tune  string      `json:"tune"`
	Tempo float64     `json:"tempo"`
	Bars  []freeBar   `json:"bars"`
	Clear int         `json:"clear"`
	Used  []freeCount `json:"degrees"`
	// Unused are the degrees of the chords that no chord got.
	Unused []string `json:"unused"`
	// Changes counts the changes that a note came into, ByStep those of them that a
	// half or a whole step led into.
	Changes  int     `json:"changes"`
	ByStep   int     `json:"by_step"`
	OffsetMS float64 `json:"offset_ms"`
	// Slips are those of score: bars are judged where the player was.
	Slips  []take.Slip `json:"slips"`
	MeanMS float64     `json:"mean_ms"`
	SDMS   float64     `json:"sd_ms"`
}

type freeBar struct {
	Section    string `json:"section"`
	SectionBar int    `json:"section_bar"`
	Bar        int    `json:"bar"`
	Verdict    string `json:"verdict"`
	Says       string `json:"says"`
}

type freeCount struct {
	Degree string `json:"degree"`
	Count  int    `json:"count"`
}

// scoreFree judges a recording of a line that the player made up.
func (p *program) scoreFree(cmd *cobra.Command, name, file string, tempo float64) error {
	t, err := readTune(cmd, name)
	if err != nil {
		return err
	}
	if cmd.Flags().Changed("tempo") {
		if err := checkTempo(tempo); err != nil {
			return badInput(err)
		}
	} else {
		tempo = t.Tempo
	}
	neck, _ := p.settings.Instrument()
	heard, err := p.readTake(cmd, file, neck)
	if err != nil {
		return err
	}
	s := take.DefaultSettings()
	s.Window = time.Duration(p.settings.Listen.WindowMS * float64(time.Millisecond))
	free := take.Free(t, tempo, take.Bars{}, heard, neck, s)
	if p.json {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(walkedFreelyOf(t, tempo, free))
	}
	return printFree(cmd.OutOrStdout(), t, tempo, free)
}

func walkedFreelyOf(t *tune.Tune, tempo float64, free *take.FreeTake) walkedFreely {
	out := walkedFreely{
		Tune: t.Title, Tempo: tempo, Clear: free.Clear, Changes: free.Led, ByStep: free.Resolved, Bars: []freeBar{}, Used: []freeCount{}, Slips: append([]take.Slip{}, free.Slips...),
		Unused: append([]string{}, harmony.Spelled(free.Unused)...), OffsetMS: inMS(free.Offset), MeanMS: inMS(free.Timing.Mean), SDMS: inMS(free.Timing.Spread),
	}
	for _, b := range free.Bars {
		out.Bars = append(out.Bars, freeBar{b.Bar.Section, b.Bar.SectionBar, b.Bar.Number, b.Verdict.String(), b.Says})
	}
	for _, d := range free.Used {
		out.Used = append(out.Used, freeCount{d.Degree.String(), d.Count})
	}
	return out
}

// printFree tells a free walk in lines: the sum, then each bar that is not clear.
func printFree(out io.Writer, t *tune.Tune, tempo float64, free *take.FreeTake) error {
	lines := []string{fmt.Sprintf("%s, walked freely, %g a minute", t.Title, tempo)}
	lines = append(lines, free.Report()...)
	for _, b := range free.Bars {
		if b.Verdict != walk.Clear {
			lines = append(lines, fmt.Sprintf("  bar %d (%s bar %d) %s: %s", b.Bar.Number, b.Bar.Section, b.Bar.SectionBar, b.Verdict, b.Says))
		}
	}
	_, err := fmt.Fprintln(out, strings.Join(lines, "\n"))
	return err
}

package walk

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

// critic has a hand that shifts 20 mm for each semitone past a fifth.
var critic = Critic{Range: tune.Within(40, 60), Hand: Hand{StartMM: DefaultStartMM, SpeedMM: DefaultSpeedMM, ShiftMM: func(from, to int) float64 {
	return float64(20 * max(0, abs(to-from)-7))
}}}

// readJudged reads the bars of testdata/bars.txt.
func readJudged(t *testing.T) (rows []judgedBars) {
	data, err := os.ReadFile("testdata/bars.txt")
	require.NoError(t, err)
	for _, line := range strings.Split(string(data), "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		fields := append(strings.Split(line, ";"), "", "")
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
		row := judgedBars{line: line, must: strings.Fields(fields[3]), mustNot: strings.Fields(fields[4])}
		meter, tempo, ok := strings.Cut(fields[0], " at ")
		if !ok {
			tempo = "120"
		}
		text := fmt.Sprintf("tune x\nkey C\nmeter %s\ntempo %s\n\n[A]\nchords | %s |\nbass | %s |\n", meter, tempo, fields[1], fields[2])
		if fields[5] != "" {
			text += "hits | " + fields[5] + " |\n"
		}
		row.tune = read(t, text)
		rows = append(rows, row)
	}
	return rows
}

// allRules are the rules of criticism.
func allRules() []Rule {
	return []Rule{
		OutOfRange, Unclear, MissedRoot, TooFar,
		OpenLeap, Repeat, Tension, Stasis, Wander, Narrow, Wide, Unresolved, Dangling, Rootless, NoRoot, Clash,
		LeadsIn, Outlines, Recovered, Directed,
	}
}

// judgedBars are a few bars and what must and must not be said of them.
type judgedBars struct {
	line          string
	tune          *tune.Tune
	must, mustNot []string
}

func TestJudgedBars(t *testing.T) {
	rows := readJudged(t)
	require.GreaterOrEqual(t, len(rows), 80)
	for _, rule := range allRules() {
		asked := slices.ContainsFunc(rows, func(row judgedBars) bool {
			return slices.ContainsFunc(row.must, func(m string) bool { return strings.HasPrefix(m, rule.Name+":") })
		})
		require.True(t, asked, "no bar here earns %s", rule.Name)
	}
	for _, row := range rows {
		var got []string
		remarks := Criticise(row.tune, critic)
		for _, r := range remarks {
			got = append(got, fmt.Sprintf("%s:%d.%d", r.Rule.Name, r.At.Bar, r.At.Beat))
			require.NotEmpty(t, r.Says)
			require.NotEmpty(t, r.Rule.Source)
			require.Equal(t, gradeOf(remarks, r.Section, r.SectionBar), r.Grade)
			if r.Rule.Good {
				require.Nil(t, r.Better)
			} else if assert.NotNil(t, r.Better, "%s: %s has no better bar", row.line, r.Rule.Name) {
				requireBetter(t, row.tune, r, row.line)
			}
		}
		for _, want := range row.must {
			assert.Contains(t, got, want, row.line)
		}
		for _, not := range row.mustNot {
			for _, g := range got {
				assert.False(t, g == not || strings.HasPrefix(g, not+":"), "%s got %v", row.line, got)
			}
		}
	}
}

// gradeOf adds up the grade of a bar from its remarks.
func gradeOf(remarks []Remark, section string, bar int) int {
	grade := CleanGrade
	for _, r := range remarks {
		if r.Section == section && r.SectionBar == bar {
			grade += r.Rule.Points()
		}
	}
	return grade
}

// requireBetter asks that the better bar of a remark is another bar, fits the
// tune, does not earn the remark again and has the higher grade that it is said
// to have, wherever the form has the bar.
func requireBetter(t require.TestingT, tn *tune.Tune, r Remark, what string) {
	fixed, faults := tune.Read(tune.Write(tn))
	require.Empty(t, faults)
	bar := &fixed.Section(r.Section).Bars[r.SectionBar-1]
	require.NotEqual(t, bar.Bass, r.Better, what)
	bar.Bass = r.Better
	after := Criticise(fixed, critic)
	for _, again := range after {
		if again.Section == r.Section && again.SectionBar == r.SectionBar {
			require.NotEqual(t, r.Rule.Name, again.Rule.Name, "%s: better %v", what, tune.BassCell(r.Better))
			require.False(t, again.Rule.Grave, "%s: better %v: %s", what, tune.BassCell(r.Better), again.Says)
		}
	}
	require.Greater(t, r.BetterGrade, r.Grade, what)
	require.Equal(t, gradeOf(after, r.Section, r.SectionBar), r.BetterGrade, "%s: %s, better %v", what, r.Rule.Name, tune.BassCell(r.Better))
}

// A neck with few frets has no room to compose in; its lines are judged all the
// same.
func TestJudgesInASmallRange(t *testing.T) {
	tn := read(t, "tune x\nkey C\nmeter 4/4\ntempo 120\n\n[A]\nchords | Dm7 | F#7 |\nbass | 5 5 5 5 | b7 4 1 1 |\n")
	require.NotEmpty(t, Criticise(tn, Critic{Range: tune.Within(40, 45)}))
}

// A better bar is looked for where one is wanted.
func TestMend(t *testing.T) {
	tn := read(t, "tune x\nkey C\nmeter 4/4\ntempo 120\n\n[A]\nchords | F7 | F7 |\nbass | 1 1 1 1 | 1 1 1 1 |\n")
	c := critic
	c.Mend = func(section string, bar int) bool { return section == "A" && bar == 2 }
	for _, r := range Criticise(tn, c) {
		require.Equal(t, r.SectionBar == 2, r.Better != nil, "bar %d", r.SectionBar)
	}
}

package fretboard

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
)

// The first choice at each hit is the arrangement's own; each other one costs what
// the whole path costs with it in the place of that, priced from one end to the other.
func TestChoicesArePricedAsThePathPricesThem(t *testing.T) {
	tn, ok := content.Tune("lantern-street")
	require.True(t, ok)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	p := a.plan
	require.InDelta(t, a.Cost, p.cost(p.path), 1e-6)
	more := 0
	for i := range a.Events {
		if a.Events[i].Kind != ShapeEvent {
			continue
		}
		all := a.Choices(i)
		require.Equal(t, a.Events[i].Frets, all[0].Frets)
		require.Zero(t, all[0].More)
		for k, c := range all[1:] {
			m := p.moment[i]
			least := math.Inf(1)
			for j := range p.layers[m] {
				g := &p.layers[m][j]
				if FormatFrets(g.shape.Frets) != FormatFrets(c.Frets) {
					continue
				}
				own := p.path[m]
				p.path[m] = g
				least = min(least, p.cost(p.path)-a.Cost)
				p.path[m] = own
			}
			if math.IsInf(least, 1) { // of the search, where the path was offered fewer than three
				continue
			}
			require.InDelta(t, least, c.More, 1e-6)
			if k > 0 {
				require.GreaterOrEqual(t, c.More, all[k].More)
			}
			more++
		}
	}
	assert.Greater(t, more, 250)
}

// A shape that is given stays in every school and goes along with its bass note in
// every key, where it has room and the hand can hold it: not the second voice four
// frets up over open strings, in E, where its own comes.
func TestAGivenShapeFollowsKeyAndSchool(t *testing.T) {
	tn := readTune(t, "tune Test\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | Cm7 | G7 |\nbass | 1 b3 5 1 | \\1 3 5 1 |\nhits | on . . . | on . . . |\nshapes | 8-x-8-8-11-x . . . | * . . . |\n")
	for up := range 12 {
		for school := Mixed; school <= Drop3s; school++ {
			a, _, err := ArrangeInKey(tn, tn.Key.Up(up), StandardNeck(), DefaultHand(), BassHalves, InSchool(school))
			require.NoError(t, err, "up %d, %s", up, school)
			for _, e := range a.Events {
				if e.Kind != ShapeEvent || e.At.Bar != 1 {
					continue
				}
				fret := (8 + up) % 12
				if fret == 0 {
					assert.NotEqual(t, "0-x-0-0-3-x", FormatFrets(e.Frets))
				} else {
					assert.Equal(t, []int{fret, muted, fret, fret, fret + 3, muted}, e.Frets, "up %d, %s", up, school)
				}
			}
		}
	}
}

// pinnedTo is a tune with frets in its shapes row where an event of an arrangement has
// its shape.
func pinnedTo(tn *tune.Tune, e *Event, frets []int) *tune.Tune {
	c := *tn
	c.Sections = slices.Clone(tn.Sections)
	i := slices.IndexFunc(c.Sections, func(s tune.Section) bool { return s.Name == e.Section })
	c.Sections[i].Bars = slices.Clone(c.Sections[i].Bars)
	bar := &c.Sections[i].Bars[e.SectionBar-1]
	shapes := make([]tune.ShapeToken, c.MeterOf(&c.Sections[i]).Beats())
	copy(shapes, bar.Shapes)
	shapes[e.At.Beat-1].Frets = frets
	bar.Shapes = shapes
	return &c
}

// rows lists the shapes of an arrangement, one for each place of the shapes row at which
// every pass has the same, and how many places there are at which they differ.
func rows(a *Arrangement) (alike []int, differ int) {
	first, other := map[pin]int{}, map[pin]bool{}
	var order []pin
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != ShapeEvent {
			continue
		}
		at := pin{e.Section, e.SectionBar, e.At.Beat}
		if k, met := first[at]; !met {
			first[at] = i
			order = append(order, at)
		} else if !slices.Equal(a.Events[k].Frets, e.Frets) {
			other[at] = true
		}
	}
	for _, at := range order {
		if !other[at] {
			alike = append(alike, first[at])
		}
	}
	return alike, len(other)
}

// Choosing the first choice at a hit gives the arrangement back, to the last finger and
// at its cost, in bars that are tied too, alone and on top of another choice elsewhere;
// and so does choosing it at all of them.
func TestChoosingTheFirstGivesTheArrangementBack(t *testing.T) {
	names, schools := content.TuneNames(), []School{Mixed, Shells, ThreeNote, Drop2s, Drop3s}
	if testing.Short() {
		names, schools = []string{"bicycle-bell", "lantern-street", "short-ladder"}, []School{Mixed, Shells}
	}
	chosen, differ := 0, 0
	for k, name := range names {
		tn, _ := content.Tune(name)
		school := schools[k%len(schools)]
		arrange := func(tn *tune.Tune) *Arrangement {
			a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves, InSchool(school))
			require.NoError(t, err, "%s in %s", name, school)
			return a
		}
		same := func(want *Arrangement, tn *tune.Tune, says string) {
			got := arrange(tn)
			require.InDelta(t, want.Cost, got.Cost, 1e-6, "%s in %s: %s", name, school, says)
			require.Len(t, got.Events, len(want.Events))
			for i := range want.Events {
				w, g := &want.Events[i], &got.Events[i]
				require.Equal(t, []any{w.Place, w.Finger, w.Frets, w.Fingers}, []any{g.Place, g.Finger, g.Frets, g.Fingers}, "%s in %s: %s, at %v", name, school, says, w.At)
			}
		}
		a := arrange(tn)
		hits, others := rows(a)
		differ += others
		whole := tn
		var second *tune.Tune // with the second choice at the first hit that has one
		var changed *Arrangement
		for _, i := range hits {
			e := &a.Events[i]
			choices := a.Choices(i)
			require.Equal(t, e.Frets, choices[0].Frets)
			same(a, pinnedTo(tn, e, e.Frets), FormatFrets(e.Frets))
			whole = pinnedTo(whole, e, e.Frets)
			if second == nil && len(choices) > 1 {
				second = pinnedTo(tn, e, choices[1].Frets)
				changed = arrange(second)
				require.Equal(t, choices[1].Frets, changed.Choices(i)[0].Frets)
				require.Greater(t, len(changed.Choices(i)), 1, "there is still a choice where one was made")
			}
			chosen++
		}
		same(a, whole, "all")
		again, _ := rows(changed)
		for _, i := range again {
			e := &changed.Events[i]
			same(changed, pinnedTo(second, e, e.Frets), "on another choice, "+FormatFrets(e.Frets))
		}
	}
	t.Logf("%d chosen, %d places at which passes differ", chosen, differ)
	assert.Greater(t, chosen, 60)
	assert.Less(t, 20*differ, chosen)
}

// Where the bass alone moves over one chord, to hold the voices above it is among the
// choices, whether or not a player would know the grip by name.
func TestHoldingTheVoicesIsAChoice(t *testing.T) {
	tn := readTune(t, `tune Test
key Eb
meter 4/4
tempo 110

[A]
chords | Eb7alt | G7alt | Bbm7 | Abmaj7 |
bass   | 1 - \#5 - | /1 - \#5 - | /1 - \b7 - | \1 - 1 - |
hits   | on . on . | on . on . | on . on . | on . on . |
shapes | x-6-5-6-7-x . * . | x-10-9-10-11-x . * . | * . * . | * . * . |
`)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	held := 0
	var before *Event
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != ShapeEvent {
			continue
		}
		if before != nil && before.At.Bar == e.At.Bar && e.At.Bar < 3 {
			found := slices.ContainsFunc(a.Choices(i), func(c Choice) bool {
				return slices.Equal(c.Frets[2:], before.Frets[2:])
			})
			assert.True(t, found, "bar %d: %s after %s", e.At.Bar, FormatFrets(e.Frets), FormatFrets(before.Frets))
			held++
		}
		before = e
	}
	require.Equal(t, 2, held)
}

package today_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/today"
	"footfall/fretboard"
)

// made is a tune of sections of four bars of 4/4, without drills.
func made(sections ...string) today.Work {
	w := today.Work{Name: "made", Title: "Made", Tempo: 120, Whole: today.Part{Quarters: float64(16 * len(sections)), Bar: 4}}
	for _, s := range sections {
		w.Sections = append(w.Sections, today.Part{Section: s, Quarters: 16, Bar: 4})
	}
	return w
}

func passageOf(section string, layer fretboard.Layer) memory.Item {
	return memory.Item{Kind: memory.Passage, Tune: "made", Section: section, Layer: layer.String()}
}

// What is due comes first, the least remembered before the others; then what is
// begun, then what is new, in the order of the tune.
func TestPassagesThatAreDueComeFirst(t *testing.T) {
	r := today.Request{Day: day, Minutes: 60, Work: []today.Work{made("A", "B", "C", "D", "E")}, Known: map[memory.Item]memory.State{
		passageOf("C", fretboard.Bass): {Stability: 10, Difficulty: 5, Last: day - 11, Asked: 1},
		passageOf("E", fretboard.Bass): {Stability: 10, Difficulty: 5, Last: day - 20, Asked: 1},
		passageOf("B", fretboard.Bass): {Stability: 10, Difficulty: 5, Last: day - 2, Asked: 1},
	}}
	var order []string
	for _, s := range today.Lay(r).Steps {
		if s.Kind == today.Passage && !slices.Contains(order, s.Section) {
			order = append(order, s.Section)
		}
	}
	assert.Equal(t, []string{"E", "C", "B", "A", "D"}, order)
}

// A layer that no lesson has taught yet is not asked, however fast the one before it goes; the
// shapes of one that was are drawn from what was taught. What is at its tempo comes last.
func TestLayersWaitForWhatIsTaught(t *testing.T) {
	w := works["short-ladder"]
	r := today.Request{Day: day, Work: []today.Work{w}, Known: map[memory.Item]memory.State{}, Left: map[memory.Item]today.Left{}, School: "shells"}
	item := func(section, layer string) memory.Item {
		return memory.Item{Kind: memory.Passage, Tune: w.Name, Section: section, Layer: layer}
	}
	top := ramp.Ramp{Floor: 79, Target: 132, Step: 4, Rungs: 3}.Start()
	for top.Tempo < 132 {
		top = top.After(true)
	}
	end := func(section, layer string) {
		r.Left[item(section, layer)] = today.Left{Ramp: top.String(), Tempo: 132, Judged: true, Clean: true, Day: day - 1}
		r.Known[item(section, layer)] = memory.State{}.After(day-1, memory.Easy)
	}
	laid := func(layers int) (all []string) {
		r.Layers = layers
		for _, s := range today.Lay(r).Steps {
			if s.Kind == today.Passage {
				all = append(all, s.Section+" "+s.Layer+" "+s.School)
			}
		}
		return all
	}
	end("A", "bass")
	r.Layers = 1
	assert.False(t, r.AtTempo())
	assert.Equal(t, []string{"B bass ", "A bass "}, laid(1), "A is at its tempo")
	assert.Contains(t, laid(2), "A bass+changes shells")
	end("B", "bass")
	r.Layers = 1
	assert.True(t, r.AtTempo())
	r.Layers = 2
	assert.False(t, r.AtTempo())
	assert.ElementsMatch(t, []string{"A bass+changes shells", "B bass+changes shells"}, laid(2))
	end("A", "bass+changes")
	assert.Contains(t, laid(0), "A bass+halves shells")
	assert.Contains(t, laid(2), "A bass+changes shells")
}

package screen

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/trainer/guard/racetest"
)

// sparse are how the names of states begin that leave more than a third of their rows
// empty, since they have nothing more to say.
var sparse = []string{
	"add", "inputs", "play, one bar", "play, choosing the last", "shapes, up", "shapes, typing", "welcome",
}

// At 200 by 60 no page leaves more than a third of its rows empty, a rule between panes
// not counted, unless it has nothing more to say.
func TestNoPageLeavesItsRoomEmpty(t *testing.T) {
	racetest.Alone(t)
	d := drive(t, practised(t), 200, 60)
	used := make([]bool, len(sparse))
	for _, st := range states("lantern-street") {
		d.come(st)
		empty := 0
		for l := range strings.SplitSeq(d.view(), "\n") {
			if strings.Trim(l, " │") == "" {
				empty++
			}
		}
		if i := slices.IndexFunc(sparse, func(begins string) bool { return strings.HasPrefix(st.name, begins) }); i >= 0 {
			used[i] = used[i] || empty > 60/3
			continue
		}
		assert.LessOrEqual(t, empty, 60/3, "%s\n%s", st.name, d.view())
	}
	for i, begins := range sparse {
		assert.True(t, used[i], "%q fills its room now: strike it from the list", begins)
	}
}

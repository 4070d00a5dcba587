package take

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A note of which an ear doubts whether it was struck again was, where the line has it twice;
// where a shape is struck with it that must be likelier, since its strings alone sound alike.
// Which note it was the line never says, and nothing else is doubted for it.
func TestStruckAgain(t *testing.T) {
	beat := 500 * ms
	expected := append(line(beat, 40, 40, 43, 43), strike(3*beat, 0, beat, 43, 55, 59, 62))
	maybe := func(i, midi int, chance float64) Played {
		return Played{Time: expected[i].Time + 5*ms, MIDI: midi, Doubt: 0.6, Again: chance}
	}
	sure := func(i int) Played { return Played{Time: expected[i].Time, MIDI: expected[i].Notes[0].MIDI, Doubt: 0.1} }
	for name, c := range map[string]struct {
		played []Played
		want   []string
	}{
		"struck again":         {[]Played{sure(0), maybe(1, 40, 0.1), sure(2), sure(3)}, []string{"matched", "matched", "matched", "matched"}},
		"with a shape, likely": {[]Played{sure(0), sure(1), sure(2), maybe(3, 43, 0.6)}, []string{"matched", "matched", "matched", "matched"}},
		"with a shape, hardly": {[]Played{sure(0), sure(1), sure(2), maybe(3, 43, 0.3)}, []string{"matched", "matched", "matched", "missed"}},
		"of another pitch":     {[]Played{sure(0), maybe(1, 41, 0.9), sure(2), sure(3)}, []string{"matched", "unsure", "matched", "matched"}},
		"where another is due": {[]Played{sure(0), sure(1), maybe(2, 40, 0.2), sure(3)}, []string{"matched", "matched", "missed", "matched"}},
	} {
		sc := Grade(expected, ear(c.played), DefaultSettings())
		assert.Equal(t, c.want, verdicts(sc)[:4], name)
		assert.Zero(t, sc.Extra, name)
		live := NewLive(DefaultSettings(), true)
		live.Add(expected[:1])
		live.Add(expected[1:])
		got := []string{"missed", "missed", "missed", "missed"}
		for _, p := range c.played {
			if m := live.Hear(p); m.Event >= 0 {
				got[m.Event] = m.Verdict.String()
			}
		}
		assert.Equal(t, c.want, got, "%s, live", name)
	}
}

package ramp_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/drills/ramp"
)

// TestChangedByHand changes a ramp as the play page does.
func TestChangedByHand(t *testing.T) {
	at, err := ramp.Parse("120")
	assert.NoError(t, err)
	assert.Equal(t, "80:120+4", at.From(80).String(), "it climbs once it starts below its target")
	assert.Equal(t, "140", at.To(140).String())
	assert.Equal(t, "100:120+4", at.In(ramp.Up, 3).String(), "five steps below its target")
	up, err := ramp.Parse("60:120+4")
	assert.NoError(t, err)
	for want, got := range map[string]ramp.Ramp{
		"130:130+4":          up.From(130),
		"30:120+4":           up.From(1),
		"50:50+4":            up.To(50),
		"60:300+4":           up.To(1000),
		"60:120+40":          up.By(100),
		"60:120+1":           up.By(0),
		"60:120+4,ladder9":   up.In(ramp.Ladder, 20),
		"60:120+4,ladder1":   up.In(ramp.Ladder, 0),
		"60:120+4,alternate": up.In(ramp.Alternate, 3),
		"120":                up.In(ramp.Target, 3),
	} {
		assert.Equal(t, want, got.String())
	}
	var names []string
	for _, m := range []ramp.Mode{ramp.Up, ramp.Ladder, ramp.Alternate, ramp.Target} {
		names = append(names, m.String())
	}
	assert.Equal(t, []string{"up", "ladder", "alternate", "target"}, names)
}

// A pass without a word lets a ladder wait, and other ramps go on; the word moves the
// ramp as if it had been said at once.
func TestAWordThatComesLater(t *testing.T) {
	ladder, err := ramp.Parse("60:120+10,ladder2")
	assert.NoError(t, err)
	p := ladder.Start().After(true)
	waits := p.Unjudged()
	assert.Equal(t, p.Tempo, waits.Tempo)
	assert.Equal(t, p.After(true), waits.Said(true))
	assert.Equal(t, p.After(false), waits.Said(false))
	up, err := ramp.Parse("60:120+10")
	assert.NoError(t, err)
	assert.Equal(t, up.Start().After(true), up.Start().Unjudged())
	assert.Equal(t, up.Start().After(true), up.Start().Unjudged().Said(true))
	assert.Equal(t, up.Start().After(false), up.Start().Unjudged().Said(false))
}

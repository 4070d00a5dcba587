package screen

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
	"footfall/trainer/quote"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

// hostile is text that would act on a terminal, were it printed raw.
const hostile = "\x1b[2J\x1b]0;x\x07\u009b31m\u202eevil\x7f\xff"

// No page prints what a tune holds raw, nor what is said.
func TestNothingFromOutsideIsPrintedRaw(t *testing.T) {
	s := ready(t)
	tn, faults := tune.Read(gate)
	require.Empty(t, faults)
	tn.Title, tn.Trains = hostile+tn.Title, hostile
	for i := range tn.Sections {
		for k := range tn.Sections[i].Bars {
			tn.Sections[i].Bars[k].Words = hostile
		}
	}
	s.Desk.Put(session.Tune{Name: "gate", Tune: tn})
	d := drive(t, s, 120, 40)
	for _, st := range states("gate") {
		d.come(st)
		assert.Equal(t, quote.Styled(d.f.View()), d.f.View(), st.name)
		d.send(page.Say{Line: hostile})
		assert.Equal(t, quote.Styled(d.f.View()), d.f.View(), st.name)
		d.press("?")
		assert.Equal(t, quote.Styled(d.f.View()), d.f.View(), st.name)
		d.press("?")
	}
}

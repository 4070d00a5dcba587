package tune

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The last time of a section gets a section of its own, which reads back; a section
// that is played once keeps its name, and the tune itself is left alone.
func TestWithEnding(t *testing.T) {
	const head = "tune Gate\nkey C\nmeter 4/4\ntempo 100\n"
	for form, want := range map[string][]string{
		"A B A": {"A", "B", "End2"}, "A A B": {"A", "A", "B"}, "B End B": {"B", "End", "End2"}, "": nil,
	} {
		text := head
		if form != "" {
			text += "form " + form + "\n"
		}
		text += "\n[A]\nchords | C | F |\nbass | 1 3 5 3 | % |\n\n[B]\nchords | G7 | =A2 |\n\n[End]\nchords | C |\n"
		tn, faults := Read(text)
		require.Empty(t, faults)
		before := Write(tn)
		end := tn.WithEnding()
		assert.Equal(t, before, Write(tn))
		assert.Equal(t, want, end.Form, form)
		again, faults := Read(Write(end))
		require.Empty(t, faults, form)
		was, now := tn.Unroll(), again.Unroll()
		require.Len(t, now, len(was), form)
		for i := range was {
			assert.Equal(t, was[i].Bar.Chords, now[i].Bar.Chords)
			assert.Equal(t, was[i].Bar.Bass, now[i].Bar.Bass)
		}
	}
}

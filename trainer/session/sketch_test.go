package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/lesson"
	"footfall/fretboard"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// What is shown of a task before it is begun: the degrees of its first chords on the bass
// strings, each found again from the tuning and the chord's notes (E2 and A2 are the MIDI
// notes 40 and 45, MIDI 1.0), or the line of its first bars.
func TestATaskIsSketched(t *testing.T) {
	d := session.Shelf(session.Options{Data: t.TempDir(), Settings: settings.Default(), Tell: func(string) {}})
	l := d.Lesson("major-or-minor")
	require.NotNil(t, l)
	tn, placed := d.Sketch(l, 0) // the 3 of C7, D7 and F7
	require.NotNil(t, tn)
	assert.Equal(t, "Smile and Frown", tn.Title, "the passage that the drill leads to")
	require.Len(t, placed, 3)
	open := map[int]int{6: 40, 5: 45}
	for i, want := range []struct {
		chord string
		notes map[int]string // by their MIDI numbers less the octaves
	}{{"C7", map[int]string{0: "1", 4: "3"}}, {"D7", map[int]string{2: "1", 6: "3"}}, {"F7", map[int]string{5: "1", 9: "3"}}} {
		assert.Equal(t, want.chord, placed[i].Says)
		found := map[string]bool{}
		for _, m := range placed[i].Marks {
			found[m.Text] = true
			assert.Equal(t, want.notes[(open[m.Place.String]+m.Place.Fret)%12], m.Text)
		}
		assert.Equal(t, map[string]bool{"1": true, "3": true}, found)
		assert.Len(t, placed[i].Marks, map[string]int{"C7": 6, "D7": 5, "F7": 6}[want.chord], "all places of the neck, up to fret 15")
	}
	tn, placed = d.Sketch(l, 2)
	require.Len(t, placed, 3)
	assert.Equal(t, "The line of A 1, over C7", placed[0].Says)
	var degrees []string
	for _, m := range placed[0].Marks {
		degrees = append(degrees, m.Text)
	}
	assert.Equal(t, []string{"1", "3"}, degrees)
	assert.Equal(t, "Smile and Frown", tn.Title)
	for _, l := range d.Lessons() {
		for n, task := range l.Tasks {
			tn, placed := d.Sketch(l, n)
			if task.Passage != nil && task.Passage.Layer != "free" {
				assert.NotNil(t, tn, l.Name)
				assert.NotEmpty(t, placed, l.Name)
			}
			for _, p := range placed {
				for _, m := range p.Marks {
					assert.Equal(t, fretboard.Plain, m.Role)
				}
			}
		}
	}
	free := &lesson.Lesson{Tasks: []lesson.Task{{Passage: &lesson.Passage{Tune: "no such tune", Layer: "free"}}}}
	tn, placed = d.Sketch(free, 0)
	assert.Nil(t, tn)
	assert.Empty(t, placed)
}

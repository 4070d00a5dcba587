package session_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/listen"
	"footfall/trainer/session"
)

// By ear a right note answers as soon as it is told, a wrong one when it has rung: a
// cough or a word is no answer. What rings on from the question before is none either.
func TestAWrongNoteByEarMustRing(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	s, err := d.Drill(session.Choice{Drill: "find", Chords: "first"}, false)
	require.NoError(t, err)
	question := func(told []session.Told) int {
		for _, e := range told {
			if q, ok := e.Event.(session.Question); ok {
				return fretboard.StandardNeck().MIDI(q.Ask.Place)
			}
		}
		t.Fatalf("no question in %+v", told)
		return 0
	}
	play := func(midi int, rang bool) []session.Told {
		c.set(c.now().Add(100 * time.Millisecond))
		return s.Do(session.Answer{Reply: session.ReplyOf(listen.Note{MIDI: midi, On: !rang, Rang: rang, Confidence: 1})})
	}
	judged := func(told []session.Told) memory.Verdict {
		require.NotEmpty(t, told)
		return told[0].Event.(session.Judged).Answer.Verdict
	}
	right := question(s.Begin())
	assert.Empty(t, play(right+1, false), "a wrong note waits")
	assert.Empty(t, play(right+2, true), "of which nobody was told")
	told := play(right+1, true)
	assert.Equal(t, memory.Missed, judged(told))
	right = question(told)
	told = play(right, false)
	assert.NotEqual(t, memory.Missed, judged(told))
	question(told)
	assert.Empty(t, play(right, true), "it answered the question before")
	assert.Equal(t, drills.Whole, session.ReplyOf(listen.Note{On: true, Channel: 1, MIDI: 40}).Proof)
}

package session

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/content/exchange"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/tunebook"
)

func adding(t *testing.T, text string) *Adding {
	t.Helper()
	a, err := Adds([]byte(text), "odd-one.txt", exchange.Options{}, fretboard.StandardNeck(), func(name string) (Tune, error) {
		tn, ok := content.Tune(name)
		if !ok {
			return Tune{}, errors.New("no such tune")
		}
		return Tune{Name: name, Tune: tn}, nil
	})
	require.NoError(t, err)
	return a
}

// TestAddingAsksAtMostFiveThings answers all that a bare chart leaves open.
func TestAddingAsksAtMostFiveThings(t *testing.T) {
	a := adding(t, "Dm7 G7   Cmaj7   Am7 D7 Em7   A7\n")
	var kinds []string
	for _, answer := range []string{"", "C", "140", "straight", "3: Am7 . D7 Em7; bar 1: Dm9 G13"} {
		ask, ok := a.Next()
		require.True(t, ok)
		kinds = append(kinds, ask.Kind)
		require.NoError(t, a.Answer(answer), ask.Kind)
	}
	ask, more := a.Next()
	assert.True(t, more && ask.Kind == AskBars, "the bars as they are now are to be looked at")
	require.NoError(t, a.Answer("Yes"))
	_, more = a.Next()
	assert.False(t, more)
	assert.Equal(t, []string{AskTitle, AskKey, AskTempo, AskSwing, AskBars}, kinds)
	assert.Equal(t, "Odd One", a.Tune.Title)
	assert.Equal(t, "C", a.Tune.Key.String())
	assert.Equal(t, 140.0, a.Tune.Tempo)
	assert.Equal(t, "Dm9 G13", tune.ChordCell(a.Tune.Unroll()[0].Bar.Chords))
	assert.Equal(t, "Am7 . D7 Em7", tune.ChordCell(a.Tune.Unroll()[2].Bar.Chords))

	composed, err := a.Compose()
	require.NoError(t, err)
	assert.True(t, composed)
	line, err := a.Tune.Line(fretboard.StandardNeck().BassRange())
	require.NoError(t, err)
	assert.NotEmpty(t, line)
	saved, err := a.Save(tunebook.In(t.TempDir()))
	require.NoError(t, err)
	f, err := tunebook.Read(saved.Path)
	require.NoError(t, err)
	back, faults := tune.Read(f.Text())
	require.Empty(t, faults)
	assert.Equal(t, tune.Write(a.Tune), tune.Write(back))
}

// Where no file can lie, whatever it is called, that is an error; a title that is longer
// than a file's name may be is none.
func TestAddingWhereNoFileCanLie(t *testing.T) {
	a := adding(t, "Dm7 G7   Cmaj7   Am7 D7\n")
	for _, answer := range []string{strings.Repeat("Ä long title ", 300), "", "", "", ""} {
		require.NoError(t, a.Answer(answer))
	}
	book := tunebook.In(t.TempDir())
	for range 2 {
		saved, err := a.Save(book)
		require.NoError(t, err)
		assert.FileExists(t, saved.Path)
	}
	none := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(none, nil, 0o600))
	_, err := a.Save(tunebook.In(filepath.Join(none, "tunes")))
	assert.Error(t, err)
}

// Tunes of one title that are added at once, as by several programs, all get a file.
func TestAddingAtOnce(t *testing.T) {
	a := adding(t, "Dm7 G7   Cmaj7   Am7 D7\n")
	for _, more := a.Next(); more; _, more = a.Next() {
		require.NoError(t, a.Answer(""))
	}
	folder := t.TempDir()
	paths := make([]string, 12)
	var all sync.WaitGroup
	for i := range paths {
		all.Go(func() {
			saved, err := a.Save(tunebook.In(folder))
			assert.NoError(t, err)
			paths[i] = saved.Path
		})
	}
	all.Wait()
	slices.Sort(paths)
	assert.Len(t, slices.Compact(paths), 12)
}

func TestAddingSaysWhatAnAnswerLacks(t *testing.T) {
	a := adding(t, "Dm7 G7   Cmaj7   Am7 D7\n")
	for _, c := range []struct{ wrong, right string }{
		{"", ""}, {"H", "C"}, {"1000", "90"}, {"perhaps", "swing"}, {"9: C", "y"},
	} {
		before, _ := a.Next()
		if c.wrong != "" {
			assert.Error(t, a.Answer(c.wrong))
			after, _ := a.Next()
			assert.Equal(t, before, after)
		}
		require.NoError(t, a.Answer(c.right))
	}
}

// A bar that repeats the one before it keeps its chords where that one gets others.
func TestAddingChangesOneBarAlone(t *testing.T) {
	a := adding(t, "| C F G7 | % | C |")
	for {
		ask, more := a.Next()
		if !more {
			break
		}
		answer := ""
		if ask.Kind == AskBars && tune.ChordCell(a.Tune.Unroll()[0].Bar.Chords) != "Am7" {
			answer = "1: Am7"
		}
		require.NoError(t, a.Answer(answer))
	}
	assert.Equal(t, "Am7", tune.ChordCell(a.Tune.Unroll()[0].Bar.Chords))
	back, faults := tune.Read(tune.Write(a.Tune))
	require.Empty(t, faults)
	assert.Equal(t, "C . F G7", tune.ChordCell(back.Unroll()[1].Bar.Chords))
}

// A letter that opens the only line of a chart, as section names do on charts written by
// hand (common practice, no source), may be a chord: that is asked. Where nobody is there
// it stays what it was read as.
func TestAddingAsksWhatALetterIs(t *testing.T) {
	const text = "Key: F\nA  F△9 | Bø E7b9 | A-7 | D7alt |\n"
	first := func(a *Adding) string { return tune.ChordCell(a.Tune.Unroll()[0].Bar.Chords) }
	for answer, want := range map[string]string{"chord": "A F△9", "C": "A F△9", "section": "F△9", "s": "F△9"} {
		a := adding(t, text)
		ask, _ := a.Next()
		require.Equal(t, AskLetter, ask.Kind)
		assert.Contains(t, ask.Says, "Line 2 begins with A:")
		assert.Error(t, a.Answer(""))
		assert.Error(t, a.Answer("perhaps"))
		require.NoError(t, a.Answer(answer))
		assert.Equal(t, want, first(a), answer)
		assert.Equal(t, "A", a.Tune.Sections[0].Name)
		ask, _ = a.Next()
		assert.NotEqual(t, AskLetter, ask.Kind, answer)
	}
	a := adding(t, text)
	for _, more := a.Next(); more; _, more = a.Next() {
		require.NoError(t, a.Proposed())
	}
	assert.Equal(t, "A F△9", first(a))

	a = adding(t, "C  F△9 | Bø E7b9 | A-7 | D7alt |\nrepeat\n\nD  G-7 | C7 | F△ | D7b9 |\n")
	for _, answer := range []string{"chord", "section"} {
		if ask, _ := a.Next(); ask.Kind == AskLetter {
			require.NoError(t, a.Answer(answer))
		}
	}
	ask, _ := a.Next()
	assert.NotEqual(t, AskLetter, ask.Kind, "what was said of the one line is not asked again")
}

func TestAddingAsksForTheChordsOfNotes(t *testing.T) {
	a, err := Adds([]byte("MThd"), "x.mid", exchange.Options{}, fretboard.StandardNeck(), func(string) (Tune, error) { return Tune{}, errors.New("no such tune") })
	require.NoError(t, err)
	ask, _ := a.Next()
	assert.Equal(t, AskChords, ask.Kind)
	assert.ErrorContains(t, a.Answer(""), "give the name")
	assert.ErrorContains(t, a.Answer("nothing"), "no such tune")
}

// A shape that was written for other hands or another instrument is left to the program.
func TestShapesThatNoHandHolds(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | C | C |\nbass | 1 . . . | % | % |\nhits | on . . . | % | % |\n" +
		"shapes | x-3-2-0-1-x . . . | x-3-12-9-1-x . . . | x-x-x-x-16-17 . . . |\n")
	require.Empty(t, faults)
	losses := Unheld(tn, fretboard.StandardNeck(), fretboard.DefaultHand())
	require.Len(t, losses, 1)
	assert.Contains(t, losses[0].What, "2 shapes cannot be held")
	assert.Contains(t, tune.Write(tn), "shapes | x-3-2-0-1-x . . . | * . . .")
	_, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	assert.NoError(t, err)
}

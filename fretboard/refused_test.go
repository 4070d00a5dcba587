package fretboard_test

import (
	"strings"
	"testing"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const pinnedTune = `tune   Pins
key    C
meter  4/4
tempo  100
swing  2:1
form   A A

[A]
chords | Dm7                 | G7                        | Cmaj7             | Cmaj7             |
bass   | 1 /b3 /5 \b3        | \1 /3 /5 \3               | /1 \7 \6 \5       | 1 - - -           |
hits   | on . on .           | on . on .                 | on . . .          | on . . .          |
shapes | 1st . 2nd .         | 3rd . 4th .               | 5th . . .         | 6th . . .         |
`

// Every place that cannot be arranged is told, once though the section comes twice, with what
// would do: the second shape of G7 has its root lowest over a line on the 5, and no hand holds
// frets 2 to 9.
func TestRefusedTellsEveryPlace(t *testing.T) {
	pins := strings.NewReplacer("1st", "10-x-10-10-10-x", "2nd", "*", "3rd", "3-x-3-4-3-x", "4th", "3-x-3-4-3-x", "5th", "x-3-9-4-5-x", "6th", "x-3-2-9-0-x")
	tn, faults := tune.Read(pins.Replace(pinnedTune))
	require.Empty(t, faults)
	var says []string
	for _, e := range fretboard.Refused(tn, fretboard.StandardNeck(), fretboard.DefaultHand()) {
		says = append(says, e.Error())
	}
	assert.Equal(t, []string{
		"bar 2 beat 3 (section A, bar 2): the shape 3-x-3-4-3-x has G2 lowest, but the bass line has D3 here; build the shape on the line's note, or write *",
		"bar 3 beat 1 (section A, bar 3): the shape x-3-9-4-5-x cannot be held with four fingers inside 105 mm; leave a note out, or write *",
		"bar 4 beat 1 (section A, bar 4): the shape x-3-2-9-0-x cannot be held with four fingers inside 105 mm; leave a note out, or write *",
	}, says)
}

// What is refused is just what Arrange refuses: any tune with any of some shapes on its hits is
// told of where it cannot be arranged, and of nothing where it can.
func TestRefusedIsWhatArrangeRefuses(t *testing.T) {
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		assert.Empty(t, fretboard.Refused(tn, fretboard.StandardNeck(), fretboard.DefaultHand()), name)
	}
	shapes := []string{"*", "*", "10-x-10-10-10-x", "x-5-7-5-6-x", "3-x-3-4-3-x", "x-5-3-4-3-x", "x-3-2-4-x-x", "x-3-x-4-5-x", "x-3-9-4-5-x", "8-x-9-9-8-x", "x-x-2-4-5-x"}
	rapid.Check(t, func(rt *rapid.T) {
		text := pinnedTune
		for _, place := range []string{"1st", "2nd", "3rd", "4th", "5th", "6th"} {
			text = strings.Replace(text, place, rapid.SampledFrom(shapes).Draw(rt, place), 1)
		}
		tn, faults := tune.Read(text)
		require.Empty(rt, faults)
		_, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), tune.BassHalves)
		refused := fretboard.Refused(tn, fretboard.StandardNeck(), fretboard.DefaultHand())
		require.Equal(rt, err != nil, len(refused) > 0, "%v, %v", err, refused)
		if err != nil {
			require.Contains(rt, said(refused), err.Error())
		}
	})
}

func said(refused []*fretboard.PathError) (says []string) {
	for _, e := range refused {
		says = append(says, e.Error())
	}
	return says
}

// A given shape with notes outside its chord is told; tensions of it are not, nor what slides
// over a bass that only passes.
func TestOutside(t *testing.T) {
	pins := strings.NewReplacer("1st", "10-x-10-11-10-x", "2nd", "*", "3rd", "3-x-3-4-4-x", "4th", "*", "5th", "*", "6th", "*")
	tn, faults := tune.Read(pins.Replace(pinnedTune))
	require.Empty(t, faults)
	all := fretboard.Outside(tn, fretboard.StandardNeck())
	require.Len(t, all, 2, "once each time that the section comes") // F# over Dm7
	assert.Equal(t, "3", all[0].Degrees[0].String())
	assert.Equal(t, []int{1, 1}, []int{all[0].SectionBar, all[0].At.Beat})
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		assert.Empty(t, fretboard.Outside(tn, fretboard.StandardNeck()), name)
	}
}

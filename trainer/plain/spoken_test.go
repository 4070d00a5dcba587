package plain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/drills"
	"footfall/fretboard"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// What stands in a sentence as musicians write it is said as they say it; words stay.
func TestSpoken(t *testing.T) {
	for text, want := range map[string]string{
		"Play the b7 of Bbmaj7 on string 5.":                "Play the flat seven of B flat major seven on string 5.",
		"It is B, the 3 of G7; the 1 is G.":                 "It is B, the 3 of G seven; the 1 is G.",
		"C is the b13 of Edim7; the bb7 is Db.":             "C is the flat thirteen of E diminished seven; the double flat seven is D flat.",
		"You hold x-13-x-12-14-x for F#m7b5.":               "You hold the shape from string 6: muted, 13, muted, 12, 14, muted, for F sharp minor seven flat five.",
		"Bb/F then Am, \"Cm7\" and D7?":                     "B flat major over F then A minor, \"C minor seven\" and D seven?",
		"A string, a Bass note, Each bar, Add more, Degree": "A string, a Bass note, Each bar, Add more, Degree",
		"2026-12-03, 3-2, 1 2+ | 3":                         "2026-12-03, 3-2, 1 2+ | 3",
		"":                                                  "",
		"It sounds 1 5 b7 3 of C7.":                         "It sounds 1, 5, flat seven, 3 of C seven.",
		"/2 /b3 \\1, then 5 3":                              "up 2, up flat three, down 1, then 5 3",
		"Listen: an m7 chord, a dim7 chord or an aug chord": "Listen: a minor seven chord, a diminished seven chord or an aug chord",
		"x-3-2-3 is it.":                                    "From string 4: muted, 3, 2, 3, is it.",
		"1: m7b5, 2: 7, 3: maj7":                            "1: minor seven flat five, 2: 7, 3: major seven",
		"G7(b9,#11) over C2.":                               "G seven flat nine sharp eleven over C add nine.",
	} {
		assert.Equal(t, want, spoken(text), text)
	}
}

// No question of any kind leaves a sign behind that is read letter by letter.
func TestQuestionsAreSpoken(t *testing.T) {
	d := session.Shelf(session.Options{Data: t.TempDir(), Settings: settings.Default(), Tell: func(string) {}})
	tn, err := d.Tune("lantern-street")
	assert.NoError(t, err)
	for _, k := range drills.Kinds {
		qs, err := k.Draw(drills.OfTune(tn.Name, tn.Tune, fretboard.StandardNeck()))
		assert.NoError(t, err)
		for i := 0; i < len(qs); i += 1 + len(qs)/50 {
			for w := range strings.FieldsSeq(spoken(qs[i].Ask().Prompt)) {
				assert.NotRegexp(t, `^[A-G]?[b#][0-9]|^[A-G][b#]|[0-9x]-[0-9x]-`, w, qs[i].Ask().Prompt)
			}
		}
	}
}

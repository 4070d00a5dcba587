package plain

import (
	"fmt"
	"strconv"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/session"
)

// arrange tells where to play a tune, a bar at a time. Behind its name may stand section B,
// bar 5, layer bass or school shells.
func (f *Face) arrange(d *session.Desk, with string) {
	name, given, err := behind(with, "section", "bar", "layer", "school")
	var t session.Tune
	if err == nil {
		t, err = d.Tune(name)
	}
	layer, school := fretboard.BassHalves, d.School
	if err == nil && given["layer"] != "" {
		layer, err = tune.ParseLayer(given["layer"])
	}
	if err == nil && given["school"] != "" {
		school, err = fretboard.ParseSchool(given["school"])
	}
	var a *fretboard.Arrangement
	if err == nil {
		a, err = fretboard.Arrange(t.Tune, d.Neck, d.Hand, layer, fretboard.InSchool(school))
	}
	if err != nil {
		f.sentence(err.Error())
		return
	}
	b := &bars{Face: f, a: a, form: t.Tune.Unroll()}
	f.say("%s, %s, %s. next, back, again, where, a section or a bar by its number; %s ends.", a.Tune.Title, spoken(a.Layer.Title()), harmony.Counted(len(b.form), "bar"), stopWord)
	if given["section"] != "" && !b.section(given["section"]) || given["bar"] != "" && !b.number(given["bar"]) {
		return
	}
	b.read()
}

const stopWord = "stop"

// bars are read one by one.
type bars struct {
	*Face
	a    *fretboard.Arrangement
	form []tune.FormBar
	at   int
}

// read says a bar, and goes where the player says, to the word stop.
func (b *bars) read() {
	for said := false; ; {
		if !said {
			for _, l := range barOf(b.a, b.form[b.at]) {
				b.say("%s", l)
			}
		}
		line, ok := b.line()
		if !ok {
			return
		}
		word, with, _ := strings.Cut(line, " ")
		switch said = false; strings.ToLower(word) {
		case stopWord, Quit:
			return
		case againWord:
		case "", "next":
			if said = b.at+1 == len(b.form); said {
				b.say("That was the last bar: back goes back, %s ends.", stopWord)
			} else {
				b.at++
			}
		case "back":
			if said = b.at == 0; said {
				b.say("This is the first bar.")
			} else {
				b.at--
			}
		case whereWord:
			at := b.form[b.at]
			b.say("Bar %d of %d, section %s bar %d.", at.Number, len(b.form), at.Section, at.SectionBar)
			said = true
		case "section":
			said = !b.section(with)
		case "bar":
			said = !b.number(with)
		default:
			if _, err := strconv.Atoi(word); err == nil {
				said = !b.number(word)
				break
			}
			said = true
			b.say("%q is none of next, back, again, where, section B, bar 5, or %s.", line, stopWord)
		}
	}
}

// section goes to a section's first bar. It reports false, and says why, where there is none.
func (b *bars) section(name string) bool {
	for i, fb := range b.form {
		if strings.EqualFold(fb.Section, name) {
			b.at = i
			return true
		}
	}
	b.say("There is no section %q; the form is %s.", name, strings.Join(b.a.Tune.FormOrder(), " "))
	return false
}

// number goes to a bar, counted through the form, or says why it cannot.
func (b *bars) number(text string) bool {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > len(b.form) {
		b.say("There is no bar %q: give 1 to %d, counted through the form.", text, len(b.form))
		return false
	}
	b.at = n - 1
	return true
}

// behind parts what stands behind a name, a word and its value each, from the name.
func behind(text string, names ...string) (name string, given map[string]string, err error) {
	words, given := strings.Fields(text), map[string]string{}
next:
	for len(words) > 2 {
		word, value := strings.ToLower(words[len(words)-2]), words[len(words)-1]
		for _, n := range names {
			if n == word {
				given[n] = value
				words = words[:len(words)-2]
				continue next
			}
		}
		break
	}
	if len(words) == 0 {
		return "", nil, fmt.Errorf("name a tune, such as: lantern-street")
	}
	return strings.Join(words, " "), given, nil
}

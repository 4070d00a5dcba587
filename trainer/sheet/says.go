package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// barsWords names a stretch of bars.
func barsWords(first, last int) string {
	if first == last {
		return fmt.Sprintf("bar %d", first)
	}
	return fmt.Sprintf("bars %d to %d", first, last)
}

// barSays puts a bar into words, for those who cannot see the drawing.
func barSays(m *measure) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Bar %d.", m.number)
	if m.words != "" {
		fmt.Fprintf(&b, " %s.", printable(m.words))
	}
	for _, c := range m.slots {
		if c.chord != "" {
			fmt.Fprintf(&b, " %s on beat %s.", c.chord, beatWord(c.half))
		}
	}
	for _, e := range m.notes {
		fmt.Fprintf(&b, " Beat %s: bass %s, %s, string %d fret %d, finger %s.", beatWord(e.At.Half()), spokenToken(m.bass[e.At.Half()]), e.Note.Note, e.Place.String, e.Place.Fret, fingerWord(e.Finger))
	}
	for _, e := range m.shapes {
		var beats []string
		for _, at := range e.Times {
			beats = append(beats, beatWord(at.Half()))
		}
		length := "short"
		if e.Held {
			length = "held"
		}
		fmt.Fprintf(&b, " Shape %s on beat %s, %s, %s", fretboard.FormatFrets(e.Frets), strings.Join(beats, ", "), length, layerTags[e.Layer])
		if e.Hit == tune.HitPush {
			fmt.Fprintf(&b, ", pushed to %s", e.Chord.Symbol)
		}
		b.WriteByte('.')
	}
	b.WriteString("\n")
	return b.String()
}

// spokenToken says a token of the line with its direction; the string it may be pinned
// to is said with its fret.
func spokenToken(token string) string {
	degree, _, _ := strings.Cut(token, "@")
	return spokenDirections.Replace(degree)
}

var spokenDirections = strings.NewReplacer("/", "up to ", `\`, "down to ")

var layerTags = map[fretboard.Layer]string{
	fretboard.Bass: "layer 1", fretboard.BassChanges: "layer 2", fretboard.BassHalves: "layer 3",
}

// beatWord counts a half beat as players do: "1", "2 and".
func beatWord(half int) string {
	beat, off := harmony.BeatOf(half)
	if off {
		return fmt.Sprint(beat, " and")
	}
	return strconv.Itoa(beat)
}

// facts are what stands under the title.
func facts(a *fretboard.Arrangement) []string {
	t := a.Tune
	swing := "swing " + t.Swing.String()
	switch {
	case t.Swing.Falling:
		swing = "swing, less the faster it gets"
	case t.Swing.Straight():
		swing = "straight"
	}
	list := []string{
		"Key " + t.Key.String(), t.Meters(), fmt.Sprintf("%g BPM", t.Tempo), swing,
	}
	if form := t.FormOrder(); len(form) > 1 {
		list = append(list, "form "+strings.Join(form, " "))
	}
	if !slices.Equal(a.Neck.Tuning, fretboard.Standard) {
		names := a.Neck.Tuning.OpenNames()
		slices.Reverse(names)
		list = append(list, "strings "+strings.Join(names, " ")+" from the low one up")
	}
	for i := range list {
		list[i] = printable(list[i])
	}
	return list
}

// legendPart is a part of the legend: its name and its lines.
type legendPart struct {
	Name    string
	Entries []entry
}

// entry is what is seen, and what it means.
type entry struct{ Sign, Means string }

// legend explains what occurs on the sheet, and nothing else.
func legend(a *fretboard.Arrangement) []legendPart {
	tokens, open := map[string]bool{}, false
	for _, b := range barsOf(a) {
		for k, token := range b.bass {
			switch {
			case token == "":
				continue
			case token != "-" && token != ".":
				note, _, pinned := strings.Cut(token, "@")
				tokens["@"] = tokens["@"] || pinned
				token = strings.TrimRight(note, "b#0123456789")
			}
			tokens[token] = true
			tokens["between"] = tokens["between"] || k%2 == 1
		}
		for _, e := range b.shapes {
			open = open || slices.Contains(e.Frets, 0)
		}
	}
	short, tied, stays, pushes, off := false, false, false, false, false
	for _, strokes := range rhythm(a) {
		for _, s := range strokes {
			short, pushes = short || s.short, pushes || s.push != ""
			tied, stays = tied || s.tied == ringing, stays || s.tied == silent
			off = off || s.half%2 == 1 && !s.rest
		}
	}
	layers := legendPart{"Layers", []entry{
		{"1", "the bass line alone"},
		{"2", "and the shapes in a solid frame, one for each chord"},
		{"3", "and the shapes in a dashed frame, every other hit"},
	}[:a.Layer+1]}
	bass := legendPart{Name: "Bass line"}
	bass.add(true, "1 b3", "degrees, from the root of the chord")
	bass.add(tokens["/"] || tokens[`\`], "↑ ↓", "rises, falls to the next such note")
	bass.add(tokens[""], "5", "bare: the nearest such note; the first of all is the lowest")
	bass.add(tokens["@"], "5@6", "on that string")
	bass.add(tokens["-"], "-", "hold the note before")
	bass.add(tokens["."], ".", "rest")
	bass.add(tokens["between"], "between", "two beats: on the offbeat, "+offBeatWords(a.Tune.Swing))
	bass.add(true, "lines", "the strings, low one lowest, with the frets; below them the fingers, 1 index to 4 little, 0 open")
	shapes := legendPart{Name: "Shapes"}
	shapes.add(true, "neck", neckWords(a.Neck))
	shapes.add(true, "filled", "the note of the bass line")
	shapes.add(open, "outside", "before the nut: an open string")
	shapes.add(true, "slash", "strike it: thick for a beat or less, hollow for two beats or more")
	shapes.add(short, "dot", "under a slash: let it go at once")
	shapes.add(tied, "tie", "let it ring on; a push rings into its beat, where its bass note follows")
	shapes.add(stays, "dashed", "a short push: the hand stays, its bass note follows on the beat")
	shapes.add(pushes, "flag, C7", "a push: on the offbeat, sounding the chord of the next beat")
	shapes.add(off, "offbeat", offBeatWords(a.Tune.Swing))
	if a.Layer == fretboard.Bass {
		return []legendPart{layers, bass}
	}
	return []legendPart{layers, bass, shapes}
}

func (p *legendPart) add(when bool, sign, means string) {
	if when {
		p.Entries = append(p.Entries, entry{sign, means})
	}
}

func offBeatWords(swing harmony.Swing) string {
	if swing.Straight() {
		return "in the middle of the beat"
	}
	if swing.Falling {
		return "swung, less the faster it gets"
	}
	return "swung " + swing.String()
}

func neckWords(n fretboard.Neck) string {
	side := "left"
	if n.LeftHanded {
		side = "right"
	}
	return "low string at the bottom, nut to the " + side + ", a degree on each string that sounds; the number is the fret above it"
}

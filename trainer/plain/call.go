package plain

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// wordsPerSecond is how fast a bar is spoken, so that it is over before the bar is that
// it is said in: 180 words a minute, the upper end of usual speech (from memory; screen
// readers speak faster).
const wordsPerSecond = 3

// struck tells when shapes are struck in a bar, and which they are with when; both are ""
// where none is.
type struck func(bar int) (hits, shapes string)

// struckIn tells what an arrangement strikes.
func struckIn(a *fretboard.Arrangement) struck {
	return func(bar int) (string, string) {
		var hits, shapes []string
		for i := range a.Events {
			e := &a.Events[i]
			if e.Kind != fretboard.ShapeEvent || e.At.Bar != bar {
				continue
			}
			var times []string
			for _, at := range e.Times {
				times = append(times, beatWords(at))
			}
			hits = append(hits, times...)
			shapes = append(shapes, strings.Join(times, ", ")+" "+shapeSaid(fretboard.FormatFrets(e.Frets), false, true))
		}
		if hits == nil {
			return "", ""
		}
		return "hits on " + strings.Join(hits, ", "), "hits on " + strings.Join(shapes, "; ")
	}
}

func beatWords(at tune.Position) string {
	if at.Off {
		return fmt.Sprintf("the and of %d", at.Beat)
	}
	return fmt.Sprint(at.Beat)
}

// callOf says a bar in as many words as fit a time: with its number, its chords, its bass
// degrees and their directions, and what is struck; without the shapes, the bass, the
// number; of a bar in which nothing is struck without the number, the directions, the
// degrees; at last the roots of the chords alone. before is the bar said last, of which
// the same is not said again. without says what is left out, "" for nothing.
func callOf(form []tune.FormBar, strikes struck, bar, before int, in time.Duration) (words, without string) {
	fb := form[bar-1]
	hits, shapes := strikes(bar)
	if before > 0 && bar == before+1 && sameBars(&form[before-1], &fb) {
		if _, same := strikes(before); same == shapes {
			return "The same again.", ""
		}
	}
	number := fmt.Sprintf("Bar %d, ", fb.Number)
	line, chords := spokenBar(fb, true, true), spokenBar(fb, false, false)
	const rest = "the hits and the shapes"
	said := [][2]string{{number + line, ""}, {line, "bar numbers"}, {spokenBar(fb, true, false), "directions of the bass"}, {number + chords, "the bass line"}, {chords, "the bass line"}}
	if hits != "" {
		for i := range said {
			said[i][1] = strings.TrimPrefix(said[i][1]+", "+rest, ", ")
		}
		said = append([][2]string{
			{number + line + "; " + shapes, ""}, {number + line + "; " + hits, "the shapes"}, {number + chords + "; " + hits, "the bass line and the shapes"},
			{chords + "; " + hits, "the bass line and the shapes"},
		}, said...)
	}
	for _, s := range said {
		if words, without = s[0], s[1]; fits(words, in) {
			return sentenceOf(words), without
		}
	}
	if roots := spokenRoots(fb); len(strings.Fields(roots)) < len(strings.Fields(words)) {
		words = roots
	}
	return sentenceOf(words), without
}

// omitted is what a call may leave out, the least first.
var omitted = []string{
	"", "bar numbers", "the shapes", "directions of the bass", "the bass line", "the hits and the shapes", "bar numbers, the hits and the shapes",
	"directions of the bass, the hits and the shapes", "the bass line and the shapes", "the bass line, the hits and the shapes",
}

// leftOut says once, before it begins, what of the bars of a pass there is no time to say.
func leftOut(form []tune.FormBar, strikes struck, bars take.Bars, tempo float64) string {
	most := ""
	for bar := max(1, bars.First); bar <= len(form) && (bars.Last == 0 || bar <= bars.Last); bar++ {
		in := time.Duration(form[bar-1].Meter.Quarters() * float64(time.Minute) / tempo)
		if _, without := callOf(form, strikes, bar, 0, in); slices.Index(omitted, without) > slices.Index(omitted, most) {
			most = without
		}
	}
	if most == "" {
		return ""
	}
	return fmt.Sprintf("At %g BPM there is no time to say %s in every bar; %s and the tune tells all, bar by bar.", tempo, most, neckWord)
}

func fits(words string, in time.Duration) bool {
	return float64(len(strings.Fields(words))) <= wordsPerSecond*in.Seconds()
}

func sentenceOf(words string) string { return strings.ToUpper(words[:1]) + words[1:] + "." }

// sameBars reports whether two bars have the same chords and the same line.
func sameBars(a, b *tune.FormBar) bool {
	return a.Meter == b.Meter && reflect.DeepEqual(a.Bar.Chords, b.Bar.Chords) && reflect.DeepEqual(a.Bar.Bass, b.Bar.Bass)
}

// spokenBar says a bar's chords, and under each the degrees of the bass where they are
// wanted, with their directions.
func spokenBar(fb tune.FormBar, degrees, directions bool) string {
	var parts []string
	under := ""
	for i := range fb.Meter.Beats() {
		for _, off := range []bool{false, true} {
			if fb.Bar.ChangesAt(fb.Meter, i+1, off) {
				c, _ := fb.Bar.ChordAt(fb.Meter, i+1, off)
				parts, under = append(parts, c.Spoken()), ": "
			}
			if !degrees || i >= len(fb.Bar.Bass) || off && !fb.Bar.Bass[i].Split {
				continue
			}
			token := fb.Bar.Bass[i].First
			if off {
				token = fb.Bar.Bass[i].Second
			}
			if token.Kind != tune.BassNote || len(parts) == 0 {
				continue
			}
			word := token.Degree.Spoken()
			if directions {
				word = [...]string{"", "up ", "down "}[token.Direction] + word
			}
			parts[len(parts)-1] += under + word
			under = ", "
		}
	}
	return strings.Join(parts, "; ")
}

// spokenRoots says the roots of a bar's chords.
func spokenRoots(fb tune.FormBar) string {
	var roots []string
	for _, c := range fb.Bar.Chords {
		if c.Chord.None {
			roots = append(roots, c.Chord.Spoken())
		} else {
			roots = append(roots, c.Chord.Root.Spoken())
		}
	}
	return strings.Join(roots, ", ")
}

package command

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
	"footfall/trainer/guard/racetest"
)

// hitTune is four bars of one chord each, in quarters, with hits.
func hitTune(hits string) string {
	return "tune T\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | Dm7 | G7 | Cmaj7 | A7 |\nbass | 1 \\5 /1 /3 | \\1 /3 /5 \\3 | /1 \\5 \\3 /5 | 1 /3 /5 \\3 |\n" + hits
}

// strikesOf reads the shapes of arrange --json: bar and beats, chord, frets.
func strikesOf(t *testing.T, text string, args ...string) []arrangedEvent {
	t.Helper()
	out, errs, code := runOn(strings.NewReader(text), append([]string{"arrange", "-", "--json"}, args...)...)
	require.Zero(t, code, errs)
	var a arranged
	require.NoError(t, json.Unmarshal([]byte(out), &a))
	return slices.DeleteFunc(a.Events, func(e arrangedEvent) bool { return e.Kind != "shape" })
}

// ticksOf returns where notes start in a MIDI file that sheet wrote, in quarters,
// by string: its track's channel counts strings from 0.
func ticksOf(t *testing.T, text string, args ...string) map[float64][]uint8 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "t.mid")
	_, errs, code := runOn(strings.NewReader(text), append([]string{"sheet", "-", "-o", path}, args...)...)
	require.Zero(t, code, errs)
	file, err := smf.ReadFile(path)
	require.NoError(t, err)
	at := map[float64][]uint8{}
	for _, track := range file.Tracks {
		tick := uint32(0)
		for _, e := range track {
			tick += e.Delta
			var channel, key, velocity uint8
			if e.Message.GetNoteStart(&channel, &key, &velocity) && channel != 9 {
				quarter := float64(tick/30) / 32 // a strum is one strike
				at[quarter] = append(at[quarter], channel+1)
			}
		}
	}
	return at
}

// struckAbove lists the quarters at which strings 4 to 1 sound.
func struckAbove(at map[float64][]uint8) (out []float64) {
	for quarter, strings := range at {
		if slices.ContainsFunc(strings, func(s uint8) bool { return s <= 4 }) {
			out = append(out, quarter)
		}
	}
	slices.Sort(out)
	return out
}

func TestHitsThatRestSoundNowhere(t *testing.T) {
	text := hitTune("hits | . . . . | % | % | % |\n")
	for _, layer := range []string{"bass", "bass+changes", "bass+halves"} {
		assert.Empty(t, strikesOf(t, text, "--layer", layer))
		assert.Empty(t, struckAbove(ticksOf(t, text, "--layer", layer)))
	}
	sheet, _, _ := runOn(strings.NewReader(text), "sheet", "-", "-o", "-")
	assert.NotContains(t, sheet, "hit ")
	page, _, _ := runOn(strings.NewReader(text), "sheet", "-", "-o", "-.html")
	assert.NotContains(t, page, `class="shape"`)
	xmlText, _, _ := runOn(strings.NewReader(text), "sheet", "-", "-o", "-.musicxml")
	assert.NotContains(t, xmlText, "<frame>")
	assert.NotContains(t, xmlText, "unpitched")
}

// A charleston is beat 1 and the and of 2, whether a row, a line or a flag has it.
func TestCharlestonIsTwoHits(t *testing.T) {
	for name, run := range map[string]struct {
		text, by string
		args     []string
	}{
		"row":  {hitTune("hits | on and . . | % | % | % |\n"), "written", nil},
		"line": {strings.Replace(hitTune(""), "[A]", "comping charleston\n[A]", 1), "comping", nil},
		"flag": {hitTune("hits | . . . both | % | % | % |\n"), "comping", []string{"--comping", "charleston"}},
	} {
		shapes := strikesOf(t, run.text, run.args...)
		require.Len(t, shapes, 8, name)
		for i, e := range shapes {
			assert.Equal(t, []any{i/2 + 1, run.by}, []any{e.Bar, e.By})
			if i%2 == 0 {
				assert.Equal(t, []any{1.0, "on", []float64{1}}, []any{e.Beat, e.Hit, e.Strikes})
			} else {
				assert.Equal(t, []any{2.0, "and", []float64{2.5}}, []any{e.Beat, e.Hit, e.Strikes})
			}
		}
		assert.Equal(t, []float64{0, 1.5, 4, 5.5, 8, 9.5, 12, 13.5}, struckAbove(ticksOf(t, run.text, run.args...)), name)
		changes := strikesOf(t, run.text, append(run.args, "--layer", "bass+changes")...)
		require.Len(t, changes, 4, name)
	}
	_, errs, code := runOn(strings.NewReader(hitTune("")), "arrange", "-", "--comping", "bossa")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, `there is no rhythm "bossa"; write one of charleston, reverse-charleston, two-and-four, four, upbeats, pushed, ballad`)
}

// A push sounds the next chord, half a beat before its bass note, everywhere.
func TestAPushSoundsTheNextChord(t *testing.T) {
	text := hitTune("hits | on . . push | . . . push- | . . . . | . . . push |\n")
	shapes := strikesOf(t, text)
	require.Len(t, shapes, 4)
	first, push, held, round := shapes[0], shapes[1], shapes[2], shapes[3]
	assert.Equal(t, []any{"Dm7", 1.0, "on"}, []any{first.Chord, first.Beat, first.Hit})
	assert.Equal(t, []any{"G7", "push", 1, 4.0, []float64{4.5}, false}, []any{push.Chord, push.Hit, push.Bar, push.Beat, push.Strikes, *push.Held})
	assert.Equal(t, []any{"Cmaj7", "push", 2, true}, []any{held.Chord, held.Hit, held.Bar, *held.Held})
	assert.Equal(t, []any{"Dm7", "push", 4}, []any{round.Chord, round.Hit, round.Bar}, "after the last bar comes the first")

	out, _, _ := runOn(strings.NewReader(text), "arrange", "-", "--json")
	var a arranged
	require.NoError(t, json.Unmarshal([]byte(out), &a))
	for _, e := range a.Events {
		if e.Kind == "bass" && e.Bar == 2 && e.Beat == 1 {
			assert.Equal(t, []any{e.Degree, e.Note, e.String, e.Fret}, []any{push.Degree, push.Note, push.String, push.Fret}, "the coming bass note, the hand there")
			assert.Empty(t, e.Strikes)
		}
	}

	at := ticksOf(t, text)
	assert.Equal(t, []float64{0, 3.5, 7.5, 15.5}, struckAbove(at))
	upper := 0
	for i, f := range strings.Split(push.Frets, "-") {
		if f != "x" && 6-i != push.String {
			upper++
		}
	}
	assert.Len(t, at[3.5], upper, "its bass note is not struck with it")
	assert.Contains(t, at[4], uint8(push.String), "but on its own beat")

	path := filepath.Join(t.TempDir(), "take.mid")
	_, errs, code := runOn(strings.NewReader(text), "sheet", "-", "-o", path)
	require.Zero(t, code, errs)
	tunePath := filepath.Join(t.TempDir(), "t.tune")
	require.NoError(t, os.WriteFile(tunePath, []byte(text), 0o600))
	sc := score(t, nil, tunePath, "--take", path)
	assert.Equal(t, []int{20, 20, 0, 0}, []int{sc.Expected, sc.Matched, sc.Missed, sc.Extra})
	for _, e := range sc.Events {
		if e.Kind == "shape" && e.Bar == 1 && e.Beat == 4.5 {
			assert.Equal(t, "G7", e.Chord)
		}
	}

	sheet, _, _ := runOn(strings.NewReader(text), "sheet", "-", "-o", "-")
	assert.Contains(t, sheet, "push")
	page, _, _ := runOn(strings.NewReader(text), "sheet", "-", "-o", "-.html")
	assert.Contains(t, page, ">push G7<")
	assert.Contains(t, page, ">push- Cmaj7<")
	assert.Contains(t, page, ", pushed to G7.")
	plain, _, _ := runOn(strings.NewReader(text), "arrange", "-", "--plain")
	spoken := strings.NewReplacer("x", "muted", "-", ", ").Replace(push.Frets)
	assert.Contains(t, plain, "Beat 4, pushed: on the offbeat before its bass note, shape from string 6: "+spoken+". ")
}

// In MusicXML a push is an eighth on the offbeat, on the strings above the bass note
// of the chord that it leads to, whose symbol stays on its own beat; the notation alone
// gives the push and its shape.
func TestAPushInMusicXML(t *testing.T) {
	text := hitTune("hits | on . . push | . . . . | . . . . | . . . . |\n")
	push := strikesOf(t, text)[1]
	out, errs, code := runOn(strings.NewReader(text), "sheet", "-", "-o", "-.musicxml")
	require.Zero(t, code, errs)
	var d struct {
		Measures []struct {
			Roots []string `xml:"harmony>root>root-step"`
			Notes []struct {
				Voice  int        `xml:"voice"`
				Type   string     `xml:"type"`
				Chord  []struct{} `xml:"chord"`
				Rest   []struct{} `xml:"rest"`
				String int        `xml:"notations>technical>string"`
				Fret   int        `xml:"notations>technical>fret"`
			} `xml:"note"`
		} `xml:"part>measure"`
	}
	require.NoError(t, xml.Unmarshal([]byte(out), &d))
	assert.Equal(t, []string{"D"}, d.Measures[0].Roots)
	assert.Equal(t, []string{"G"}, d.Measures[1].Roots)
	var values, frets []string
	for _, n := range d.Measures[0].Notes {
		if n.Voice == 1 && len(n.Chord) == 0 {
			value := n.Type
			if len(n.Rest) > 0 {
				value = "rest " + value
			}
			values = append(values, value)
		}
		if n.Voice == 5 && n.Type == "eighth" {
			frets = append(frets, fmt.Sprint(n.Fret))
		}
	}
	assert.Equal(t, []string{"quarter", "rest half", "rest eighth", "eighth"}, values)
	assert.NotEmpty(t, frets)
	for _, fret := range frets {
		assert.Contains(t, strings.Split(push.Frets, "-"), fret)
	}
	again, errs, code := runOn(strings.NewReader(out), "tune", "import", "-")
	require.Zero(t, code, errs)
	assert.Contains(t, again, "on . . push")
	stripped := strings.Replace(out, "footfall-tune", "other", 1)
	again, errs, code = runOn(strings.NewReader(stripped), "tune", "import", "-")
	require.Zero(t, code, errs)
	assert.Contains(t, again, "on . . push")
	assert.Contains(t, again, ". . "+push.Frets+" |")
}

// Every rhythm runs over every tune of the house, which are in all kinds of meter,
// by the command; what it strikes is what the tune's rhythm says.
func TestEveryRhythmByCommand(t *testing.T) {
	racetest.Alone(t)
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		for c := tune.Charleston; c <= tune.Ballad; c++ {
			if testing.Short() && int(c)%3 != len(name)%3 {
				continue
			}
			out, errs, code := runOn(nil, "arrange", name, "--json", "--comping", c.String())
			require.Zero(t, code, "%s %s: %s", name, c, errs)
			var a arranged
			require.NoError(t, json.Unmarshal([]byte(out), &a))
			var want, got []string
			for _, s := range tn.WithComping(c).Strikes(tune.BassHalves) {
				want = append(want, fmt.Sprintln(s.At.Bar, countedBeat(s.At), s.Hit, s.Held, s.Chord))
			}
			for _, e := range a.Events {
				if e.Kind == "shape" {
					got = append(got, fmt.Sprintln(e.Bar, e.Beat, e.Hit, *e.Held, e.Chord))
				}
			}
			require.Equal(t, want, got, "%s %s", name, c)
		}
	}
}

// A tune whose sections are in four, in three and in six eighths goes through it
// all: bar lines lie at 0, 2, 3.5 and 5 s at 120.
func TestSectionsOfThreeMeters(t *testing.T) {
	text := strings.Replace(tunetest.OddSteps, "2:1", "1:1", 1)
	shapes := strikesOf(t, text)
	var got []string
	for _, e := range shapes {
		got = append(got, fmt.Sprint(e.Bar, " ", e.Strikes, " ", e.Chord))
	}
	assert.Equal(t, []string{"1 [1] Cmaj7", "1 [4.5] Dm7", "2 [2] Dm7", "2 [3.5] G7", "3 [1] G7", "3 [2] G7", "3 [2.5] G7"}, got)
	at := ticksOf(t, text)
	assert.Equal(t, []float64{0, 3.5, 5, 6.5, 7, 8.5, 9.25}, struckAbove(at), "in quarters: four, three, and two of one and a half")
	assert.Contains(t, at, 9.25, "the seventh in the second half of a dotted beat")

	dir := t.TempDir()
	path := filepath.Join(dir, "odd.tune")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	mid := filepath.Join(dir, "odd.mid")
	_, errs, code := runOn(nil, "sheet", path, "-o", mid)
	require.Zero(t, code, errs)
	file, err := smf.ReadFile(mid)
	require.NoError(t, err)
	var meters []string
	tick := uint32(0)
	for _, e := range file.Tracks[0] {
		tick += e.Delta
		var upper, lower uint8
		if e.Message.GetMetaMeter(&upper, &lower) {
			meters = append(meters, fmt.Sprintf("%d/%d at %d", upper, lower, tick/960))
		}
	}
	assert.Equal(t, []string{"4/4 at 0", "3/4 at 4", "6/8 at 7"}, meters)

	sc := score(t, nil, path, "--take", mid)
	assert.Equal(t, []int{17, 17, 0, 0}, []int{sc.Expected, sc.Matched, sc.Missed, sc.Extra})
	last := sc.Events[len(sc.Events)-1]
	assert.InDelta(t, 4.625, last.At, 1e-6)

	for _, ending := range []string{"-", "-.html", "-.svg"} {
		sheet, errs, code := runOn(nil, "sheet", path, "-o", ending)
		require.Zero(t, code, errs)
		assert.Contains(t, sheet, "4/4, B 3/4, C 6/8")
		assert.Contains(t, sheet, "2  3/4")
		assert.Contains(t, sheet, "3  6/8")
	}
	document, errs, code := runOn(nil, "tune", "export", path)
	require.Zero(t, code, errs)
	assert.Equal(t, 3, strings.Count(document, "<time>"))
	own := strings.Index(document, "<miscellaneous>")
	stripped := document[:own] + document[strings.Index(document, "</miscellaneous>")+len("</miscellaneous>"):]
	for _, d := range []string{document, stripped} {
		back, errs, code := runOn(strings.NewReader(d), "tune", "import", "-")
		require.Zero(t, code, errs)
		assert.Contains(t, back, "[B]\nmeter  3/4\n")
		assert.Contains(t, back, "[C]\nmeter  6/8\n")
		assert.Contains(t, back, `| \1 /5,b7 `)
	}
	plain, _, _ := runOn(nil, "tune", "show", path, "--plain")
	assert.Contains(t, plain, "4/4, B 3/4, C 6/8")
}

func TestOldHitsByCommand(t *testing.T) {
	text := "tune T\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | C |\nbass | 1 3 5 3 |\nhits | on . and . |\nshapes | . . . * |\n"
	out, errs, code := runOn(strings.NewReader(text), "tune", "format", "-", "--old-hits")
	require.Zero(t, code, errs)
	assert.Contains(t, out, "hits   | on * and on |")
	data := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(data, "tunes"), 0o700))
	path := filepath.Join(data, "tunes", "t.tune")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	for i := range 2 {
		out, errs, code := runOn(nil, "arrange", "t", "--json", "--data", data)
		require.Zero(t, code, errs)
		assert.Equal(t, i == 0, strings.Contains(errs, "rewritten, to sound as before: 1 tune of yours."), errs)
		var a arranged
		require.NoError(t, json.Unmarshal([]byte(out), &a))
		var struck [][]float64
		for _, e := range a.Events {
			if e.Kind == "shape" {
				struck = append(struck, e.Strikes)
			}
		}
		assert.Equal(t, [][]float64{{1}, {3.5}, {4}}, struck)
	}
	kept, err := os.ReadFile(filepath.Join(data, "tunes", "first-build", "t.tune"))
	require.NoError(t, err)
	assert.Equal(t, text, string(kept))
}

// Written hits that leave the hand no time are told, and are no fault.
func TestCheckTellsOfHitsThatComeTooSoon(t *testing.T) {
	text := "tune Rush\nkey C\nmeter 4/4\ntempo %d\n[A]\nchords | Dm7 . . Abmaj7 |\nbass | 1 /3 \\1 1 |\nhits | . . both both |\n"
	out, errs, code := runOn(strings.NewReader(fmt.Sprintf(text, 200)), "tune", "check", "-")
	require.Zero(t, code)
	assert.Contains(t, out, "no faults")
	assert.Equal(t, "footfall: standard input: section A, bar 1, beat 4: the hit comes 0.15 s after the one before, too soon for the hand to get there at 200 BPM\n", errs)
	_, errs, _ = runOn(strings.NewReader(fmt.Sprintf(text, 60)), "tune", "check", "-")
	assert.Empty(t, errs)

	split := "tune Split\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | Gm7 | Abmaj7 |\nbass | 1 /b3 /5 %s | \\1 /3 /5 \\3 |\nhits | on . . push | on . . . |\n"
	_, errs, code = runOn(strings.NewReader(fmt.Sprintf(split, "\\1,/1")), "tune", "check", "-")
	require.Zero(t, code)
	assert.Equal(t, "footfall: standard input: section A, bar 1, beat 4.5: the push falls together with a bass note of the split beat, and no hand holds both\n", errs)
	_, errs, _ = runOn(strings.NewReader(fmt.Sprintf(split, "/1")), "tune", "check", "-")
	assert.Empty(t, errs)
	for _, name := range content.TuneNames() {
		_, errs, code := runOn(nil, "tune", "check", name)
		require.Zero(t, code)
		assert.Empty(t, errs)
	}
}

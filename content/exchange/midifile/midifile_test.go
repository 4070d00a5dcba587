package midifile

import (
	"bytes"
	"cmp"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"footfall/content"
	"footfall/content/exchange/chart"
	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"
)

// The two low strings of standard tuning from open to fret 15.
const low, high = 40, 60

const perQuarter = 480

// event is a message and its time in ticks.
type event struct {
	at  int64
	msg []byte
}

// track makes a track of events in any order.
func track(events ...event) smf.Track {
	var t smf.Track
	at := int64(0)
	for len(events) > 0 {
		first := 0
		for i, e := range events {
			if e.at < events[first].at {
				first = i
			}
		}
		t.Add(uint32(events[first].at-at), events[first].msg)
		at = events[first].at
		events = append(events[:first:first], events[first+1:]...)
	}
	t.Close(0)
	return t
}

func file(t testing.TB, tracks ...smf.Track) []byte {
	f := smf.NewSMF1()
	f.TimeFormat = smf.MetricTicks(perQuarter)
	for _, tr := range tracks {
		require.NoError(t, f.Add(tr))
	}
	var out bytes.Buffer
	_, err := f.WriteTo(&out)
	require.NoError(t, err)
	return out.Bytes()
}

// played is a tune's line as a bassist might play it: swung, each note up to 25
// ms off and let go early, by an eighth of a beat at most, an octave down.
func played(t testing.TB, tn *tune.Tune, octave int) []event {
	line, err := tn.Line(tune.Within(low, high))
	require.NoError(t, err)
	chance := rand.New(rand.NewPCG(1, 2))
	ticks := tn.Meter.BeatQuarters() * perQuarter
	at := func(bar, beat int, off bool) float64 {
		place := float64((bar-1)*tn.Meter.Beats() + beat - 1)
		if off {
			place += float64(tn.Swing.Ratio.Long) / float64(tn.Swing.Ratio.Long+tn.Swing.Ratio.Short)
		}
		return place * ticks
	}
	out := []event{{0, smf.MetaTrackSequenceName("Walking Bass")}}
	for i, n := range line {
		on := at(n.At.Bar, n.At.Beat, n.At.Off)
		end := on + float64(n.Halves)*ticks/2
		if i+1 < len(line) && n.Halves%2 == 1 {
			next := line[i+1].At
			end = min(end+ticks/6, at(next.Bar, next.Beat, next.Off))
		}
		jitter := (chance.Float64() - 0.5) * 50 * tn.Tempo / 60_000 * perQuarter
		start := int64(max(0, on+jitter))
		stop := int64(end - min((end-on)*0.15, ticks/8))
		key := uint8(n.Pitch.MIDI() + octave)
		out = append(out, event{start, midi.NoteOn(0, key, 90)}, event{max(stop, start+1), midi.NoteOff(0, key)})
	}
	return out
}

// without takes the bass rows out of a tune.
func without(tn *tune.Tune) *tune.Tune {
	for i := range tn.Sections {
		for j := range tn.Sections[i].Bars {
			tn.Sections[i].Bars[j].Bass = nil
			tn.Sections[i].Bars[j].Copies[tune.BassRow] = tune.Copy{}
		}
	}
	return tn
}

// TestReadPlayedLines plays the built-in tunes' lines into files, unevenly, and
// reads them against the tunes' chords: the same pitches on the same half beats.
func TestReadPlayedLines(t *testing.T) {
	for _, name := range content.TuneNames() {
		for _, octave := range []int{0, -12} {
			tn, _ := content.Tune(name)
			data := file(t, track(event{0, smf.MetaMeter(uint8(tn.Meter.Upper), uint8(tn.Meter.Lower))}), track(played(t, tn, octave)...))
			chords, _ := content.Tune(name)
			got, losses, err := Read(data, without(chords), low, high)
			require.NoError(t, err, name)
			want, err := tn.Line(tune.Within(low, high))
			require.NoError(t, err)
			line, err := got.Line(tune.Within(low, high))
			require.NoError(t, err)
			require.Len(t, line, len(want), name)
			for i := range want {
				assert.Equal(t, want[i].At, line[i].At, name)
				assert.Equal(t, want[i].Halves, line[i].Halves, name)
				assert.Equal(t, want[i].Pitch.MIDI(), line[i].Pitch.MIDI(), "%s bar %d beat %d", name, want[i].At.Bar, want[i].At.Beat)
			}
			assert.Equal(t, tn.FormOrder(), got.FormOrder(), name)
			assert.Equal(t, tn.Title, got.Title)
			if octave == 0 {
				assert.Empty(t, losses, name)
			} else {
				assert.Equal(t, "the bass line stands +12 half steps from where it was, so that it starts as low as the bass strings allow", losses[0].What)
			}
			back, faults := tune.Check(tune.Write(got), tune.Within(low, high))
			require.Empty(t, faults)
			assert.Equal(t, tune.Write(got), tune.Write(back))
		}
	}
}

// TestChoice has files with more than a bass in them.
func TestChoice(t *testing.T) {
	chords := func() *tune.Tune {
		tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 90\n[A]\nchords | C | % |\n")
		require.Empty(t, faults)
		return tn
	}
	name := func(s string) event { return event{0, smf.MetaTrackSequenceName(s)} }
	note := func(at int64, channel, key uint8) []event {
		return []event{{at, midi.NoteOn(channel, key, 80)}, {at + 400, midi.NoteOff(channel, key)}}
	}
	melody := track(append([]event{name("Melody")}, note(0, 1, 72)...)...)
	piano := track(append([]event{name("Left hand")}, note(0, 2, 43)...)...)
	drums := track(append([]event{name("Kit")}, note(0, 9, 36)...)...)
	named := track(append([]event{name("Upright Bass")}, note(480, 3, 40)...)...)
	program := track(append([]event{name("x"), {0, midi.ProgramChange(4, 33)}}, note(960, 4, 43)...)...)

	row := func(tracks ...smf.Track) (string, []transcribe.Loss) {
		got, losses, err := Read(file(t, tracks...), chords(), low, high)
		require.NoError(t, err)
		return got.Sections[0].Bars[0].Bass[0].String() + " " + got.Sections[0].Bars[0].Bass[1].String() + " " + got.Sections[0].Bars[0].Bass[2].String(), losses
	}
	got, losses := row(melody, piano, drums, program, named)
	assert.Equal(t, ". 3 .", got)
	assert.Len(t, losses, 4)
	assert.Contains(t, losses[0].What, "track Melody, channel 2: 1 notes left out")
	got, _ = row(melody, piano, drums, program)
	assert.Equal(t, ". . 5", got)
	got, _ = row(melody, piano, drums)
	assert.Equal(t, "5 . .", got)
	_, _, err := Read(file(t, melody, drums), chords(), low, high)
	assert.ErrorContains(t, err, "has no bass")

	bend := track(append([]event{name("bass"), {10, midi.Pitchbend(0, 100)}, {20, smf.MetaLyric("la")}}, note(0, 0, 48)...)...)
	late := track(append([]event{name("bass")}, append(note(0, 0, 48), note(8*480, 0, 48)...)...)...)
	_, losses = row(bend)
	assert.Equal(t, "1 × lyric left out", losses[0].What)
	assert.Equal(t, "1 × pitch bend left out", losses[1].What)
	_, losses = row(late)
	assert.Contains(t, losses[0].What, "1 notes behind the last bar")
	three := track(append([]event{name("bass"), {0, smf.MetaMeter(3, 4)}}, note(0, 0, 48)...)...)
	_, losses = row(three)
	assert.Contains(t, losses[0].What, "the file is in 3/4")
}

// TestAnotherProgram reads a file written by musicxml-io 0.9.6 (npm, MIT) from
// music invented for these tests: |: F7 | Bb7 | F7 D7 |1 Gm7 C7 :|2 Gm7 C7 F6 |
// with a melody and a bass.
func TestAnotherProgram(t *testing.T) {
	data, err := os.ReadFile("testdata/quarry-lane.mid")
	require.NoError(t, err)
	s, faults := chart.Read("F7 | Bb7 | F7 D7 | Gm7 C7 | F7 | Bb7 | F7 D7 | Gm7 C7 F6 .")
	require.Empty(t, faults)
	chords, _ := s.Tune(low, high)
	got, _, err := Read(data, chords, low, high)
	require.NoError(t, err)
	assert.Contains(t, tune.Write(got), "bass   | 1 3 5 #11 | 1 3 5 #11 | 1 5 1 5 | 1 b3 1 3 |")
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	good := file(t, track(event{0, midi.NoteOn(0, 40, 90)}, event{480, midi.NoteOff(0, 40)}))
	tn, _ := content.Tune("short-ladder")
	edit := func(at int, to ...byte) []byte {
		out := bytes.Clone(good)
		copy(out[at:], to)
		return out
	}
	for want, data := range map[string][]byte{
		"does not begin with MThd": []byte("RIFF" + strings.Repeat("x", 20)),
		"format 2":                 edit(8, 0, 2),
		"counts in frames":         edit(12, 0xe7, 40),
		"0 ticks to a quarter":     edit(12, 0, 0),
		"is damaged":               good[:20],
	} {
		_, _, err := Read(data, tn, low, high)
		assert.ErrorContains(t, err, want)
	}
}

// Check returns what is wrong with the lengths of a file.
func Check(data []byte) error { return Events(data, func(int, int64, smf.Message) {}) }

// TestCheck has files whose lengths lie, down to each byte cut off a good one.
func TestCheck(t *testing.T) {
	tn, _ := content.Tune("short-ladder")
	good := file(t, track(played(t, tn, 0)...))
	require.NoError(t, Check(good))
	for n := range good {
		assert.Error(t, Check(good[:n]), n)
	}
	assert.NoError(t, Check(append(bytes.Clone(good), "left over"...)), "bytes behind the last track are nobody's")
	// A track name that says it is a quarter of a gigabyte long.
	i := bytes.Index(good, []byte{0xff, 3})
	lie := bytes.Clone(good)
	copy(lie[i+2:], []byte{0xff, 0xff, 0xff, 0x7f})
	assert.ErrorContains(t, Check(lie), "an event does not fit its track at byte 22")
}

// Files made byte by byte as SMF 1.0 has them, each event of its kind or broken.
func TestCheckWalksEveryKindOfEvent(t *testing.T) {
	fileOf := func(events ...byte) []byte {
		head := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 1, 0xe0, 'M', 'T', 'r', 'k', 0, 0, 0, byte(len(events))}
		return append(head, events...)
	}
	for name, events := range map[string][]byte{
		"running status":        {0, 0x90, 60, 90, 10, 60, 0, 0, 0xff, 0x2f, 0},
		"one data byte":         {0, 0xc0, 5, 0, 0xd0, 60, 0, 0xff, 0x2f, 0},
		"system exclusive":      {0, 0xf0, 3, 1, 2, 0xf7, 0, 0xf7, 1, 9, 0, 0xff, 0x2f, 0},
		"a time of three bytes": {0x81, 0x80, 0, 0x90, 60, 90, 0, 0xff, 0x2f, 0},
	} {
		assert.NoError(t, Check(fileOf(events...)), name)
	}
	for name, events := range map[string][]byte{
		"data without a status":      {0, 60, 90},
		"a realtime byte":            {0, 0xf8},
		"a time of five bytes":       {0x81, 0x81, 0x81, 0x81, 0, 0x90, 60, 90},
		"a note that breaks off":     {0, 0x90, 60},
		"meta without a length":      {0, 0xff, 1},
		"exclusive without a length": {0, 0xf0, 0x80},
		"exclusive that breaks off":  {0, 0xf0, 5, 1, 2},
	} {
		assert.ErrorContains(t, Check(fileOf(events...)), "an event does not fit its track at byte 22", name)
	}
	assert.ErrorContains(t, Check(fileOf(0, 0xff, 1, 0, 0, 60, 90)), "an event does not fit its track at byte 26", "no running status past a meta event")
	assert.ErrorContains(t, Check(fileOf()[:14]), "1 of its tracks are missing")
	assert.ErrorContains(t, Check(fileOf()[:18]), "it breaks off at byte 14")
	assert.ErrorContains(t, Check(fileOf(0, 0x90, 60, 90)[:24]), "the part that starts at byte 14 is cut short")
	long := fileOf()
	long[7] = 200
	assert.ErrorContains(t, Check(long), "its header is cut short")
	aside := append(fileOf()[:14:14], append([]byte("XYZW\x00\x00\x00\x01?"), fileOf(0, 0xff, 0x2f, 0)[14:]...)...)
	assert.NoError(t, Check(aside), "parts of other kinds are passed over")
}

// What a tune does not hold of a file is told.
func TestReadTellsWhatItLeavesOut(t *testing.T) {
	tn, _ := content.Tune("short-ladder")
	events := played(t, tn, 0)
	events = append(events,
		event{0, smf.MetaMeter(3, 4)},
		event{0, smf.MetaLyric("la")}, event{10, smf.MetaLyric("la")},
		event{0, smf.MetaMarker("here")},
		event{0, midi.Pitchbend(0, 100)},
		event{0, midi.ControlChange(0, 7, 100)})
	_, losses, err := Read(file(t, track(events...)), without(tn), low, high)
	require.NoError(t, err)
	var says []string
	for _, l := range losses {
		says = append(says, l.String())
	}
	for _, want := range []string{"2 × lyric left out", "1 × text left out", "1 × pitch bend left out", "1 × controller left out",
		"the file is in 3/4; the bars of " + tn.Title + " are those of its tune, " + tn.Meter.String()} {
		assert.Contains(t, says, want)
	}
}

// FuzzRead feeds any bytes to the reader. It must give an error, or a tune whose
// text reads back.
func FuzzRead(f *testing.F) {
	tn, _ := content.Tune("short-ladder")
	f.Add(file(f, track(played(f, tn, 0)...)))
	f.Add(file(f, track(event{0, midi.NoteOn(0, 40, 90)}, event{480, midi.NoteOff(0, 40)})))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<13 { // what is longer says the same more slowly
			return
		}
		got, _, err := Read(data, without(tn), low, high)
		if err != nil {
			return
		}
		text := tune.Write(got)
		_, faults := tune.Check(text, tune.Within(low, high))
		require.Empty(t, faults, text)
	})
}

// A file whose notes would fill the memory is refused before one is kept.
func TestTooManyNotes(t *testing.T) {
	const pairs = MaxNotes + 1
	events := []byte{0, 0x90, 60, 90}
	for range pairs {
		events = append(events, 1, 60, 0, 1, 60, 90)
	}
	data := append([]byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 1, 0xe0, 'M', 'T', 'r', 'k', 0, byte(len(events) >> 16), byte(len(events) >> 8 & 0xff), byte(len(events) & 0xff)}, events...)
	assert.EqualError(t, Check(data), "the MIDI file holds over 100000 notes and changes of tempo; cut it into shorter takes")
}

// Which notes are covered, and which voices sound together, is what looking at every pair
// of them says.
func TestNotesThatSoundTogether(t *testing.T) {
	voice := func(t *rapid.T, name string) []note {
		notes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) note {
			return note{at: float64(rapid.IntRange(0, 400).Draw(t, "at")) / 10, length: float64(rapid.IntRange(0, 500).Draw(t, "length"))/10 + 0.05, midi: rapid.IntRange(60, 64).Draw(t, "midi")}
		}), 0, 30).Draw(t, name)
		slices.SortStableFunc(notes, func(a, b note) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.midi, b.midi)) })
		return notes
	}
	during := func(v, o note) bool { return o.at < v.at+v.length-together && o.end() > v.at+together }
	rapid.Check(t, func(t *rapid.T) {
		a, b := voice(t, "one"), voice(t, "another")
		n, apart := 0, true
		for i, v := range a {
			if slices.ContainsFunc(b, func(o note) bool { return during(v, o) }) {
				n++
			}
			for _, o := range a[i+1:] {
				apart = apart && (o.at >= v.at+v.length-together || o.at+o.length <= v.at+together)
			}
		}
		require.Equal(t, n, overlapping(a, b))
		require.Equal(t, apart, alone(a))
		var want []note
		for _, v := range a {
			if !slices.ContainsFunc(a, func(o note) bool { return o.midi < v.midi && o.at <= v.at+together && o.end() > v.at+together }) {
				want = append(want, v)
			}
		}
		require.Equal(t, want, lowest(a))
	})
}

// A file of as many bytes as are read, and nothing but what no tune holds, takes no more
// than its bytes: nothing of it is kept.
func TestAFileOfNothingTakesNoMemory(t *testing.T) {
	chords, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\n")
	require.Empty(t, faults)
	events := append([]byte{0, 0xc0, 5}, bytes.Repeat([]byte{0, 5}, 1<<22-20)...)
	data := append([]byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 1, 0xe0, 'M', 'T', 'r', 'k', 0, byte(len(events) >> 16), byte(len(events) >> 8 & 0xff), byte(len(events) & 0xff)}, events...)
	allocated := testing.AllocsPerRun(1, func() {
		_, _, err := Read(data, chords, low, high)
		assert.ErrorContains(t, err, "no bass")
	})
	assert.Less(t, allocated, 1000.0)
}

// Six tracks of one program, none of them named, are the strings of a guitar where the
// two lowest take turns, as they do when one hand plays a line on them; where they sound
// together they are voices, and the lowest alone is the bass.
func TestTracksThatAreStrings(t *testing.T) {
	voices := func(low, next [][3]int64) (out []smf.Track) {
		for i, v := range [][][3]int64{low, next, {{0, 50, 480}}, {{0, 55, 480}}, {{0, 59, 480}}, {{0, 64, 480}}} {
			var events []event
			for _, n := range v {
				events = append(events, event{n[0], midi.NoteOn(uint8(i), uint8(n[1]), 90)}, event{n[0] + n[2], midi.NoteOff(uint8(i), uint8(n[1]))})
			}
			out = append(out, track(events...))
		}
		return out
	}
	chords, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\n")
	require.Empty(t, faults)
	for name, c := range map[string]struct {
		tracks []smf.Track
		bass   string
	}{
		"strings": {voices([][3]int64{{480, 43, 480}, {1440, 43, 480}}, [][3]int64{{0, 48, 480}, {960, 52, 480}}), `1 5 /3 \5`},
		"a choir": {voices([][3]int64{{0, 43, 480}, {480, 40, 480}, {960, 43, 480}}, [][3]int64{{0, 48, 480}, {480, 47, 480}, {960, 48, 480}, {1440, 52, 480}}), "5 3 5 ."},
	} {
		tn, _, err := Read(file(t, c.tracks...), chords, low, high)
		require.NoError(t, err)
		assert.Equal(t, c.bass, tune.BassCell(tn.Sections[0].Bars[0].Bass), name)
	}
}

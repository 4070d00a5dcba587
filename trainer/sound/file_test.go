package sound

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony/tune"
)

// scoreOf reads a tune's text and arranges it in the layer bass+halves.
func scoreOf(t *testing.T, text string) (*playing.Score, *fretboard.Arrangement) {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	s, err := playing.Of(a, false)
	require.NoError(t, err)
	return s, a
}

const (
	harbour = `tune Harbour Steps
key Eb
meter 4/4
tempo 104
swing 2:1
form A B A

[A]
chords | Ebmaj7 | Cm7 |
bass   | 1 3 5 6 | 1 \b3 5,b3 - |
hits   | on . and . | both . . . |

[B]
chords | Fm7 | Bb7 |
bass   | 1 5 b3 5 | 1 3 5 b7 |
`
	fives = `tune Fives
key F#m
meter 5/4
tempo 173

[A]
chords | F#m7 . . B7 . |
bass   | 1 b3 5 1 3 |
`
	slow = `tune Slow Twelve
key C
meter 12/8
tempo 90
swing 2:1

[Verse]
chords | C7 | F7 |
bass   | 1 3 5 6,b7 | 1 3 5 3 |
`
)

// heardFile is a MIDI file as mido reads it. Times are in ticks.
type heardFile struct {
	Type     int
	Division int     `json:"ticks_per_beat"`
	Length   float64 // seconds, with the file's own tempo
	Tempo    [][2]int
	Meter    [][]int // tick, upper, lower, clocks a click
	Key      []string
	Markers  []struct {
		At   int
		Text string
	}
	Tracks []struct {
		Name     string
		Channels []int
		Notes    [][4]int // tick, length, note, velocity
		Left     int      // notes that never end
		End      int
	}
}

const midoScript = `
import json, sys, mido
f = mido.MidiFile(sys.argv[1])
out = dict(type=f.type, ticks_per_beat=f.ticks_per_beat, length=f.length, tempo=[], meter=[], key=[], markers=[], tracks=[])
for t in f.tracks:
    at, on, tr = 0, {}, dict(name=t.name, channels=[], notes=[], left=0)
    for m in t:
        at += m.time
        if m.type == 'set_tempo': out['tempo'].append([at, m.tempo])
        if m.type == 'time_signature': out['meter'].append([at, m.numerator, m.denominator, m.clocks_per_click])
        if m.type == 'key_signature': out['key'].append(m.key)
        if m.type == 'marker': out['markers'].append(dict(at=at, text=m.text))
        if not m.is_meta and m.channel not in tr['channels']: tr['channels'].append(m.channel)
        if m.type == 'note_on' and m.velocity > 0:
            assert m.note not in on
            on[m.note] = (at, m.velocity)
        elif m.type in ('note_on', 'note_off'):
            start, velocity = on.pop(m.note)
            tr['notes'].append([start, at - start, m.note, velocity])
    tr['left'], tr['end'] = len(on), at
    out['tracks'].append(tr)
print(json.dumps(out))
`

// readByMido has a MIDI file read by mido (Debian: python3-mido), a reader that
// shares nothing with the writer.
func readByMido(t *testing.T, s *playing.Score, x Export) heardFile {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x.mid")
	var file bytes.Buffer
	require.NoError(t, WriteSMF(&file, s, x))
	require.NoError(t, os.WriteFile(path, file.Bytes(), 0o600))
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import mido").Run() != nil {
			continue
		}
		out, err := exec.Command(python, "-c", midoScript, path).Output()
		var failed *exec.ExitError
		if errors.As(err, &failed) {
			t.Fatalf("mido: %s", failed.Stderr)
		}
		require.NoError(t, err)
		var h heardFile
		require.NoError(t, json.Unmarshal(out, &h))
		return h
	}
	t.Skip("no python3 with mido here (Debian: python3-mido)")
	return heardFile{}
}

func TestMIDIFileByMido(t *testing.T) {
	s, a := scoreOf(t, harbour)
	h := readByMido(t, s, Export{Time: clicking})
	assert.Equal(t, 1, h.Type)
	assert.Equal(t, 960, h.Division)
	assert.Equal(t, [][2]int{{0, 576923}}, h.Tempo, "60,000,000/104 µs")
	assert.Equal(t, [][]int{{0, 4, 4, 24}}, h.Meter)
	assert.Equal(t, []string{"Eb"}, h.Key)
	assert.InDelta(t, 6*4*60/104.0, h.Length, 0.001)
	assert.Equal(t, "[{0 A} {7680 B} {15360 A}]", fmt.Sprint(h.Markers))

	// Conductor, strings 6 to 1 on channels 6 to 1, click on channel 10.
	require.Len(t, h.Tracks, 8)
	assert.Equal(t, "Harbour Steps", h.Tracks[0].Name)
	assert.Empty(t, h.Tracks[0].Channels)
	for i, str := range []int{6, 5, 4, 3, 2, 1} {
		assert.Equal(t, fmt.Sprintf("String %d", str), h.Tracks[i+1].Name)
		assert.Equal(t, []int{str - 1}, h.Tracks[i+1].Channels)
	}
	assert.Equal(t, "Click", h.Tracks[7].Name)
	assert.Equal(t, []int{9}, h.Tracks[7].Channels)
	assert.Len(t, h.Tracks[7].Notes, 24)
	assert.Equal(t, 76, h.Tracks[7].Notes[0][2])
	assert.Equal(t, 77, h.Tracks[7].Notes[1][2])

	var starts []int
	notes := 0
	for _, track := range h.Tracks[1:7] {
		assert.Zero(t, track.Left)
		assert.Equal(t, 6*4*960, track.End)
		notes += len(track.Notes)
		for _, n := range track.Notes {
			starts = append(starts, n[0])
		}
	}
	assert.Contains(t, starts, 3840+2*960+640, "the swung half of 5,b3")
	assert.Contains(t, starts, 2*960+640, "the hit on the offbeat of beat 3")
	want := 0
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind == fretboard.BassEvent {
			want++
			continue
		}
		upper := -1 // the bass note is the line's
		for _, f := range e.Frets {
			if f >= 0 {
				upper++
			}
		}
		want += upper * len(e.Strikes())
	}
	assert.Equal(t, want, notes)
	// The bass row worked out by hand, from Eb3 = 51 on; the split beat's second
	// half lies at 2/3 of it, tick 640.
	partA, partB := []int{51, 55, 58, 60, 60, 51, 55, 51}, []int{53, 48, 44, 48, 46, 50, 53, 56}
	var pitches []int
	for _, n := range midiLine(h, s) {
		pitches = append(pitches, n[1])
	}
	assert.Equal(t, slices.Concat(partA, partB, partA), pitches)
}

// The hi-hat of General MIDI on two and four, a bar counted before, and every note on
// the channel of its string, as loud as it is heard, by mido; above 100 it is what
// keeps time unless something else is asked for.
func TestMIDIFileCountedInByMido(t *testing.T) {
	s, _ := scoreOf(t, harbour)
	h := readByMido(t, s, Export{CountIn: 1})
	const bar = 4 * 960
	assert.Equal(t, "[{3840 A} {11520 B} {19200 A}]", fmt.Sprint(h.Markers))
	assert.Equal(t, [][]int{{0, 4, 4, 24}}, h.Meter)
	assert.Equal(t, 7*bar, h.Tracks[0].End)
	drums := h.Tracks[7].Notes
	for i, key := range []int{76, 77, 77, 77} { // General MIDI Level 1: high and low wood block
		assert.Equal(t, []int{i * 960, key}, []int{drums[i][0], drums[i][2]})
	}
	require.Len(t, drums, 4+12)
	for i, n := range drums[4:] { // 44: pedal hi-hat
		assert.Equal(t, []int{bar + (2*i+1)*960, 44}, []int{n[0], n[2]})
	}
	p := placed(s, 1)
	heard := map[[3]int]int{}
	for i, b := range s.Bars {
		for _, n := range b.Notes {
			heard[[3]int{n.String, int(p.tick(n.Start(p.bars[i]))), n.MIDI}] = int(n.Velocity)
		}
	}
	written := map[[3]int]int{}
	for _, track := range h.Tracks[1:7] {
		for _, n := range track.Notes {
			written[[3]int{track.Channels[0] + 1, n[0], n[2]}] = n[3]
		}
	}
	assert.Equal(t, heard, written)
	brushed := readByMido(t, s, Export{Time: playing.Timekeeping{Background: playing.Brushes}})
	assert.Equal(t, []int{9}, brushed.Tracks[7].Channels)
	assert.Len(t, brushed.Tracks[7].Notes, 6*6)
	assert.Error(t, WriteSMF(&bytes.Buffer{}, s, Export{CountIn: 3}))
}

// midiLine returns tick and pitch of a file's notes where the line sounds.
func midiLine(h heardFile, s *playing.Score) (line [][2]int) {
	type place struct{ tick, string int }
	of := map[place]bool{}
	p := placed(s, 0)
	for i, b := range s.Bars {
		for _, n := range b.Notes {
			if n.Part == playing.PartBass {
				of[place{int(p.tick(n.Start(p.bars[i]))), n.String}] = true
			}
		}
	}
	for i, track := range h.Tracks[1 : 1+s.Strings] {
		for _, n := range track.Notes {
			if of[place{n[0], s.Strings - i}] {
				line = append(line, [2]int{n[0], n[2]})
			}
		}
	}
	slices.SortFunc(line, func(a, b [2]int) int { return a[0] - b[0] })
	return line
}

func TestMIDIFileInFiveFour(t *testing.T) {
	s, _ := scoreOf(t, fives)
	h := readByMido(t, s, Export{Time: clicking})
	assert.Equal(t, [][2]int{{0, 346821}}, h.Tempo)
	assert.Equal(t, [][]int{{0, 5, 4, 24}}, h.Meter)
	assert.Equal(t, []string{"F#m"}, h.Key)
	assert.Len(t, h.Tracks[7].Notes, 5)
	assert.Equal(t, 5*960, h.Tracks[0].End)
	assert.Equal(t, [][2]int{{0, 42}, {960, 45}, {1920, 49}, {2880, 47}, {3840, 51}}, midiLine(h, s), "F# A C# B D#")
}

func TestMIDIFileInTwelveEight(t *testing.T) {
	s, _ := scoreOf(t, slow)
	h := readByMido(t, s, Export{Time: clicking})
	assert.Equal(t, [][2]int{{0, 666667}}, h.Tempo, "quarters, not dotted ones")
	assert.Equal(t, [][]int{{0, 12, 8, 36}}, h.Meter)
	assert.Equal(t, []string{"C"}, h.Key)
	require.Len(t, h.Tracks[7].Notes, 8, "counted in dotted quarters")
	assert.Equal(t, 1440, h.Tracks[7].Notes[1][0])
	assert.InDelta(t, 8*1.0, h.Length, 0.001, "8 dotted quarters at 60 a minute")
	line := midiLine(h, s)
	require.Len(t, line, 9)
	assert.Equal(t, 3*1440+960, line[4][0], "the third eighth of beat 4")
}

// Every semitone E2 to E5 by aubio's estimators (Debian: aubio-tools), which also
// shows that a reader from outside opens the file: median of the pitches over
// most of each note.
func TestPluckPitchByAubio(t *testing.T) {
	if testing.Short() {
		t.Skip("listens to 37 notes")
	}
	if _, err := exec.LookPath("aubiopitch"); err != nil {
		t.Skip("no aubiopitch here (Debian: aubio-tools)")
	}
	// A note a bar of 4/4 at 240: one second each, on string 1.
	s := clicks(37, fourFour, 240)
	for i := range s.Bars {
		s.Bars[i].Notes = []playing.Note{{Beat: 1, Part: playing.PartBass, String: 1, MIDI: 40 + i, Velocity: 114}}
	}
	path := filepath.Join(t.TempDir(), "plucks.wav")
	file, err := os.Create(path)
	require.NoError(t, err)
	m := DefaultMix
	m.MuteClick = true
	require.NoError(t, WriteWAV(file, s, Export{Mix: m}))
	require.NoError(t, file.Close())
	out, err := exec.Command("aubiopitch", "-i", path, "-r", "48000", "-p", "yinfast", "-B", "8192", "-H", "512").Output()
	require.NoError(t, err)
	heard := make([][]float64, 37)
	lines := bufio.NewScanner(bytes.NewReader(out))
	for lines.Scan() {
		fields := strings.Fields(lines.Text())
		require.Len(t, fields, 2)
		at, err1 := strconv.ParseFloat(fields[0], 64)
		hz, err2 := strconv.ParseFloat(fields[1], 64)
		require.NoError(t, errors.Join(err1, err2))
		if n := int(at); n < 37 && at-float64(n) > 0.25 && at-float64(n) < 0.95 && hz > 0 {
			heard[n] = append(heard[n], hz)
		}
	}
	worst := 0.0
	for i, all := range heard {
		require.Greater(t, len(all), 40, "MIDI %d", 40+i)
		slices.Sort(all)
		want := 440 * math.Pow(2, float64(40+i-69)/12)
		off := cents(all[len(all)/2], want)
		worst = max(worst, math.Abs(off))
		assert.InDelta(t, 0, off, 2, "MIDI %d", 40+i)
	}
	t.Logf("the worst of 37 notes is %.2f cents off", worst)
}

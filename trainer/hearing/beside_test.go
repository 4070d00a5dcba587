package hearing

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// besideTakes are takes of guitars that no weight was fitted on: lines and lines with chords,
// clean, 20 cents flat, and in a room by a laptop's microphone.
func besideTakes(t testing.TB) (all []take) {
	for g, b := range unseenGuitars(t) {
		for i, rhythm := range []string{"line", "both"} {
			r := rand.New(rand.NewPCG(uint64(90+g), uint64(i)))
			cents, where := 0.0, "clean"
			if g%3 == 1 {
				cents, where = -20, "flat"
			}
			k := b.improvised(r, rhythm, cents)
			if g%3 == 2 {
				k, where = k.inARoom(r), "room"
			}
			k.name = map[string]string{"line": "lines", "both": "under chords"}[rhythm] + ", " + where
			all = append(all, k)
		}
	}
	return all
}

// listener is one that hears takes: notes by the name of each setting it has, of which the
// best counts.
type listener struct {
	name string
	hear func(t testing.TB, k []take) []map[string][]Note
}

// TestBesideOtherListeners prints how well this program hears takes that it was not fitted
// on, beside aubionotes 0.4.9 (Debian's aubio-tools) and the learned transcriber of the npm
// package @spotify/basic-pitch 1.0.1, each at the settings that suit the takes best: F of the
// bass notes, onsets within 50 ms and the right half step. aubionotes' onsets are also moved
// by what suits it best, and of what the transcriber hears the lowest note at each onset
// counts. It needs the folder of node_modules in FOOTFALL_SAMPLES.
func TestBesideOtherListeners(t *testing.T) {
	if os.Getenv(samplesEnv) == "" {
		t.Skip("run FOOTFALL_SAMPLES=node_modules go test -v -timeout 1h -run BesideOtherListeners ./trainer/hearing: half an hour of two cores")
	}
	takes := besideTakes(t)
	kinds := []string{}
	for _, k := range takes {
		if !slices.Contains(kinds, k.name) {
			kinds = append(kinds, k.name)
		}
	}
	slices.Sort(kinds)
	best := map[string]map[string]float64{}
	for _, l := range []listener{{"this program", ours}, {"aubionotes", aubionotes}, {"basic-pitch", transcribed}} {
		heard := l.hear(t, takes)
		sums := map[string]map[string]*tally{} // by kind, then setting
		for i, k := range takes {
			for _, kind := range []string{k.name, strings.Split(k.name, ",")[0] + ", all"} {
				if sums[kind] == nil {
					sums[kind] = map[string]*tally{}
				}
				for setting, notes := range heard[i] {
					if sums[kind][setting] == nil {
						sums[kind][setting] = &tally{}
					}
					sums[kind][setting].add(compare(k.notes, notes))
				}
			}
		}
		best[l.name] = map[string]float64{}
		for kind, settings := range sums {
			for _, y := range settings {
				best[l.name][kind] = math.Max(best[l.name][kind], y.f())
			}
		}
	}
	t.Logf("%-24s %12s %12s %12s", "", "this program", "aubionotes", "basic-pitch")
	for _, kind := range append(kinds, "lines, all", "under chords, all") {
		us, a, b := best["this program"][kind], best["aubionotes"][kind], best["basic-pitch"][kind]
		t.Logf("%-24s %12.3f %12.3f %12.3f", kind, us, a, b)
		if strings.HasSuffix(kind, ", all") { // the others are a few takes each
			assert.Greater(t, us, math.Max(a, b), kind)
		}
	}
}

func ours(t testing.TB, takes []take) []map[string][]Note {
	out := make([]map[string][]Note, len(takes))
	inParallel(len(takes), func(i int) { out[i] = map[string][]Note{"": hear(t, takes[i], nil)} })
	return out
}

// aubionotes hears by the settings that were best of 96 tried, see TestBetterThanAubionotes,
// its onsets moved by up to a quarter of a second.
func aubionotes(t testing.TB, takes []take) []map[string][]Note {
	tool, err := exec.LookPath("aubionotes")
	if err != nil {
		t.Skip("aubionotes is not installed: apt-get install aubio-tools")
	}
	out := make([]map[string][]Note, len(takes))
	for i, k := range takes {
		out[i] = map[string][]Note{}
		file := filepath.Join(t.TempDir(), "take.wav")
		writeWAV(t, file, k)
		for _, settings := range aubioSettings {
			said, err := exec.Command(tool, append([]string{"-i", file, "-r", "0"}, strings.Fields(settings)...)...).Output()
			require.NoError(t, err)
			notes := aubioNotes(said)
			for shift := 0.0; shift < 0.25; shift += 0.01 {
				moved := slices.Clone(notes)
				for j := range moved {
					moved[j].Onset -= shift
				}
				out[i][fmt.Sprintf("%s moved by %.2f", settings, shift)] = moved
			}
		}
	}
	return out
}

// transcribed are the lowest notes at each onset of what testdata/transcribe.js hears.
func transcribed(t testing.TB, takes []take) []map[string][]Note {
	modules := os.Getenv(samplesEnv)
	for _, name := range []string{"@spotify/basic-pitch", "@tensorflow/tfjs-backend-wasm"} {
		if _, err := os.Stat(filepath.Join(modules, name)); err != nil {
			t.Skipf("%s is not in %s: npm install @spotify/basic-pitch@1.0.1 @tensorflow/tfjs-backend-wasm@3.21.0", name, modules)
		}
	}
	dir := t.TempDir()
	args := []string{"testdata/transcribe.js", modules}
	for i, k := range takes {
		require.Equal(t, bankRate, k.rate)
		var raw bytes.Buffer
		require.NoError(t, binary.Write(&raw, binary.LittleEndian, k.samples))
		file := filepath.Join(dir, fmt.Sprint(i))
		require.NoError(t, os.WriteFile(file, raw.Bytes(), 0o600))
		args = append(args, file)
	}
	cmd := exec.Command("node", args...)
	cmd.Stderr = os.Stderr
	said, err := cmd.Output()
	require.NoError(t, err)
	var heard map[string]map[string][][2]float64
	require.NoError(t, json.Unmarshal(said, &heard))
	out := make([]map[string][]Note, len(takes))
	for i := range takes {
		out[i] = map[string][]Note{}
		for setting, pairs := range heard[args[2+i]] {
			slices.SortFunc(pairs, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
			var notes []Note
			for _, p := range pairs {
				n := Note{Onset: p[0], MIDI: int(p[1])}
				switch last := len(notes) - 1; {
				case n.MIDI < BassLow || n.MIDI > BassHigh:
				case last >= 0 && n.Onset-notes[last].Onset < window:
					if n.MIDI < notes[last].MIDI {
						notes[last] = n
					}
				default:
					notes = append(notes, n)
				}
			}
			out[i][setting] = notes
		}
	}
	return out
}

// writeWAV writes a take in 16 bits.
func writeWAV(t testing.TB, file string, k take) {
	t.Helper()
	var out bytes.Buffer
	put := func(values ...any) {
		for _, v := range values {
			require.NoError(t, binary.Write(&out, binary.LittleEndian, v))
		}
	}
	n := uint32(2 * len(k.samples))
	put([]byte("RIFF"), 36+n, []byte("WAVEfmt "), uint32(16), uint16(1), uint16(1), uint32(k.rate), uint32(2*k.rate), uint16(2), uint16(16), []byte("data"), n)
	samples := make([]int16, len(k.samples))
	for i, v := range k.samples {
		samples[i] = int16(32767 * max(-1, min(1, v)))
	}
	put(samples)
	require.NoError(t, os.WriteFile(file, out.Bytes(), 0o600))
}

package command

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/hearing/wav"
)

// rendering plays a built-in tune's layer into a file with the program's own
// strings and click, and returns the file and what is asked for.
func rendering(t *testing.T, name string, layer fretboard.Layer) (file string, asked []take.Expected) {
	t.Helper()
	tn, ok := content.Tune(name)
	require.True(t, ok, name)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), layer)
	require.NoError(t, err)
	timeline, err := a.Tune.Placed(1, a.Tune.Tempo)
	require.NoError(t, err)
	file = filepath.Join(t.TempDir(), "take.wav")
	_, errs, code := runOn(strings.NewReader(""), "sheet", name, "--layer", layer.String(), "-o", file)
	require.Equal(t, 0, code, errs)
	return file, take.Expect(a, timeline, take.Bars{})
}

// byVerdict counts how the strikes went, and how the bass notes.
func byVerdict(sc *take.Score) (strikes, bass map[take.Verdict]int) {
	strikes, bass = map[take.Verdict]int{}, map[take.Verdict]int{}
	for i, o := range sc.Outcomes {
		if sc.Events[i].Kind == fretboard.ShapeEvent {
			strikes[o.Verdict]++
		} else {
			bass[o.Verdict]++
		}
	}
	return strikes, bass
}

// aFretOff asks for every shape some frets away, the bass as it was.
func aFretOff(asked []take.Expected, frets int) []take.Expected {
	out := append([]take.Expected{}, asked...)
	for i := range out {
		if out[i].Kind != fretboard.ShapeEvent {
			continue
		}
		out[i].Notes = append([]take.Want{}, out[i].Notes...)
		for k := range out[i].Notes {
			out[i].Notes[k].MIDI += frets
		}
	}
	return out
}

// Shapes over a bass line, played by the program's own strings with its click
// sounding: almost all are heard, on the beat and off it; asked for a fret away,
// none is; and where the bass was played alone, they are missed.
func TestShapesAreHeardInARecording(t *testing.T) {
	if testing.Short() {
		t.Skip("plays and analyses a minute of sound")
	}
	s := take.DefaultSettings()
	for _, name := range []string{"coal-shed-minor", "key-ring"} {
		file, asked := rendering(t, name, fretboard.BassHalves)
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		heard, warnings, err := recordedTake(bytes.NewReader(data))
		require.NoError(t, err)
		require.Empty(t, warnings)

		sc := take.Grade(asked, heard, s)
		strikes, bass := byVerdict(sc)
		all := strikes[take.Matched] + strikes[take.Unsure] + strikes[take.Missed]
		t.Logf("%s: strikes %v, bass %v, extra %d", name, strikes, bass, sc.Extra)
		assert.GreaterOrEqual(t, strikes[take.Matched], all*80/100, name)
		assert.LessOrEqual(t, strikes[take.Missed], all*10/100, name)
		assert.LessOrEqual(t, len(bass)-1+sc.Extra, 0, name)

		for _, frets := range []int{-1, 1} {
			strikes, _ := byVerdict(take.Grade(aFretOff(asked, frets), heard, s))
			assert.Zero(t, strikes[take.Matched], "%s, %d frets away", name, frets)
			assert.GreaterOrEqual(t, strikes[take.Missed], all*98/100, "%s, %d frets away", name, frets)
		}

		file, _ = rendering(t, name, fretboard.Bass)
		data, err = os.ReadFile(file)
		require.NoError(t, err)
		alone, _, err := recordedTake(bytes.NewReader(data))
		require.NoError(t, err)
		strikes, _ = byVerdict(take.Grade(asked, alone, s))
		t.Logf("%s, the bass alone: strikes %v", name, strikes)
		assert.Zero(t, strikes[take.Matched], name)
		assert.GreaterOrEqual(t, strikes[take.Missed], all*95/100, name)
	}
}

// Noise 30 dB below the take, hum and a click of other pitch at −12 dB cost less
// than 3 points of the score each.
func TestSpoiltShapesLoseLittle(t *testing.T) {
	if testing.Short() {
		t.Skip("plays and analyses minutes of sound")
	}
	file, asked := rendering(t, "coal-shed-minor", fretboard.BassHalves)
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	rec, err := wav.Open(bytes.NewReader(data))
	require.NoError(t, err)
	asPlayed := make([]float32, rec.Frames)
	_, err = rec.Next(asPlayed)
	require.NoError(t, err)
	points := func(name string, spoil func(at float64) float64) float64 {
		samples := slices.Clone(asPlayed)
		for i := range samples {
			samples[i] += float32(spoil(float64(i) / float64(rec.Rate)))
		}
		heard, _, err := recordedTake(bytes.NewReader(floatWAV(rec.Rate, samples)))
		require.NoError(t, err)
		sc := take.Grade(asked, heard, take.DefaultSettings())
		strikes, _ := byVerdict(sc)
		t.Logf("%s: %d of %d, strikes %v, extra %d", name, sc.Matched, sc.Expected, strikes, sc.Extra)
		return 100 * float64(sc.Matched-sc.Extra) / float64(sc.Expected)
	}
	sum, peak := 0.0, 0.0
	for _, v := range asPlayed {
		sum += float64(v) * float64(v)
		peak = math.Max(peak, math.Abs(float64(v)))
	}
	rms := math.Sqrt(sum / float64(len(asPlayed)))
	r := rand.New(rand.NewPCG(3, 4))
	clean := points("clean", func(float64) float64 { return 0 })
	beat := 60 / 96.0
	for name, spoil := range map[string]func(at float64) float64{
		"noise": func(float64) float64 { return rms * math.Pow(10, -30.0/20) * r.NormFloat64() },
		"hum":   func(at float64) float64 { return rms * math.Pow(10, -12.0/20) * math.Sqrt2 * math.Sin(2*math.Pi*50*at) },
		"click": func(at float64) float64 {
			since := math.Mod(at, beat)
			return peak * math.Pow(10, -12.0/20) * math.Exp(-since/0.006) * math.Cos(2*math.Pi*1500*since)
		},
	} {
		assert.Less(t, clean-points(name, spoil), 3.0, name)
	}
}

// floatWAV writes one channel of 32-bit float samples (format 3).
func floatWAV(rate int, samples []float32) []byte {
	var b bytes.Buffer
	size := uint32(4 * len(samples))
	b.WriteString("RIFF")
	for _, v := range []any{36 + size, []byte("WAVEfmt "), uint32(16), uint16(3), uint16(1), uint32(rate), uint32(4 * rate), uint16(4), uint16(32), []byte("data"), size, samples} {
		if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	return b.Bytes()
}

// The score of a take by ear has the fields that any has, how sure each event is,
// and no word on single notes of a shape; of silence everything is missed.
func TestScoreByEarInJSON(t *testing.T) {
	if testing.Short() {
		t.Skip("plays and analyses half a minute of sound")
	}
	file, asked := rendering(t, "pump-house-vamp", fretboard.BassHalves)
	sc := score(t, nil, "pump-house-vamp", "--take", file)
	assert.Equal(t, len(asked), sc.Expected)
	assert.Equal(t, sc.Expected, sc.Matched+sc.Missed+sc.Wrong+sc.Unsure+sc.NotHeard)
	for _, e := range sc.Events {
		if e.Verdict == "matched" {
			require.NotNil(t, e.Confidence)
			assert.GreaterOrEqual(t, *e.Confidence, 0.5)
			require.NotNil(t, e.OffsetMS)
		}
		for _, n := range e.Notes {
			assert.Empty(t, n.Verdict)
		}
		assert.Empty(t, e.LeftOut)
	}
	out, _, code := runOn(bytes.NewReader(floatWAV(8000, make([]float32, 8000))), "score", "pump-house-vamp", "--take", "-", "--json")
	require.Equal(t, 0, code)
	var silent scored
	require.NoError(t, json.Unmarshal([]byte(out), &silent))
	assert.Equal(t, len(asked), silent.Missed)
	assert.Zero(t, silent.Extra)
	assert.Nil(t, silent.Events[0].Confidence)
}

package command

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	model "footfall/fretboard/playing"
	"footfall/trainer/sound"
)

// score runs the command and reads its JSON.
func score(t *testing.T, stdin []byte, args ...string) scored {
	t.Helper()
	cmd := New(nil)
	cmd.SetArgs(append([]string{"score", "--json"}, args...))
	var out bytes.Buffer
	cmd.SetOut(&out)
	cmd.SetIn(bytes.NewReader(stdin))
	require.NoError(t, cmd.Execute())
	var sc scored
	require.NoError(t, json.Unmarshal(out.Bytes(), &sc))
	return sc
}

// One performance, written by mido 1.2.10 (testdata/takes/generate.py) in formats
// 0 and 1, with one tempo and with several, in ticks and in frames, is scored
// alike. What was played is said in that script.
func TestScoreFilesOfAnotherWriter(t *testing.T) {
	files, err := filepath.Glob("testdata/takes/*.mid")
	require.NoError(t, err)
	require.Len(t, files, 6)
	for _, file := range files {
		sc := score(t, nil, "testdata/takes/four-bars.tune", "--take", file, "--tempo", "120", "--layer", "bass")
		assert.Equal(t, []int{16, 12, 2, 1, 2, 1, 1}, []int{sc.Expected, sc.Matched, sc.Missed, sc.Extra, sc.Wrong, sc.WrongOctave, sc.WrongPitch}, file)
		assert.InDelta(t, 10, sc.OffsetMS, 0.6, file) // a tick is up to 1.04 ms
		assert.InDelta(t, 1, sc.TempoRatio, 1e-6, file)
		assert.Empty(t, sc.Slips)
		assert.Nil(t, sc.StoppedBar)
		assert.InDelta(t, 0, sc.MeanMS, 0.6, file)
		assert.InDelta(t, 0, sc.SDMS, 0.6, file)
		assert.False(t, sc.StringsKnown)
		require.Len(t, sc.Events, 16)
		for i, e := range sc.Events {
			assert.Equal(t, []int{48, 52, 55, 57, 45, 48, 52, 55, 50, 53, 57, 53, 43, 47, 50, 53}[i], e.MIDI)
			want := "matched"
			switch i {
			case 2, 12:
				want = "missed"
				assert.Nil(t, e.PlayedMIDI)
				assert.Nil(t, e.OffsetMS)
			case 5:
				want = "wrong octave"
				assert.Equal(t, 60, *e.PlayedMIDI)
			case 9:
				want = "wrong pitch"
				assert.Equal(t, 54, *e.PlayedMIDI)
			default:
				assert.InDelta(t, 0, *e.OffsetMS, 0.6)
				assert.InDelta(t, 10, *e.RawMS, 0.6)
				assert.InDelta(t, 0, *e.OffsetPercent, 0.12)
			}
			assert.Equal(t, want, e.Verdict, "%s event %d", file, i)
		}
		assert.InDelta(t, 70, *sc.Events[12].OutsideMS, 0.6, "80 ms late, and all of it 10")
		require.Len(t, sc.Extras, 1, "a late note is one fault")
		assert.Equal(t, 70, sc.Extras[0].MIDI)
	}
}

// The model's own MIDI file is a perfect take of every built-in tune in every
// layer.
func TestScoreTheModel(t *testing.T) {
	names := content.TuneNames()
	if testing.Short() {
		names = names[:3]
	}
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, name := range names {
		for _, layer := range []fretboard.Layer{fretboard.Bass, fretboard.BassChanges, fretboard.BassHalves} {
			tn, ok := content.Tune(name)
			require.True(t, ok)
			a, err := fretboard.Arrange(tn, neck, hand, layer)
			require.NoError(t, err, name)
			music, err := model.Of(a, false)
			require.NoError(t, err)
			var file bytes.Buffer
			require.NoError(t, sound.WriteSMF(&file, music, sound.Export{}))
			sc := score(t, file.Bytes(), name, "--take", "-", "--layer", layer.String())
			assert.NotZero(t, sc.Expected)
			assert.Equal(t, sc.Expected, sc.Matched, "%s %s", name, layer)
			assert.Zero(t, sc.Extra, "%s %s", name, layer)
			assert.InDelta(t, 0, sc.MeanMS, 4, "%s %s: its strums take up to 14 ms", name, layer)
			assert.True(t, sc.Clean, sc.Why)
			for _, e := range sc.Events {
				assert.Empty(t, e.LeftOut)
			}
		}
	}
}

func TestScoreInWords(t *testing.T) {
	cmd := New(nil)
	var out bytes.Buffer
	cmd.SetOut(&out)
	cmd.SetArgs([]string{"score", "testdata/takes/four-bars.tune", "--take", "testdata/takes/format0.mid", "--tempo", "120", "--layer", "bass"})
	require.NoError(t, cmd.Execute())
	assert.Equal(t, `Four Bars, bass, 120 a minute
12 of 16 right, 2 missed, 1 in the wrong octave, 1 wrong, 1 too many.
10 ms late on average, spread 0 ms, no drift.
Worst bar: 1 (section A, bar 1): 1 missed, 1 too many.
Worst degree: b3: 1 in the wrong octave, 1 wrong of 3.
Which strings were played, the input does not tell.
Not a clean pass: 12 of 16 were right; 16 are needed.
  Bar 1 beat 3, C6: 5 (G) missed.
  Bar 2 beat 2, Am7: b3 (C) in the wrong octave.
  Bar 3 beat 2, Dm7: 3 (F#) played for b3 (F).
  Bar 4 beat 1, G7: 1 (G) came 70 ms late.
`, out.String())
}

func TestScoreSaysWhatIsWrong(t *testing.T) {
	const tune = "testdata/takes/four-bars.tune"
	text := filepath.Join(t.TempDir(), "take.mid")
	require.NoError(t, os.WriteFile(text, []byte("no notes at all"), 0o600))
	for want, args := range map[string][]string{
		"no recording is given: name a file with --take":                                                                                   {tune},
		"tune and recording cannot both come from standard input":                                                                          {"-", "--take", "-"},
		"there is no file none.mid; name one that is there, or - for standard input":                                                       {tune, "--take", "none.mid"},
		text + ` cannot be scored: the file begins with "no n", not with a WAV header; save it as WAV (PCM), or give a Standard MIDI File`: {tune, "--take", text},
		"--tempo 301: give 30 to 300 BPM":                                                                                                  {tune, "--take", text, "--tempo", "301"},
		`there is no layer "all"; write one of bass, bass+changes, bass+halves`:                                                            {tune, "--take", text, "--layer", "all"},
		`standard input cannot be scored: the file is empty; a WAV recording would do, or give a Standard MIDI File`:                       {tune, "--take", "-"},
	} {
		cmd := New(nil)
		cmd.SetArgs(append([]string{"score"}, args...))
		cmd.SetIn(bytes.NewReader(nil))
		cmd.SetOut(&bytes.Buffer{})
		err := cmd.Execute()
		assert.EqualError(t, err, want)
		assert.Equal(t, ExitBadInput, ExitCode(err), want)
	}
}

// A line that the player made up needs no bass row: its bars are judged by their
// chords.
func TestScoreFree(t *testing.T) {
	folder := t.TempDir()
	bare, walked, take := filepath.Join(folder, "bare.tune"), filepath.Join(folder, "walked.tune"), filepath.Join(folder, "take.mid")
	const text = "tune x\nkey F\nmeter 4/4\ntempo 112\n\n[A]\nchords | F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | D7 | Gm7 | C7 | F7 | C7 |\n"
	require.NoError(t, os.WriteFile(bare, []byte(text), 0o600))
	line, _, code := runOn(nil, "walk", bare, "--style", "chord-tones")
	require.Zero(t, code)
	require.NoError(t, os.WriteFile(walked, []byte(line), 0o600))
	_, errs, code := runOn(nil, "sheet", walked, "-o", take)
	require.Zero(t, code, errs)

	out, errs, code := runOn(nil, "score", bare, "--free", "--take", take, "--json")
	require.Zero(t, code, errs)
	var free walkedFreely
	require.NoError(t, json.Unmarshal([]byte(out), &free))
	require.Len(t, free.Bars, 12)
	require.Equal(t, 12, free.Clear)
	for i, b := range free.Bars {
		require.Equal(t, i+1, b.Bar)
		require.Equal(t, "clear", b.Verdict)
		require.NotEmpty(t, b.Says)
	}
	// The same over another tune's chords.
	other := strings.NewReplacer("F7 ", "Dbmaj7 ", "Bb7", "Ebm7", "C7", "A7").Replace(text)
	out, _, code = runOn(strings.NewReader(other), "score", "-", "--free", "--take", take)
	require.Zero(t, code)
	require.Contains(t, out, "lost: beat 1 was")
	require.Contains(t, out, "next: bar ")

	_, errs, code = runOn(nil, "score", bare, "--free", "--layer", "bass", "--take", take)
	require.Equal(t, ExitBadInput, code)
	require.Contains(t, errs, "leave out --layer")
}

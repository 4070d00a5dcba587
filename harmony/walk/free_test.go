package walk

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// walkedOf is a composed line as somebody played it.
func walkedOf(l *Line) []Walked {
	var notes []Walked
	for _, n := range l.Notes {
		notes = append(notes, Walked{n.At, n.Pitch.MIDI()})
	}
	return notes
}

// Composed lines are clear; a bar that is a half step off is told and spoils
// nothing around it; a line over another tune's chords is not clear. The bounds
// are those that free walking was asked with.
func TestFreeWalking(t *testing.T) {
	neck := fretboard.StandardNeck()
	hand := handOf(neck)
	for style := range Style(len(styles)) {
		bars, clear, off, told, around, aroundClear, other, otherClear := 0, 0, 0, 0, 0, 0, 0, 0
		lines := map[string]*Line{}
		for _, name := range content.TuneNames() {
			tn, _ := content.Tune(name)
			for seed := range seedsOf(2) {
				l, err := Compose(tn, Options{Range: neck.BassRange(), Seed: seed, Hand: hand, Style: style})
				require.NoError(t, err)
				lines[name] = l
				walked := walkedOf(l)
				free := JudgeFree(tn, walked)
				bars += len(free.Bars)
				clear += free.Clear
				for bar := range free.Bars {
					for _, by := range []int{-1, 1} {
						wrong := append([]Walked(nil), walked...)
						for i := range wrong {
							if wrong[i].At.Bar == bar+1 {
								wrong[i].MIDI += by
							}
						}
						after := JudgeFree(tn, wrong)
						off++
						if after.Bars[bar].Verdict != Clear {
							told++
						}
						for _, near := range []int{bar - 1, bar + 1} {
							if near >= 0 && near < len(free.Bars) && free.Bars[near].Verdict == Clear {
								around++
								if after.Bars[near].Verdict == Clear {
									aroundClear++
								}
							}
						}
					}
				}
			}
		}
		for name, l := range lines {
			for over := range lines {
				tn, _ := content.Tune(over)
				if over == name || tn.Meter != l.tune.Meter {
					continue
				}
				var walked []Walked
				for _, n := range walkedOf(l) {
					if n.At.Bar <= len(tn.Unroll()) {
						walked = append(walked, n)
					}
				}
				free := JudgeFree(tn, walked)
				other += min(len(free.Bars), len(l.bars))
				otherClear += free.Clear
			}
		}
		t.Logf("%-13s clear %.1f, told %.1f, neighbors clear %.1f, another tune %.1f", style, percent(clear, bars), percent(told, off), percent(aroundClear, around), percent(otherClear, other))
		require.GreaterOrEqual(t, percent(clear, bars), 95.0, style.String())
		require.GreaterOrEqual(t, percent(told, off), 90.0, style.String())
		require.GreaterOrEqual(t, percent(aroundClear, around), 90.0, style.String())
		require.LessOrEqual(t, percent(otherClear, other), 20.0, style.String())
	}
}

// What is said of single bars, and that a bar costs the others nothing. Common
// practice, no source.
func TestFreeBars(t *testing.T) {
	for _, tt := range []struct {
		chords, bass string
		want         []string
	}{
		{"Dm7 | G7", `1 /b3 /5 \b5 | \1 \b7 /1 /3`, []string{"clear: Dm7 by its 1, b3 and 5", "clear: G7 by its 1, 3 and b7"}},
		{"F7 | Bb7", `. . . . | 1 /3 /5 /3`, []string{"silent: no bass note", "clear: Bb7 by its 1, 3 and 5"}},
		{"F7 | F7 | Bb7", `1 /3 /5 \3 | . . . . | 1 /3 /5 /3`, []string{"clear", "silent", "clear"}},
		{"F7 | Bb7", `1 /3 /5 \#4 | . . . .`, []string{"clear: F7 by its 1, 3 and 5", "silent"}},
		{"Dm7 | G7", `b2 /3 /b6 \3 | /1 \b7 \5 \3`, []string{"lost: beat 1 was the b2 of Dm7", "clear"}},
		{"F7 | Bb7", `5 - - - | 1 /3 /5 /3`, []string{"thin: F7's 1 and 3 never came", "clear"}},
		{"Dm7 G7", `1 /b3 /5 /b7`, []string{"clear"}},
		{"Dm7 G7", `1 /b3 . .`, []string{"thin: G7 went by without a note of its own"}},
		{"Dm7", `1 /b3 /b2 /5`, []string{"thin: beat 3 was the b2 of Dm7, and nothing resolved it"}},
		{"C/E", `3 /5 /1 \5`, []string{"clear"}},
		{"C/E", `5 /1 \7 \6`, []string{"thin: C/E's 3 never came"}},
		{"E7sus4", `5 /6 \5 /6`, []string{"thin: E7sus4's 1 and 4 never came"}},
		{"Cm7", `b3 - /b7 -`, []string{"thin: Cm7's 1 never came, and so few notes without it may be another chord's"}},
		{"Cm7", `b3 \2 /b3 \2`, []string{"thin: Cm7's 1 never came"}},
		{"Cm7 F7", `b3 /5 /1 \b7`, []string{"clear"}},
		{"C", `. . . 1`, []string{"clear"}},
	} {
		tn := read(t, "tune x\nkey C\nmeter 4/4\ntempo 120\n\n[A]\nchords | "+tt.chords+" |\nbass | "+tt.bass+" |\n")
		line, err := tn.Line(tune.Within(40, 80))
		require.NoError(t, err)
		var walked []Walked
		for _, n := range line {
			walked = append(walked, Walked{n.At, n.Pitch.MIDI()})
		}
		for i, b := range JudgeFree(tn, walked).Bars {
			require.Contains(t, b.Verdict.String()+": "+b.Says, tt.want[i], "%s: %s", tt.chords, tt.bass)
		}
	}
}

func TestFreeSum(t *testing.T) {
	tn := read(t, "tune x\nkey C\nmeter 4/4\ntempo 120\n\n[A]\nchords | Dm7 | G7 | Cmaj7 |\n")
	at := func(bar, beat int) tune.Position { return tune.Position{Bar: bar, Beat: beat} }
	free := JudgeFree(tn, []Walked{
		{at(1, 1), 50}, {at(1, 2), 53}, {at(1, 3), 57}, {at(1, 4), 56}, // 1 b3 5 b5
		{at(2, 1), 55}, {at(2, 2), 59}, {at(2, 3), 55}, {at(2, 4), 55}, // 1 3 1 1
		{at(3, 1), 48}, {at(3, 3), 52}, // 1 3
	})
	require.Equal(t, 3, free.Clear)
	require.Equal(t, 2, free.Led)
	require.Equal(t, 1, free.Resolved, "G7 by a half step, Cmaj7 by a fifth")
	text := func(ds []DegreeCount) (all []string) {
		for _, d := range ds {
			all = append(all, fmt.Sprint(d.Degree, " ", d.Count))
		}
		return all
	}
	require.Equal(t, []string{"1 5", "b3 1", "3 2", "b5 1", "5 1"}, text(free.Used))
	require.Equal(t, []harmony.Degree{{Number: 7, Alter: -1}, {Number: 7}}, free.Unused)
	require.Zero(t, JudgeFree(tn, nil).Clear)
}

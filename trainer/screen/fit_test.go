package screen

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// hardTunes are tunes that are hard to draw.
var hardTunes = map[string]string{
	"seven": `tune A title of more than sixty characters, which no line of a small terminal can hold whole
key F#
meter 7/4
tempo 66
trains what a sentence that goes on and on says of a tune, so long that it takes two lines of eighty columns and is cut off somewhere
[Refrain]
chords | F#m7b5(add11)/C# . B7(b9,#11,b13) . Emaj9(#11)/G# . C#7(#5,#9) | G#m7b5/F# |
bass   | 1,/#4 b3 /b5,\1 b5 1 3,/#4 5 | 1 - . b3 . 5 b7 |
hits   | on both and . on and both | on . . . . . . |
words  | every word of this cue is longer than the room there is for it in a bar | 道を歩く |
`,
	"wide": `tune 夜の道 e` + "\u0301" + `tude 🎸🎸🎸 of wide and combining letters, 語語語語語語語語語語語語語語語語語語語語語語
key Gb
meter 12/8
tempo 90
[A]
chords | Gbmaj7 Cb7(#11) | Abm7b5/Ebb |
bass   | 1,3 5 1,b7 b7 | 1 b3,b5 b5 b7 |
words  | e` + "\u0301e\u0301" + ` 道 | 🎸 |
`,
	"uneven": `tune Odd Steps
key C
meter 7/4
tempo 120
swing 2:1
form A B C A
[A]
chords | Cmaj7 . . . Am7 . . | % |
bass   | 1 /3 /5 \3 1@6 3 5 | % |
hits   | on- . . push both push- . | * * * * . . push |
[B]
meter  3/4
comping pushed
chords | Dm7 | G7 |
bass   | \1 /b3 1 | 1 3 1 |
[C]
meter  6/8
comping ballad
chords | C | F |
bass   | 1 5,3 | 1 3 |
`,
	"long": "tune Two hundred bars\nkey Bb\nmeter 4/4\ntempo 200\nform A A B A C B A C A A B A C B A C A A B A C B A B C\n" +
		"[A]\nchords |" + strings.Repeat(" Bbmaj7 G7 | Cm7 F7 |", 4) + "\nbass |" + strings.Repeat(` 1 . . . | 1 . . . |`, 4) +
		"\n[B]\nchords |" + strings.Repeat(" Dm7 | G7 |", 4) + "\nbass |" + strings.Repeat(` /1 . . . | \1 . . . |`, 4) +
		"\n[C]\nchords |" + strings.Repeat(" Cm7 F7(b9) |", 8) + "\n",
}

// hardNecks are instruments from four strings to eight.
func hardNecks() map[string]fretboard.Neck {
	neck := func(frets int, scale float64, left bool, bass []int, tuning ...int) fretboard.Neck {
		return fretboard.Neck{Tuning: tuning, ScaleMM: scale, HighestFret: frets, BassStrings: bass, LeftHanded: left}
	}
	return map[string]fretboard.Neck{
		"six":              fretboard.StandardNeck(),
		"six, left, 24":    neck(24, 628, true, []int{6, 5}, 40, 45, 50, 55, 59, 64),
		"six, drop D, 12":  neck(12, 300, false, []int{6, 5}, 38, 45, 50, 55, 59, 64),
		"four, bass, 24":   neck(24, 864, false, []int{4, 3}, 28, 33, 38, 43),
		"five, left, 20":   neck(20, 900, true, []int{5, 4}, 23, 28, 33, 38, 43),
		"seven, 15":        neck(15, 660, false, []int{7, 6}, 35, 40, 45, 50, 55, 59, 64),
		"eight, 12":        neck(12, 690, false, []int{8, 7}, 28, 35, 40, 45, 50, 55, 59, 64),
		"eight, left, 9":   neck(9, 690, true, []int{8, 7, 6}, 30, 35, 40, 45, 50, 55, 59, 64),
		"six, one bass, 5": neck(5, 648, false, []int{6}, 40, 45, 50, 55, 59, 64),
	}
}

// unclipped fails where the page on top draws more than the room it was given,
// which the frame would cut off, or the frame's own lines do not fit.
func (d *driver) unclipped(t *testing.T, what string) {
	t.Helper()
	f := d.f
	view := f.top().View()
	if w := lipgloss.Width(view); w > f.width {
		for l := range strings.SplitSeq(view, "\n") {
			if lipgloss.Width(l) > f.width {
				t.Errorf("%s: %d columns on a terminal of %d:\n%s", what, w, f.width, ansi.Strip(l))
				break
			}
		}
	}
	if h := lipgloss.Height(view); h > f.height-chrome {
		t.Errorf("%s: %d rows of %d:\n%s", what, h, f.height-chrome, ansi.Strip(view))
	}
	whole := d.view()
	lines := strings.Split(whole, "\n")
	assert.Len(t, lines, f.height, what)
	for _, l := range lines {
		if lipgloss.Width(l) > f.width {
			t.Errorf("%s: %q", what, l)
		}
	}
	assert.Contains(t, lines[0], "Footfall  ", what)
	switch foot := lines[len(lines)-1]; {
	case f.said != "":
	case f.typing(): // where ? and q are text
		assert.Contains(t, foot, "ctrl+c "+abortSays, what)
		assert.NotContains(t, foot, "? keys", what)
		assert.NotContains(t, foot, "q quit", what)
	default:
		assert.Contains(t, foot, "? keys", what)
		assert.Contains(t, foot, "q quit", what)
	}
}

// Every page in every state draws no more than there is room for, on every neck,
// at every size, whatever the tune.
func TestEveryPageFits(t *testing.T) {
	racetest.Alone(t)
	chance := rand.New(rand.NewPCG(5, 8))
	share := 3 // of 40 combinations that are tried
	if testing.Short() {
		share = 1
	}
	for name, n := range hardNecks() {
		s := ready(t) // once for a neck: what there is to ask on it takes long to work out
		s.Desk.Neck = n
		for title, text := range hardTunes {
			tn, faults := tune.Read(text)
			require.Empty(t, faults, title)
			s.Desk.Put(session.Tune{Name: title, Tune: tn})
			for _, ascii := range []bool{false, true} {
				r := lipgloss.NewRenderer(nil)
				r.SetColorProfile(termenv.Ascii)
				s.Theme = theme.New(r, ascii)
				for _, size := range [][2]int{{60, 20}, {80, 24}, {100, 30}, {120, 40}, {200, 60}} {
					d := drive(t, s, size[0], size[1])
					for _, st := range states(title) {
						if chance.IntN(40) >= share {
							continue
						}
						if kind, _, _ := strings.Cut(st.id.Arg, " "); st.id.Kind == "drill" && len(n.Tuning) > 6 && (kind == "shape" || kind == "build" || kind == "same" || kind == "near" || kind == "mixed") {
							continue // searching many frets of eight strings takes seconds
						}
						d.come(st)
						if d.f.small() {
							continue // the page says so
						}
						d.unclipped(t, fmt.Sprintf("%s; %s; %d×%d; %s", name, title, size[0], size[1], st.name))
						if t.Failed() {
							return
						}
					}
				}
			}
		}
	}
}

// In all twelve keys the arrangement, the play-along and the tune room fit, and
// show the key's chords.
func TestEveryKeyFits(t *testing.T) {
	racetest.Alone(t)
	for title, text := range hardTunes {
		s := ready(t)
		tn, faults := tune.Read(text)
		require.Empty(t, faults, title)
		for semitones := range 12 {
			moved := *tn
			if semitones > 0 {
				a, _, err := fretboard.ArrangeInKey(tn, tn.Key.Up(semitones), s.Desk.Neck, s.Desk.Hand, fretboard.Bass)
				require.NoError(t, err)
				moved = *a.Tune
			}
			s.Desk.Put(session.Tune{Name: title, Tune: &moved})
			d := drive(t, s, 80, 24)
			for _, st := range states(title) {
				switch st.id.Kind {
				case "arrangement", "play", "edit":
					d.come(st)
					d.unclipped(t, fmt.Sprintf("%s up %d; %s", title, semitones, st.name))
				}
			}
		}
	}
}

// A terminal that is too small is told what is needed, within what it has.
func TestSmallTerminalsAreTold(t *testing.T) {
	d := drive(t, ready(t), 80, 24, page.ID{Kind: "review"})
	for _, size := range [][2]int{{60, 20}, {79, 24}, {80, 23}, {200, 10}, {30, 60}, {20, 5}, {10, 3}, {1, 1}} {
		d.send(tea.WindowSizeMsg{Width: size[0], Height: size[1]})
		view := d.view()
		assert.LessOrEqual(t, lipgloss.Width(view), size[0], "%v", size)
		assert.LessOrEqual(t, lipgloss.Height(view), size[1], "%v", size)
		if size[0] >= 20 && size[1] >= 5 {
			words := strings.Join(strings.Fields(view), " ")
			assert.Contains(t, words, "needs 80 columns and 24 rows")
		}
	}
}

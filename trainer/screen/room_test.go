package screen

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/play"
	"footfall/trainer/screen/tuneroom"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// gate is a tune with copies, a split beat, a form and every row.
const gate = `tune   Gate in the Rain
key    C
meter  4/4
tempo  120
swing  2:1
form   A A B

# as we play it
[A]
chords | Dm7         | G7 . . Db7  | Cmaj7 A7  | %            |
bass   | 1 b3 5 b5   | \1 \5 3 1   | 1 5 1,b9 3  | %          |
hits   | on . and .  | both . . .  | %         | . . . .      |
shapes | * . . .     | x-10-12-10-12-x . . . | . . . . | . . . . |
words  | low         |             | two       |              |

[B]
chords | Fmaj7       | . Bb7       | Em7b5 A7(b9) | =A1       |
bass   | 1 3 5 3     | 1 3 1 b7    | 1 b5 1 3     | =A1       |
`

// room is a player's data folder with the tune in a file of theirs.
func room(t testing.TB, profile termenv.Profile) (s *Services, path string) {
	s = services(t, profile, nil)
	data, err := os.MkdirTemp("", "footfall-room-")
	require.NoError(t, err)
	t.Cleanup(func() { // a draft may still be on its way there
		require.Eventually(t, func() bool { return os.RemoveAll(data) == nil }, time.Minute, 10*time.Millisecond)
	})
	s.Book = tunebook.In(data)
	path = s.Book.Path("gate")
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, []byte(gate), 0o600))
	tn, faults := tune.Read(gate)
	require.Empty(t, faults)
	s.Desk.Tunes = append(s.Desk.Tunes, session.Tune{Name: "gate", Tune: tn, Path: path})
	return s, path
}

func onDisk(t testing.TB, path string) string {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}

func (d *driver) pressAll(keys string) { d.press(strings.Fields(keys)...) }

func TestEditingATune(t *testing.T) {
	s, path := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.sees("A 1  beat 1  bass   1   D over Dm7, ")
	d.sees(", string ")
	d.pressAll("right /3")
	d.sees("A 1  beat 2  bass   /3▏")
	d.press("enter")
	d.sees("A 1  beat 3  bass")
	d.sees("not saved")
	d.press("4", "4", "enter")
	d.sees(`Not yet: found "44"; write a degree`)
	d.pressAll("esc up G13 enter")
	d.sees("A 2  beat 1  chords   G7")
	d.press("ctrl+s")
	d.sees("Saved in ")
	saved := onDisk(t, path)
	assert.Contains(t, saved, "G13 ")
	assert.Contains(t, saved, "1 /3 5 b5")
	assert.Contains(t, saved, "# as we play it")
	d.pressAll("u u u")
	d.sees("There is nothing to undo")
	d.sees("not saved")
	d.pressAll("U U ctrl+s")
	d.sees("Nothing has changed")
	assert.Equal(t, saved, onDisk(t, path))
	d.pressAll("esc esc")
	tn, err := s.Desk.Tune("gate")
	require.NoError(t, err)
	assert.Equal(t, saved, tune.Write(tn.Tune), "the desk has what was saved")
}

func TestABuiltInTuneIsSavedAmongThePlayersOwn(t *testing.T) {
	s, _ := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24)
	d.pressAll("down down down down down down e") // below the player's own
	d.sees("edit · Lantern Street")
	d.sees("built in")
	d.pressAll("b7 enter ctrl+s")
	assert.Contains(t, strings.Join(strings.Fields(d.view()), " "), "it stands in for the built-in tune")
	path := s.Book.Path("lantern-street")
	assert.Contains(t, onDisk(t, path), "b7 3 5")
	own, _ := s.Book.Tunes()
	require.Len(t, own, 2)
	assert.Equal(t, "lantern-street", own[1].Name)
}

// What is not saved is kept, offered again, and dropped once saved or thrown
// away.
func TestUnsavedWorkOutlivesTheProgram(t *testing.T) {
	s, path := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.press("/5", "enter")
	// No quitting, no leaving: the program is gone.
	again := func() *driver {
		fresh := services(t, termenv.Ascii, nil)
		fresh.Book, fresh.Desk.Tunes = s.Book, s.Desk.Tunes
		return drive(t, fresh, 80, 24, EditOf("gate"))
	}
	d = again()
	d.sees("Work on this tune that was never saved is still here")
	d.press("esc")
	d = again()
	d.press("enter")
	d.sees("Your unsaved work is back")
	assert.Equal(t, gate, onDisk(t, path))
	d.press("u")
	d.sees("A 1  beat 1  bass   1 ")
	d = again()
	d.sees("beat 1  bass   1 ") // undone to what is in the file, so nothing is unsaved
	d.pressAll("/5 enter q")
	assert.True(t, d.quit)
	d = again()
	d.press("delete")
	d.sees("A 1  beat 1  bass   1 ")
	d = again()
	d.sees("A 1  beat 1  bass   1 ")
	d.pressAll("/5 enter ctrl+s")
	d = again()
	d.sees("A 1  beat 1  bass   typed /5 ")
	assert.Contains(t, onDisk(t, path), "/5 b3 5 b5")
}

func TestASaveThatFailsLosesNothing(t *testing.T) {
	s, path := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.press("/5", "enter")
	require.NoError(t, os.WriteFile(path, []byte("theirs"), 0o600))
	d.press("ctrl+s")
	d.sees("Not saved: another program has changed")
	assert.Equal(t, "theirs", onDisk(t, path))
	d.press("ctrl+s")
	d.sees("Saved in")

	// A folder that takes no file: here because it is none.
	require.NoError(t, os.RemoveAll(filepath.Dir(path)))
	require.NoError(t, os.WriteFile(filepath.Dir(path), nil, 0o600))
	d.press("/1", "enter", "ctrl+s")
	d.sees("Not saved, the file is as it was")
	d.sees("not saved")
	d.press("left", "left")
	d.sees("beat 1  bass   typed /5")
}

func TestComposingAndJudging(t *testing.T) {
	s, _ := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.pressAll("space tab")
	d.sees("2 ====")
	d.press("w")
	d.sees("Composed 2 bars: approaches.")
	first := d.view()
	d.press("w")
	assert.NotEqual(t, first, d.view(), "another line")
	d.pressAll("u u esc J")
	d.sees("good   beat 1: the bar spells out G7")
	d.press("T")
	d.sees("There is no suggestion")
	d.press("b5 4 b5 4", "enter", "shift+tab")
	d.sees("fault  beat")
	d.sees("suggestion: ")
	bad := d.view()
	d.press("T")
	assert.NotEqual(t, bad, d.view())
	d.pressAll("esc >")
	d.sees("Now in Db, where the line leaves the bass strings.")
}

func TestHearingWhatIsNotSaved(t *testing.T) {
	s, _ := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.pressAll("right 3 enter p")
	d.sees("nothing sounds in the tests")
	playable(s)
	d.pressAll("p")
	d.sees("play along")
	p, ok := d.f.top().(*play.Page)
	require.True(t, ok)
	assert.Contains(t, tune.Write(p.Tune()), "1 3 5 b5")
}

// However the keys fall: no panic, no view larger than the terminal, the file
// always a whole tune and only changed by ctrl+s; and undo to the start gives the
// start.
func TestRandomKeysInTheTuneRoom(t *testing.T) {
	racetest.Alone(t)
	n := 10_000
	if testing.Short() {
		n = 1_000
	}
	s, path := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	start, _ := tune.Read(gate)
	chance := rand.New(rand.NewPCG(7, 7))
	keys := []string{"enter", "enter", "enter", "esc", "up", "down", "left", "right", "up", "down", "left", "right", "backspace", "space", "home", "end", "pgup", "pgdown",
		"tab", "shift+tab", "delete", "ctrl+s", "u", "u", "U", "w", "W", "j", "J", "T", "<", ">", "m", "M", "?",
		"1", "b3", "/5", `\b7`, "5,6", "-", ".", "%", "=A1", "Dm7", "G7 C", "N.C.", "A7(b9)", "on", "both", "*", "x-x-3-4-5-x", "words", "é", "|", "#", "nonsense"}
	saves, most := 0, 0
	for range n {
		k := keys[chance.IntN(len(keys))]
		before := onDisk(t, path)
		d.press(k)
		if len(d.f.stack) == 1 {
			d.send(page.Open{ID: EditOf("gate")})
		}
		if chance.IntN(50) == 0 {
			d.send(tea.WindowSizeMsg{Width: 80 + chance.IntN(150), Height: 24 + chance.IntN(40)})
		}
		if room, ok := d.f.top().(*tuneroom.Page); ok {
			undo, _ := room.Steps()
			most = max(most, undo)
		}
		view := d.f.View()
		require.LessOrEqual(t, lipgloss.Height(view), d.f.height)
		if lipgloss.Width(view) > d.f.width {
			t.Fatalf("wider than %d after %q:\n%s", d.f.width, k, view)
		}
		if after := onDisk(t, path); after != before {
			require.Equal(t, "ctrl+s", k)
			saves++
			_, faults := tune.Read(after)
			require.Empty(t, faults)
		}
	}
	assert.NotZero(t, saves, "the keys do something")
	assert.Greater(t, most, n/200, "steps to undo")
	d.pressAll("esc esc esc")
	if len(d.f.stack) == 1 {
		d.send(page.Open{ID: EditOf("gate")})
	}
	for range n {
		d.press("u")
	}
	d.press("ctrl+s")
	assert.Equal(t, tune.Write(start), onDisk(t, path))
}

// The views as a player sees them; each golden was looked at.
func TestTuneRoomViews(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {200, 60}} {
		for _, profile := range []termenv.Profile{termenv.Ascii, termenv.TrueColor} {
			t.Run(fmt.Sprintf("%dx%d %s", size[0], size[1], map[termenv.Profile]string{termenv.TrueColor: "colour", termenv.Ascii: "no colour"}[profile]), func(t *testing.T) {
				var b strings.Builder
				s, _ := room(t, profile)
				d := drive(t, s, size[0], size[1], EditOf("gate"))
				shot := func(what string) {
					view := d.f.View()
					lines := strings.Split(view, "\n")
					assert.Len(t, lines, size[1], what)
					for _, l := range lines {
						assert.LessOrEqual(t, lipgloss.Width(l), size[0], what)
					}
					fmt.Fprintf(&b, "== %s\n%s\n", what, view)
				}
				shot("opened")
				d.press("right", `\b`)
				shot("typing what is no token yet")
				d.press("esc", `1 \5,6 5`)
				shot("typing three beats")
				d.pressAll("enter u home tab space tab")
				shot("selected")
				d.press("w", "left")
				shot("composed, and why")
				d.press("esc", "J")
				shot("judged")
				d.press("esc", "?")
				shot("keys")
				golden.RequireEqual(t, []byte(b.String()))
			})
		}
	}
}

// BenchmarkKeyInTheTuneRoom puts a token into a tune of 500 bars and draws it:
// two keys and two frames. The budget is 100 ms a token on one core; a song of 32
// bars takes a tenth.
func BenchmarkKeyInTheTuneRoom(b *testing.B) {
	for _, bars := range []int{32, 500} {
		for _, size := range [][2]int{{80, 24}, {200, 60}} {
			b.Run(fmt.Sprintf("%d/%dx%d", bars, size[0], size[1]), func(b *testing.B) {
				s, _ := room(b, termenv.TrueColor)
				text := "tune Long\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords |" + strings.Repeat(" Dm7 G7 |", bars) + "\nbass |" + strings.Repeat(` 1 b3 \1 3 |`, bars) + "\n"
				tn, faults := tune.Read(text)
				require.Empty(b, faults)
				s.Desk.Put(session.Tune{Name: "long", Tune: tn})
				d := drive(b, s, size[0], size[1], EditOf("long"))
				for i := 0; b.Loop(); i++ {
					d.press([]string{"5", "1"}[i%2])
					_ = d.f.View()
					d.press("enter")
					_ = d.f.View()
				}
			})
		}
	}
}

// A shape is chosen for a hit, in the tune room or from the arrangement, and pinned
// into the shapes row: a change like any other.
func TestAShapeIsChosenAndPinned(t *testing.T) {
	s, path := room(t, termenv.Ascii)
	written, _ := tune.Read(onDisk(t, path))
	start := tune.Write(written)
	d := drive(t, s, 80, 24, EditOf("gate"))
	d.press("z")
	d.sees("shape 2 of ")
	d.sees("enter pins it")
	second := chosenFrets.FindStringSubmatch(d.view())[1]
	d.pressAll("Z")
	d.sees("the arrangement's own; enter pins it")
	d.pressAll("z enter ctrl+s")
	assert.Contains(t, onDisk(t, path), "shapes | "+second+" ")
	a, err := fretboard.Arrange(mustTune(t, s), s.Desk.Neck, s.Desk.Hand, fretboard.BassHalves, fretboard.InSchool(fretboard.Shells))
	require.NoError(t, err)
	assert.Equal(t, second, fretboard.FormatFrets(firstShape(a).Frets), "what is pinned stays, in any school")
	d.pressAll("u ctrl+s")
	assert.Equal(t, start, onDisk(t, path))
	d.pressAll("right z")
	d.sees("no shape is struck on beat 2")

	d = drive(t, s, 80, 24, page.ID{Kind: "arrangement", Tune: "gate"})
	d.press("z")
	d.sees("shape 2 of ")
	list := regexp.MustCompile(`› +2 +(\S+)`)
	d.send(tea.WindowSizeMsg{Width: 120, Height: 40})
	second = list.FindStringSubmatch(d.view())[1]
	d.press("enter")
	d.sees("arrangement")
	d.sees("Pinned " + second + " on beat 1 of this bar")
	d.sees(second + ", pinned: ")
	d.sees("[1]")
	assert.Contains(t, onDisk(t, path), "shapes | "+second+" ", "it is saved")
	d.press("u")
	d.sees("Taken back")
	assert.Equal(t, start, onDisk(t, path))
	assert.NotContains(t, d.view(), second+", pinned")
	d.press("u")
	d.sees("Nothing was pinned here")
	d.press("right", "z")
	d.sees("No shape is struck on this beat")

	// Work that is not saved is not lost to a pin.
	d.send(page.Open{ID: EditOf("gate")})
	d.pressAll("right 3 enter esc")
	d.press("home", "z", "enter")
	d.sees("Not pinned: work on this tune is not saved yet")
	assert.Equal(t, start, onDisk(t, path))
}

var chosenFrets = regexp.MustCompile(`shape 2 of \d+ over \S+: (\S+) instead`)

func mustTune(t testing.TB, s *Services) *tune.Tune {
	tn, err := s.Desk.Tune("gate")
	require.NoError(t, err)
	return tn.Tune
}

func firstShape(a *fretboard.Arrangement) *fretboard.Event {
	for i := range a.Events {
		if a.Events[i].Kind == fretboard.ShapeEvent {
			return &a.Events[i]
		}
	}
	return nil
}

// The bar line ends the tune at one place after the other, each taken back at once.
func TestATuneEndsAtAnotherPlace(t *testing.T) {
	s, _ := room(t, termenv.Ascii)
	d := drive(t, s, 80, 24, EditOf("gate"))
	before := d.view()
	d.press("|")
	d.sees("Ending 1 of 3: ")
	first := d.view()
	d.press("|")
	d.sees("Ending 2 of 3: ")
	assert.NotEqual(t, first, d.view())
	d.pressAll("| |")
	d.sees("Ending 1 of 3: ")
	d.pressAll("u home")
	assert.NotContains(t, d.view(), "Ending")
	assert.Equal(t, strings.Count(before, "|"), strings.Count(d.view(), "|"), "one undo takes the ending back")
}

package screen

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/harmony/tune"
	"footfall/trainer/screen/adding"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/tuneroom"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// state is a page that a player can come to, and the keys that bring it into a
// state of its own.
type state struct {
	name string
	id   page.ID
	keys []string
}

// states are all pages about a tune, in each state that draws something else.
func states(name string) []state {
	drill := func(d string, keys ...string) state {
		return state{fmt.Sprintf("%s %v", d, keys), DrillOf(session.Choice{Drill: d, Tune: name}), keys}
	}
	room := func(says string, keys ...string) state { return state{"edit, " + says, EditOf(name), keys} }
	arranged := page.ID{Kind: "arrangement", Tune: name}
	return []state{
		{"home", Home, nil}, {"home, a tune", Home, []string{"end"}}, {"home, finding", Home, []string{"/", "l", "a"}}, {"home, found none", Home, []string{"/", "#"}},
		{"drills", page.ID{Kind: "drills"}, nil}, {"drills, one that needs a tune", page.ID{Kind: "drills"}, []string{"home", "left", "right", "right", "right"}},
		{"drills, a tune", page.ID{Kind: "drills"}, []string{"end"}},
		drill("find"), drill("find", "right", "right"), drill("find", "enter"), drill("find", "3", "enter"), drill("find", "3", "enter", "esc"),
		drill("name"), drill("name", "1", "enter"), drill("spell"), drill("spell", "C", "enter"),
		drill("line"), drill("line", "6", "space", "3", "enter"),
		drill("shape"), drill("shape", "1", "enter"), drill("build"), drill("build", "right", "space", "up", "space"), drill("build", "right", "space", "enter"),
		drill("same"), drill("same", "1", "enter"), drill("near"), drill("near", "1", "enter"), drill("mixed"),
		drill("hits"), drill("hits", "1", "2"), drill("hits", "1", "enter"), drill("hits", "space"),
		{"arrangement", arranged, nil}, {"arrangement, next beat", arranged, []string{"right", "right"}},
		{"arrangement, last bar", arranged, []string{"end"}}, {"arrangement, next shape", arranged, []string{"z"}},
		{"arrangement, shells", arranged, []string{"S"}}, {"arrangement, bass", arranged, []string{"g"}}, {"arrangement, fingers", arranged, []string{"F"}},
		{"play", PlayOf(name), nil}, {"play, one bar, other clicks", PlayOf(name), []string{"]", "H", "c", "g"}},
		{"play, choosing", PlayOf(name), []string{","}}, {"play, choosing the last", PlayOf(name), []string{",", "right", "up", "right"}},
		room("opened"), room("typing", "enter", "x"), room("words", "down", "down", "down", "enter", "new words"),
		room("selected", "space", "tab"), room("composed", "w"), room("judged", "J"), room("last bar", "end"), room("ended", "|", "|"), room("moved", ">", ">"),
		{"today", TodayOf("", 0), nil}, {"today, shorter", TodayOf("", 0), []string{"down", "down", "-"}},
		{"today, a step", TodayOf("", 0), []string{"enter"}}, {"today, a lesson", TodayOf("", 0), []string{"up", "up", "up", "up", "down", "enter"}},
		{"lessons", Lessons, nil}, {"lessons, the last", Lessons, []string{"end"}},
		{"lesson", LessonOf("major-or-minor"), nil}, {"lesson, read on", LessonOf("major-or-minor"), []string{"right", "down", "down", "down", "down", "down"}},
		{"task", page.ID{Kind: "task", Arg: "1 what-a-degree-is"}, nil},
		{"review", page.ID{Kind: "review"}, nil}, {"review, table", page.ID{Kind: "review"}, []string{"v"}},
		{"shapes", page.ID{Kind: "shapes"}, nil}, {"shapes, up the neck", page.ID{Kind: "shapes"}, []string{"right", "v", "right"}}, {"shapes, typing", page.ID{Kind: "shapes"}, []string{"enter", "H", "enter"}},
		{"inputs", page.ID{Kind: "inputs"}, nil},
		{"settings", Preferences, nil}, {"settings, changed", Preferences, []string{"end", "right"}}, {"settings, typing", Preferences, []string{"enter", "E", "2"}},
		{"settings, refused", Preferences, []string{"enter", "E", "2", "enter"}},
		{"welcome", Welcome, nil}, {"welcome, the last", Welcome, []string{"enter", "down", "enter"}},
		{"add", page.ID{Kind: "add"}, nil}, {"add, nothing", page.ID{Kind: "add"}, []string{"ctrl+s"}},
		{"add, a mistyped chord", page.ID{Kind: "add"}, []string{"D", "m", "7", "x", "ctrl+s"}}, {"add, asked", page.ID{Kind: "add"}, []string{"D", "m", "7", "ctrl+s"}},
	}
}

// Every kind of page has a state, so that it is tried at every size and in every key.
func TestEveryPageHasAState(t *testing.T) {
	d := drive(t, ready(t), 80, 24)
	var tried []string
	for _, s := range states("gate") {
		d.come(s)
		tried = append(tried, d.f.stack[len(d.f.stack)-1].Kind)
	}
	for kind := range makers {
		assert.Contains(t, tried, kind, "a row in states is missing")
	}
}

// Every package of screens that has tests takes -update, so that one command writes
// all golden files.
func TestEveryPackageTakesUpdate(t *testing.T) {
	takes := map[string]bool{}
	require.NoError(t, filepath.WalkDir(".", func(path string, _ fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, "_test.go") {
			var text []byte
			text, err = os.ReadFile(path)
			takes[filepath.Dir(path)] = takes[filepath.Dir(path)] || strings.Contains(string(text), "charmbracelet/x/exp/golden\"")
		}
		return err
	}))
	require.Greater(t, len(takes), 10)
	for folder, ok := range takes {
		assert.True(t, ok, "the tests of %s import no golden package", folder)
	}
}

// come opens a state's page, over the first one.
func (d *driver) come(s state) {
	for len(d.f.stack) > 1 {
		d.send(page.Back{})
	}
	if s.id != Home {
		d.send(page.Open{ID: s.id})
	} else {
		d.press("esc", "home") // nothing is looked for, and the first line is pointed at
	}
	if t, ok := d.f.top().(*tuneroom.Page); ok && t.Typing() {
		d.press("esc") // what was typed when the page was left
	}
	if _, ok := d.f.top().(*adding.Page); ok {
		d.press("ctrl+l") // the same
	}
	d.f.said = "" // by a page that was left
	d.press(s.keys...)
}

// playable lets services play along, unheard.
func playable(s *Services) {
	s.Passage.Ramp = "60:120+4"
	s.Desk.Sounding = session.Sounding{Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings()}
}

// ready is services with the tune gate, and everything that can be opened.
func ready(t testing.TB) *Services {
	s, _ := room(t, termenv.Ascii)
	gateTune, faults := tune.Read(gate)
	require.Empty(t, faults)
	s.Desk.Put(session.Tune{Name: "gate", Tune: gateTune})
	playable(s)
	return s
}

package screen

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/screen/page"
)

// A chart that is pasted becomes a tune on the desk and in the folder, in five
// answers, and is shown.
func TestAPastedChartBecomesATune(t *testing.T) {
	s := ready(t)
	d := drive(t, s, 80, 24)
	d.send(page.Open{ID: page.ID{Kind: "add"}})
	d.press(strings.Split("Dm7 G7   Cmaj7   Am7 D7 Em7", "")...)
	d.press("ctrl+s")
	assert.Contains(t, d.view(), "What is it called?")
	for _, answer := range []string{"Wet Steps", "H", "C", "140", "swing", "3: Am7 . D7 Em7"} {
		d.press(strings.Split(answer, "")...)
		d.press("enter")
		if answer == "H" {
			assert.Contains(t, d.view(), "is no key")
			d.press("backspace")
		}
	}
	assert.Regexp(t, `1 \| Dm7 G7 \| Cmaj7 \| Am7 \. D7 Em7`, d.view())
	assert.Contains(t, d.view(), "Is it right?", "the corrected chart is shown again")
	d.press("enter")
	var path string
	require.Eventually(t, func() bool {
		tn, err := s.Desk.Tune("wet-steps")
		path = tn.Path
		return err == nil
	}, 5*time.Second, time.Millisecond)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(text), "Am7 . D7 Em7")
	assert.Contains(t, string(text), "bass")
	assert.Equal(t, page.ID{Kind: "arrangement", Tune: "wet-steps"}, d.f.stack[len(d.f.stack)-1])
	assert.Contains(t, d.view(), "among your tunes")
}

// What is typed and not taken in yet outlives its page, until it is a tune.
func TestATypedChartIsKept(t *testing.T) {
	s := ready(t)
	add := page.Open{ID: page.ID{Kind: "add"}}
	d := drive(t, s, 80, 24)
	d.send(add)
	d.press(strings.Split("Dm7 G7   Cmaj7   Am7 D7 Em7", "")...)
	d.press("esc")
	d.sees("is kept")
	d.send(add)
	d.sees("Dm7 G7   Cmaj7   Am7 D7 Em7")
	d.press("ctrl+l")
	assert.NotContains(t, d.view(), "Dm7 G7")
	d.press("ctrl+l")
	d.press("ctrl+s", "enter", "enter", "enter", "enter")
	d.sees("Is it right?")
	d.press("enter")
	require.Eventually(t, func() bool { _, err := s.Desk.Tune("new-tune"); return err == nil }, 5*time.Second, time.Millisecond)
	d.press("esc")
	d.send(add)
	assert.NotContains(t, d.view(), "Dm7 G7", "it is a tune now")
}

// A chart that is too long for the page is turned.
func TestALongChartIsTurned(t *testing.T) {
	d := drive(t, ready(t), 80, 24)
	d.send(page.Open{ID: page.ID{Kind: "add"}})
	for i := range 80 {
		d.press("C", string("6m7"[i%3]), " ", "|", " ")
	}
	d.press("ctrl+s")
	d.sees(" 1 |")
	assert.NotContains(t, d.view(), "  77 |")
	d.press("pgdown", "pgdown")
	d.sees("  77 |")
	d.sees("What is it called?")
	d.press("pgup", "pgup")
	d.sees(" 1 |")
}

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

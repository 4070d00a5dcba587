package drill

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

type keys struct {
	answer, move, ends, place, tap, text, next, help, slip, sounds key.Binding
}

func newKeys(t *theme.Theme) keys {
	return keys{
		answer: page.Act.Key(t, "answer"),
		move:   page.Arrows(t, "point on the neck"),
		ends:   page.FirstLast.Key(t, "first fret, last"),
		place:  page.Switch.Key(t, "place a note, remove it"),
		tap:    page.Switch.Key(t, "start, then tap"),
		text:   page.Text("0-9 a-g #", "type the answer"),
		next:   page.Act.Key(t, "go on"),
		help:   page.Next.Key(t, "don't know"),
		slip:   page.Undo.Key(t, "take it back"),
		sounds: page.Hear.Key(t, "sound of right, wrong"),
	}
}

// forAsk shows the keys that a question of a kind takes.
func (k *keys) forAsk(kind memory.Kind, a drills.Ask) {
	points := a.Takes&(drills.FormPlace|drills.FormPlaces) != 0
	k.move.SetEnabled(points)
	k.ends.SetEnabled(points)
	k.place.SetEnabled(a.Takes&drills.FormPlaces != 0)
	k.tap.SetEnabled(a.Takes&drills.FormTaps != 0)
	k.text = page.Text(typed(kind, a))
	k.text.SetEnabled(a.Takes&drills.FormText != 0)
}

// typed are the keys that spell an answer, and what they do.
func typed(kind memory.Kind, a drills.Ask) (shown, does string) {
	switch kind {
	case memory.Find:
		return "0-9", "type a fret"
	case memory.Line:
		return "0-9", "type string and fret"
	case memory.Name:
		return "0-9 b #", "type a degree"
	case memory.Spell:
		return "a-g #", "type a note"
	case memory.Build:
		return "0-9 x -", "type the frets"
	case memory.Leading:
		return `0-9 b # / \`, "type the degrees"
	case memory.Hits:
		return "0-9 +", "type the beats"
	}
	if len(a.Choices) > 0 {
		return fmt.Sprintf("1-%d", len(a.Choices)), fmt.Sprintf("type one of %d answers", len(a.Choices))
	}
	return "0-9 a-g #", "type the answer"
}

func (k *keys) of(s state) []key.Binding {
	switch s {
	case asking, keeping:
		return []key.Binding{k.answer, k.help, k.place, k.tap, k.move, k.text, k.ends, k.slip, k.sounds}
	case tapping:
		return []key.Binding{k.tap}
	}
	if s == judged {
		return []key.Binding{k.next, k.slip, k.sounds}
	}
	return []key.Binding{k.next}
}

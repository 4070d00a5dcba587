package drill

import (
	"github.com/charmbracelet/bubbles/key"

	"footfall/drills"
	"footfall/trainer/screen/theme"
)

type keys struct {
	answer, move, place, text, next key.Binding
}

func newKeys(t *theme.Theme) keys {
	g := t.Glyphs
	return keys{
		answer: key.NewBinding(key.WithKeys("enter"), key.WithHelp("enter", "answer")),
		move: key.NewBinding(key.WithKeys("left", "right", "up", "down", "home", "end"),
			key.WithHelp(g.Left+" "+g.Right+" "+g.Up+" "+g.Down, "point on the neck")),
		place: key.NewBinding(key.WithKeys(" "), key.WithHelp("space", "put a note down")),
		text:  key.NewBinding(key.WithKeys("0"), key.WithHelp("0-9 a-g b #", "type the answer")),
		next:  key.NewBinding(key.WithKeys("enter", " "), key.WithHelp("enter", "on")),
	}
}

// forAsk shows the keys that a question takes.
func (k *keys) forAsk(a drills.Ask) {
	k.move.SetEnabled(a.Takes&(drills.FormPlace|drills.FormPlaces) != 0)
	k.place.SetEnabled(a.Takes&drills.FormPlaces != 0)
	k.text.SetEnabled(a.Takes&drills.FormText != 0)
}

func (k *keys) of(s state) []key.Binding {
	if s == asking || s == keeping {
		return []key.Binding{k.answer, k.place, k.move, k.text}
	}
	return []key.Binding{k.next}
}

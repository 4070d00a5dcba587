package tuneroom

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"

	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

type keys struct {
	move, bars, ends, open, typed, clear, commit     key.Binding
	undo, redo, mark, walk, style, judge, better     key.Binding
	hear, up, down, insert, remove, save, goOn, drop key.Binding
}

func newKeys(t *theme.Theme) keys {
	g := t.Glyphs
	one := func(k, says string) key.Binding { return key.NewBinding(key.WithKeys(k), key.WithHelp(k, says)) }
	return keys{
		move:   key.NewBinding(key.WithKeys("left", "right", "up", "down"), key.WithHelp(g.Left+" "+g.Right+" "+g.Up+" "+g.Down, "beat, row")),
		bars:   key.NewBinding(key.WithKeys("tab", "shift+tab"), key.WithHelp("tab shift+tab", "a bar on, a bar back")),
		ends:   key.NewBinding(key.WithKeys("home", "end", "pgup", "pgdown"), key.WithHelp("home end pgup pgdown", "further")),
		open:   one("enter", "change"),
		typed:  key.NewBinding(key.WithKeys("1"), key.WithHelp("1 b3 /5 Dm7 %", "write over it")),
		clear:  key.NewBinding(key.WithKeys("delete", "backspace"), key.WithHelp("delete", "empty it")),
		commit: one("enter", "put it in"),
		undo:   one("u", "undo"),
		redo:   one("U", "redo"),
		mark:   key.NewBinding(key.WithKeys(" "), key.WithHelp("space", "select bars")),
		walk:   one("w", "compose"),
		style:  one("W", "style of composing"),
		judge:  one("v", "judge"),
		better: one("V", "take the better bar"),
		hear:   one("p", "play along"),
		up:     one("t", "a semitone up"),
		down:   one("T", "a semitone down"),
		insert: one("i", "a bar more"),
		remove: one("I", "take bars out"),
		save:   one("ctrl+s", "save"),
		goOn:   one("enter", "go on with it"),
		drop:   one("d", "throw it away"),
	}
}

// Keys lists the keys that work now, as far as they are not told on the page.
func (p *Page) Keys() []key.Binding {
	k := p.keys
	switch {
	case p.found != nil:
		return nil
	case p.typing:
		return []key.Binding{k.commit}
	case p.judging:
		return []key.Binding{k.better, k.walk, k.undo, k.save}
	}
	return []key.Binding{k.open, k.walk, k.undo, k.save}
}

// MoreKeys lists the other keys.
func (p *Page) MoreKeys() []key.Binding {
	k := p.keys
	if p.found != nil {
		return []key.Binding{k.goOn, k.drop}
	}
	if p.judging {
		return []key.Binding{k.open, k.judge, k.redo, k.move, k.bars, k.ends, k.mark, k.typed, k.clear, k.insert, k.remove, k.style, k.hear, k.up, k.down}
	}
	return []key.Binding{k.judge, k.redo, k.move, k.bars, k.ends, k.mark, k.typed, k.clear, k.insert, k.remove, k.style, k.hear, k.up, k.down}
}

// starts reports whether a rune begins a token of a row, so that no key has to
// be pressed before it.
func starts(row tune.Row, r rune) bool {
	in := map[tune.Row]string{
		tune.ChordsRow: "ABCDEFGN.%=",
		tune.BassRow:   `1234567890b#/\-.,%=`,
		tune.HitsRow:   "oab.%=",
		tune.ShapesRow: "0123456789x*.%=",
	}[row]
	return strings.ContainsRune(in, r)
}

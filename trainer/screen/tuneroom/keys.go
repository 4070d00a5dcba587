package tuneroom

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"

	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

type keys struct {
	move, bars, back, ends, lines, open, typed, clear, commit key.Binding
	undo, redo, mark, walk, style, judge, better              key.Binding
	hear, up, down, insert, remove, pin, save, goOn, drop     key.Binding
	next, before, end                                         key.Binding
}

func newKeys(t *theme.Theme) keys {
	return keys{
		move:   page.Arrows(t, "beat, row"),
		bars:   page.Next.Key(t, "a bar on"),
		back:   page.Before.Key(t, "a bar back"),
		ends:   page.FirstLast.Key(t, "first bar, last"),
		lines:  page.PageUpDown.Key(t, "a line of bars up, down"),
		open:   page.Act.Key(t, "change"),
		typed:  page.Text("1 b3 /5 Dm7 %", "write over it"),
		clear:  page.Empty.Key(t, "clear it"),
		commit: page.Act.Key(t, "put it in"),
		undo:   page.Undo.Key(t, "undo"),
		redo:   page.Redo.Key(t, "redo"),
		mark:   page.Switch.Key(t, "select bars"),
		walk:   page.Walk.Key(t, "compose"),
		style:  page.Style.Key(t, "style of composing"),
		judge:  page.Judge.Key(t, "judge"),
		better: page.Better.Key(t, "use suggestion"),
		hear:   page.PlayAlong.Key(t, "play along"),
		up:     page.SemitoneUp.Key(t, "a half step up"),
		down:   page.SemitoneDown.Key(t, "a half step down"),
		insert: page.MoreBar.Key(t, "add a bar"),
		remove: page.LessBar.Key(t, "delete bars"),
		pin:    page.Pin.Key(t, "pin to a string"),
		next:   page.Choose.Key(t, "next shape of the hit"),
		before: page.ChooseBack.Key(t, "shape before"),
		end:    page.Ending.Key(t, "another ending"),
		save:   page.Save.Key(t, "save"),
		goOn:   page.Act.Key(t, "go on with it"),
		drop:   page.Empty.Key(t, "throw it away"),
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
		if !p.suggested() {
			return []key.Binding{k.walk, k.undo, k.save, k.better}
		}
		return []key.Binding{k.better, k.walk, k.undo, k.save}
	}
	return []key.Binding{k.open, k.walk, k.undo, k.save}
}

// MoreKeys lists the other keys.
func (p *Page) MoreKeys() []key.Binding {
	k := p.keys
	switch {
	case p.found != nil:
		return []key.Binding{k.goOn, k.drop}
	case p.typing:
		return []key.Binding{k.save}
	}
	more := []key.Binding{
		k.judge, k.better, k.redo, k.typed, k.clear, k.move, k.bars, k.back, k.ends, k.lines, k.mark, k.style, k.insert, k.remove, k.pin, k.next, k.before, k.end, k.up, k.down, k.hear,
	}
	if p.judging {
		more[1] = k.open
	}
	return more
}

// starts reports whether a rune begins a token of a row, so that no key has to
// be pressed before it.
func starts(row tune.Row, r rune) bool {
	in := map[tune.Row]string{
		tune.ChordsRow: "ABCDEFGN.%=",
		tune.BassRow:   `1234567890b#/\-.,%=`,
		tune.HitsRow:   "oab.*%=",
		tune.ShapesRow: "0123456789x*.%=",
	}[row]
	return strings.ContainsRune(in, r)
}

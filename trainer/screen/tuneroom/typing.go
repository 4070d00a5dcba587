package tuneroom

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/harmony/tune"
)

// typeFirst takes a key that may begin a token.
func (p *Page) typeFirst(msg tea.KeyMsg) {
	if msg.Type != tea.KeyRunes || msg.Alt || len(msg.Runes) == 0 {
		return
	}
	if !msg.Paste && !starts(p.doc.At().Row, msg.Runes[0]) {
		return
	}
	p.startTyping(oneLine(string(msg.Runes)))
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// startTyping opens the place with a text.
func (p *Page) startTyping(text string) {
	p.typing = true
	p.input.Reset()
	p.input.Focus()
	p.input.SetValue(text)
	p.input.CursorEnd()
	p.try()
}

func (p *Page) stopTyping() {
	p.typing, p.would, p.refused = false, nil, nil
	p.input.Blur()
}

// typeKey takes a key while a token is typed.
func (p *Page) typeKey(msg tea.KeyMsg) tea.Cmd {
	switch {
	case key.Matches(msg, p.keys.commit):
		p.commit()
		return nil
	case key.Matches(msg, p.keys.save):
		if p.commit(); p.typing {
			return nil
		}
		return p.save()
	}
	var cmd tea.Cmd
	p.input, cmd = p.input.Update(msg)
	p.try()
	return cmd
}

// try works out what the text typed so far would lead to.
func (p *Page) try() { p.would, p.refused = p.doc.Try(p.input.Value()) }

// commit puts what is typed in; a text that is refused stays to be mended.
func (p *Page) commit() {
	text := p.input.Value()
	if strings.TrimSpace(text) == "" && p.doc.At().Row != tune.WordsRow {
		p.stopTyping()
		return
	}
	if err := p.doc.Set(text); err != nil {
		p.refused = err
		return
	}
	p.stopTyping()
}

// opened is the text with which a place opens: one that holds nothing opens
// empty.
func opened(token string) string {
	if token == "." {
		return ""
	}
	return token
}

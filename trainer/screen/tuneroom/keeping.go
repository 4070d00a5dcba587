package tuneroom

import (
	"errors"
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/harmony/tune/edit"
	"footfall/trainer/tunebook"
)

// drafted says what came of keeping a draft.
type drafted struct {
	draft   *tunebook.Draft
	trouble string
}

// keep keeps the tune as it stands apart from its file, or drops the draft where
// all is saved. Work of an earlier time that waits for an answer stays.
func (p *Page) keep() tea.Cmd {
	if p.found != nil {
		return nil
	}
	p.version++
	version, text, draft := p.version, p.doc.Text(), p.Draft
	if !p.unsaved() {
		text = ""
	}
	return func() tea.Msg {
		if err := draft.Keep(version, text); err != nil {
			return drafted{draft, fmt.Sprintf("No draft can be kept (%v): save with ctrl+s.", err)}
		}
		return drafted{draft, ""}
	}
}

// save replaces the file.
func (p *Page) save() tea.Cmd {
	path := p.File.Path()
	if path == "" {
		p.said = "There is no folder to save in."
		return nil
	}
	if !p.unsaved() && p.File.Text() != "" {
		p.said = "Nothing has changed since it was saved in " + path
		return nil
	}
	err := p.File.Replace(p.doc.Text())
	switch {
	case errors.Is(err, tunebook.ErrChanged):
		p.said = fmt.Sprintf("Not saved: another program has changed %s. ctrl+s again replaces it.", path)
		return nil
	case err != nil:
		p.said = fmt.Sprintf("Not saved, the file is as it was: %v", err)
		return nil
	}
	p.saved = p.doc.Text()
	p.said = "Saved in " + path
	if p.BuiltIn {
		p.said += "; it stands in for the built-in tune"
	}
	p.Saved(p.doc.Tune())
	return p.keep()
}

// offered takes the answer to whether work of an earlier time is gone on with.
func (p *Page) offered(msg tea.KeyMsg) tea.Cmd {
	f := p.found
	switch {
	case key.Matches(msg, p.keys.goOn):
		p.found = nil
		if faults := p.doc.Replace(f.text); len(faults) > 0 {
			p.said = faults[0].Error()
			return nil
		}
		p.doc.GoTo(edit.Place{Row: p.doc.At().Row})
		p.said = "Your unsaved work is back. u takes you to what is in the file."
	case key.Matches(msg, p.keys.drop):
		p.found = nil
		return p.keep()
	}
	return nil
}

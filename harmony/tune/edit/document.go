// Package edit is a tune while it is edited: the text as it would be saved, a
// place in it, what can be done there, and undo and redo without end.
//
// A document is a tune at any time: what would make its text unreadable is
// refused with the reason. It knows no keys, screens or files, and whether a
// line can be played is for others to say.
package edit

import (
	"errors"
	"fmt"
	"strings"

	"footfall/harmony/tune"
)

// Place is a place in the tune as written. All but Row count from 0; Beat is 0
// in the words row.
type Place struct {
	Section, Bar int
	Row          tune.Row
	Beat         int
}

// Document is a tune while it is edited. Its methods are for one goroutine.
type Document struct {
	tune *tune.Tune
	text string
	at   Place
	// past and future are what undo and redo go to, the next one last.
	past, future []state
}

// state is a document as it was. The text is all of it: a tune of its own for
// each of thousands of steps would take a hundred times the memory.
type state struct {
	text string
	at   Place
}

// Open makes a document of a tune's text. The faults are those of the text.
func Open(text string) (*Document, tune.Faults) {
	t, faults := tune.Read(text)
	if len(faults) > 0 {
		return nil, faults
	}
	d := &Document{}
	d.text, d.tune = canonical(t)
	return d, nil
}

func mustRead(text string) *tune.Tune {
	t, faults := tune.Read(text)
	if len(faults) > 0 {
		panic(fmt.Sprintf("a text that was read before has faults: %v", faults))
	}
	return t
}

// Tune returns the tune as it stands. It must not be changed.
func (d *Document) Tune() *tune.Tune { return d.tune }

// Text returns the tune's canonical text.
func (d *Document) Text() string { return d.text }

// At returns the place.
func (d *Document) At() Place { return d.at }

// Steps returns how many steps undo and redo can go.
func (d *Document) Steps() (undo, redo int) { return len(d.past), len(d.future) }

// Undo takes back the last change and goes to where it was made. It reports
// false where there is none.
func (d *Document) Undo() bool { return d.step(&d.past, &d.future) }

// Redo makes the change again that was taken back last. It reports false where
// there is none.
func (d *Document) Redo() bool { return d.step(&d.future, &d.past) }

func (d *Document) step(from, to *[]state) bool {
	n := len(*from)
	if n == 0 {
		return false
	}
	s := (*from)[n-1]
	*from = (*from)[:n-1]
	*to = append(*to, state{d.text, s.at})
	d.text, d.tune = s.text, mustRead(s.text)
	d.GoTo(s.at)
	return true
}

// Replace makes another tune's text the document's, as one change. The faults
// are those of the text, which is then not taken.
func (d *Document) Replace(text string) tune.Faults {
	t, faults := tune.Read(text)
	if len(faults) > 0 {
		return faults
	}
	d.take(canonical(t))
	return nil
}

// take makes a canonical text and its tune the document's. A text that changes
// nothing is no change.
func (d *Document) take(text string, t *tune.Tune) {
	if text == d.text {
		return
	}
	d.past = append(d.past, state{d.text, d.at})
	d.future = nil
	d.text, d.tune = text, t
	d.GoTo(d.at)
}

// change does something to a copy of the tune, and takes the copy where it can
// be read.
func (d *Document) change(do func(*tune.Tune) error) error {
	text, t, err := d.changed(do)
	if err != nil {
		return err
	}
	d.take(text, t)
	return nil
}

// changed returns the text and the tune that a change would lead to.
func (d *Document) changed(do func(*tune.Tune) error) (string, *tune.Tune, error) {
	t := mustRead(d.text)
	if err := do(t); err != nil {
		return "", nil, err
	}
	follow(t)
	text := tune.Write(t)
	again, faults := tune.Read(text)
	if len(faults) > 0 {
		return "", nil, inWords(text, faults[0])
	}
	text, again = canonical(again)
	return text, again, nil
}

// canonical returns a tune's text, and the tune as it reads: a comment whose
// line is gone belongs to another one once it is read again.
func canonical(t *tune.Tune) (string, *tune.Tune) {
	text := tune.Write(t)
	if len(t.Comments) > 0 {
		t = mustRead(text)
		text = tune.Write(t)
	}
	return text, t
}

// inWords says a fault with its section, bar and beat, as a player counts.
func inWords(text string, f tune.Fault) error {
	says := f.Found + "; write " + f.Want
	lines := strings.Split(text, "\n")
	line := []rune(lines[f.Line-1])
	before := string(line[:min(len(line), max(0, f.Column-1))])
	bar := strings.Count(before, "|")
	for i := f.Line - 2; i >= 0 && bar > 0; i-- {
		if name, ok := strings.CutPrefix(lines[i], "["); ok {
			name, _, _ = strings.Cut(name, "]")
			beat := len(strings.Fields(before[strings.LastIndexByte(before, '|')+1:])) + 1
			return fmt.Errorf("%s bar %d, token %d: %s", name, bar, beat, says)
		}
	}
	return errors.New(says)
}

package session

import (
	"cmp"
	"errors"
	"fmt"
	"os"

	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/trainer/tunebook"
)

// ownName is what a tune is called once changes of it are kept: a lesson's stays as it is, and the
// player's own stands beside it.
func (t Tune) ownName() string {
	if t.Name == "-" || t.Lesson != "" { // from standard input, or of a lesson
		return tunebook.FileNameOf(t.Tune.Title)
	}
	return t.Name
}

// Changed is the tune as it was saved in a file.
func (t Tune) Changed(to *tune.Tune, path string) Tune {
	name := t.Name
	if t.Lesson != "" {
		name = t.ownName()
	}
	return Tune{Name: name, Tune: to, Path: path}
}

// TuneFile is the file in which changes of a tune are kept, and the text that they begin
// with: that of the tune where there is no file yet, which is then one of the player's own.
func TuneFile(book tunebook.Book, t Tune) (f *tunebook.File, text string, err error) {
	f, err = tunebook.Read(cmp.Or(t.Path, book.Path(t.ownName())))
	if err != nil {
		return nil, "", err
	}
	return f, cmp.Or(f.Text(), tune.Write(t.Tune)), nil
}

// Pinned is a shape that was written into the shapes row of a tune.
type Pinned struct {
	desk   *Desk
	file   *tunebook.File
	before Tune
	// was is what was in the file, "" where there was none, and is what is there now.
	was, is string
}

// Pin writes frets into the shapes row of a tune, at a bar of a section and a beat of it,
// both counted from 1, and saves it among the player's own. The error says what is in the
// way: then nothing is written.
func (d *Desk) Pin(book tunebook.Book, name, section string, bar, beat int, frets string) (*Pinned, error) {
	t, err := d.Tune(name)
	if err != nil {
		return nil, err
	}
	if t.Lesson != "" {
		return nil, fmt.Errorf("%s belongs to the lesson %s and stays as it is: e makes one of your own of it", t.Tune.Title, t.Lesson)
	}
	file, text, err := TuneFile(book, t)
	if err != nil {
		return nil, err
	}
	if file.Path() == "" {
		return nil, errors.New("there is no folder to save it in")
	}
	doc, faults := edit.Open(text)
	if len(faults) > 0 {
		return nil, fmt.Errorf("%s is no tune yet: %w", file.Path(), faults[0])
	}
	kept, _, ok, err := book.Draft(file.Path()).Found()
	if err != nil {
		return nil, err
	}
	if work, faults := edit.Open(kept); ok && len(faults) == 0 && work.Text() != doc.Text() {
		return nil, errors.New("work on this tune is not saved yet: save it on its edit page first")
	}
	at := edit.Place{Section: -1, Bar: bar - 1, Beat: beat - 1, Row: tune.ShapesRow}
	for i, s := range doc.Tune().Sections {
		if s.Name == section {
			at.Section = i
		}
	}
	if at.Section < 0 {
		return nil, fmt.Errorf("the file of the tune has no section %s any more", section)
	}
	doc.GoTo(at)
	if err := doc.Set(frets); err != nil {
		return nil, err
	}
	p := &Pinned{desk: d, file: file, before: t, was: file.Text(), is: doc.Text()}
	if err := file.Replace(p.is); err != nil {
		return nil, err
	}
	d.Put(Tune{Name: t.Name, Tune: doc.Tune(), Path: file.Path()})
	return p, nil
}

// Undo puts the tune and its file back to what they were. The error says why not; then
// nothing is changed.
func (p *Pinned) Undo() error {
	now, err := tunebook.Read(p.file.Path())
	if err != nil {
		return err
	}
	if now.Text() != p.is {
		return errors.New("the tune was changed since: take it back on its edit page")
	}
	if p.was == "" {
		err = os.Remove(now.Path())
	} else {
		err = now.Replace(p.was)
	}
	if err == nil {
		p.desk.Put(p.before)
	}
	return err
}

// Package page is the contract between the program's frame and its pages: what
// a page is, how one opens another, and the keys that all of them share.
package page

import (
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/screen/theme"
)

// ID names a page. It is comparable; two equal IDs are the same page.
type ID struct {
	// Kind is the row of the frame's table that makes the page.
	Kind string
	// Tune is the tune it is about, by its name on the command line, "" for none.
	Tune string
	// Arg is whatever else the kind of page goes by.
	Arg string
}

// Page is one screen. The frame draws the title line above it and the keys
// below. Its methods are called from the program's loop alone.
type Page interface {
	// Init is called once, when the page has been made.
	Init() tea.Cmd
	// Update takes a message. Keys go to the page on top alone, printable ones a
	// rune at a time unless pasted; other messages go to every page.
	Update(tea.Msg) tea.Cmd
	// View draws the page into the size it was given.
	View() string
	// SetSize gives the columns and rows there are for View.
	SetSize(width, height int)
	// Title names the page, Status is what stands at the right of the title, both
	// short.
	Title() string
	Status() string
	// Keys lists the page's keys, the most wanted first. Disabled ones are not
	// shown.
	Keys() []key.Binding
}

// Typist is a page that at times takes text: while Typing is true, q and ? are
// text too.
type Typist interface{ Typing() bool }

// Lettered is a page that at times takes letters as part of an answer: while Letters is
// true h, j, k and l are no arrow keys.
type Lettered interface{ Letters() bool }

// Stepper is a page that may use esc itself. Step reports whether it did.
type Stepper interface{ Step() (bool, tea.Cmd) }

// Leaver is a page that is told when it is left or the program ends. Leave must
// return at once; what takes time belongs in the command, which is run to its
// end before the program stops.
type Leaver interface{ Leave() tea.Cmd }

// Furnished is a page with keys that it shows itself: they are listed in help,
// not below the page.
type Furnished interface{ MoreKeys() []key.Binding }

// Compact is a page that fits 60 columns and 20 rows, which others do not.
type Compact interface{ Small() bool }

// Passing is a page that is not kept: once left it is made anew.
type Passing interface{ Passing() bool }

// Returned is a page that is told when another one that stood before it was left.
type Returned interface{ Return() tea.Cmd }

// Open asks the frame to show a page.
type Open struct{ ID ID }

// Back asks the frame to go back to the page before.
type Back struct{}

// Say asks the frame to show a line to the player until the next key, for what
// went wrong outside the page.
type Say struct{ Line string }

// Changed tells that a tune on the desk is another one now. Pages about it that
// are not shown are made anew.
type Changed struct{ Tune string }

// Done tells that what a page was opened for has been done.
type Done struct{ ID ID }

// Note is a note that an input heard, for the page on top.
type Note struct {
	// At is when it was played.
	At time.Time
	// MIDI is the note number, String the string, 0 where it is not known.
	MIDI, String int
	// Microphone is set where it was heard rather than received as MIDI.
	Microphone bool
	// Unsure is set where it may have been another note, or none: it answers nothing.
	Unsure bool
	// Rang is set where a note by microphone that was told before has rung on since.
	Rang bool
}

// Strum is what an input that listens to sound heard above the bass, at a moment.
type Strum struct{ At time.Time }

// OverSays is told where a step of the day is to be opened of which nothing is left.
const OverSays = "This step is done for today. Tunes and drills (d) on the first screen have more."

// Titled names a page by its kind and what it is about.
func Titled(t *theme.Theme, kind, about string) string {
	return kind + " " + t.Glyphs.Dot + " " + about
}

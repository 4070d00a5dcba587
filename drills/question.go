package drills

import (
	"time"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// Question is one thing that is asked. Its methods are pure and give the same
// result at each call.
type Question interface {
	// Item names what answering it practises.
	Item() memory.Item
	// Ask says what the player is shown and may answer with.
	Ask() Ask
	// Judge grades a reply. A reply that cannot be read, or is of a form the
	// question does not take, is Unread with what would do.
	Judge(Reply) Judgement
	// Right lists texts that Judge finds a Hit, never none: the first is the one to
	// show, the others answer as well. With choices it is the one that is right, word
	// for word.
	Right() []string
}

// Worked is a question that can show how its answer is found, as a teacher does
// who sits beside a player for the first time.
type Worked interface {
	Question
	// Steps lead to the answer, a sentence each; the last one is the answer.
	Steps() []string
}

// Numbered is a question whose right answer can stand at any number of its choices.
type Numbered interface {
	Question
	// At is the question with its right answer at a number, from 1 to the number of
	// its choices.
	At(number int) Question
}

// Form is a way a reply can be put, as a set of bits.
type Form uint8

// The forms of a reply.
const (
	FormText   Form = 1 << iota // typed text
	FormPlace                   // one place on the neck
	FormPlaces                  // several places on the neck at once
	FormSound                   // a played note
	FormTaps                    // a rhythm, tapped or played while music plays
)

// Ask is a question as the faces show it.
type Ask struct {
	// Prompt is the question in one line.
	Prompt string
	// Hint says what to type, in a few words: "a fret, 0 to 15".
	Hint string
	// Takes are the forms an answer may have.
	Takes Form
	// Chord, Degree and String are what it is about, so that a summary can say
	// what is weakest; Chord is a symbol, String 0 where any will do.
	Chord, Degree string
	String        int
	// Place is where on the neck it is about, the lowest where several places
	// answer; the zero Place where it is nowhere.
	Place fretboard.Place
	// Frets is the shape it is about, low string first, nil for none.
	Frets []int
	// Marks are shown on the neck with the question.
	Marks []fretboard.Mark
	// Sounds are chords to be heard with the question, one after the other, as MIDI
	// note numbers low to high; nil for none. Unheard says the same to a player who
	// hears nothing.
	Sounds  [][]int
	Unheard string
	// Rows draw a rhythm, a count of the beats first, all of one length: for the eye.
	Rows []string
	// Choices, where there are any, are the answers to pick from; typing the
	// number of one, from 1, is as good as its text.
	Choices []string
}

// Reply is what the player gave. Form says which of the other fields count.
type Reply struct {
	Way  memory.Way
	Form Form
	// Text is the typed text of FormText.
	Text string
	// Places are those of FormPlace (one) and FormPlaces.
	Places []fretboard.Place
	// MIDI is the note number of FormSound, and String the string it was played
	// on, 0 where the input cannot tell.
	MIDI, String int
	// Taps are those of FormTaps, counted from the first beat of the music, in order.
	Taps []time.Duration
	// Proof says how far a note by ear has proved itself.
	Proof Proof
	// Led is set where the question was helped with: its time then says nothing.
	Led bool
	// Final is set where the player is not asked again: a text that cannot be read
	// is then a Miss.
	Final bool
	// Unknown is set where the player does not know, and asks for the way instead.
	Unknown bool
}

// Proof is how far a note by ear has proved itself to be a plucked string.
type Proof uint8

// The proofs. What is no guitar may well be told as a note, but it does not ring.
const (
	// Whole is that of every other reply.
	Whole Proof = iota
	// Early is that of a note just told: where it is right it answers, else it is no
	// answer yet.
	Early
	// Rang is that of a note told early that has rung on since: it answers either way,
	// if it was given to the question before it rang.
	Rang
)

// Typed is a reply of text.
func Typed(w memory.Way, text string) Reply { return Reply{Way: w, Form: FormText, Text: text} }

// Pointed is a reply of one place, picked with the cursor.
func Pointed(p fretboard.Place) Reply {
	return Reply{Way: memory.Cursor, Form: FormPlace, Places: []fretboard.Place{p}}
}

// Played is a reply of a note that was heard, string 0 where it is not known.
func Played(w memory.Way, midi, str int) Reply {
	return Reply{Way: w, Form: FormSound, MIDI: midi, String: str}
}

// NotSure is said of a note that an input by ear is not sure of. It is no reply:
// the question stays open.
const NotSure = "Not sure which note that was: play it once more."

// Result is how a reply stands to its question, before time is looked at.
type Result uint8

// The results of a reply.
const (
	Unread Result = iota // not an answer: say why and ask again
	Miss                 // wrong
	Near                 // right, but not as asked: counts as slow
	Hit                  // right
)

// Judgement is a graded reply.
type Judgement struct {
	Result Result
	// Given is the reply in words, as the history keeps it: "string 5 fret 3".
	Given string
	// Reason says in one line why, with the right answer where it was missed.
	Reason string
	// Marks show it on the neck, Rows beside the beats of a rhythm.
	Marks []fretboard.Mark
	Rows  []string
}

// unread is the judgement on a reply that is no answer.
func unread(reason string) Judgement { return Judgement{Reason: reason} }

// Package tune holds a tune: its sections, bars, chords, the bass line in
// degrees, hits and words, and the text format they are kept in.
//
// Values are pure. The package reads and writes text that it is handed, never
// files, and knows no strings or frets but those a shapes row names.
//
// The text format. Header lines come first: tune, key, meter and tempo, and
// where wanted swing (1:1 if left out), form (the sections in order if left
// out), comping (the rhythm of sections without hits) and trains (a sentence on
// what the tune trains). Then sections, each a [NAME], where wanted a comping
// line of its own, and its rows: chords, and where wanted bass, hits, shapes and
// words.
// A # starts a comment at the start of a line or after two spaces (or tabs).
// Comments are kept: one on a line of its own belongs to the line that follows
// it, one behind a line to that line, one after the last row to the end.
package tune

import "footfall/harmony"

// Tune is a tune as written: each section once, in the order of the file.
type Tune struct {
	Title string
	Key   harmony.Key
	Meter Meter
	// Tempo is in quarter notes a minute, 30 to 300.
	Tempo float64
	// Swing is the length of a beat's first half to its second, 1:1 if straight.
	Swing harmony.Swing
	// Comping fills the sections that have neither hits nor a rhythm of their own.
	Comping Comping
	// Form names the sections in playing order; nil plays each once, in order.
	Form []string
	// Trains says in a sentence what the tune trains; it may be empty.
	Trains   string
	Sections []Section
	// Comments are those of the text, in the order of its canonical lines.
	Comments []Comment
}

// Musical time is harmony's.
type (
	Meter    = harmony.Meter
	Ratio    = harmony.Ratio
	Position = harmony.Position
)

// Section is a named run of bars.
type Section struct {
	Name string
	// Meter is the section's own, the zero Meter where it has that of the tune.
	Meter Meter
	// Comping fills the section where it has no hits row, before the tune's.
	Comping Comping
	Bars    []Bar
}

// Bar is one bar with its copies (% and =A3) already filled in.
type Bar struct {
	Chords []Change
	// Bass holds a beat's bass token for each beat; nil where the section has no
	// bass row.
	Bass []BassBeat
	// Hits holds a token a beat; nil where the section has no hits row.
	Hits []HitToken
	// Shapes holds a token a beat; nil where the section has no shapes row.
	Shapes []ShapeToken
	Words  string
	// Copies says how each row of the bar is written. It is a wish: Write keeps to
	// it where the bar still equals what it names, and else writes the bar out.
	Copies [Rows]Copy
}

// Row is one of the rows of a section.
type Row uint8

// The rows, in the order of the canonical text, and their number.
const (
	ChordsRow Row = iota
	BassRow
	HitsRow
	ShapesRow
	WordsRow
	Rows = 5
)

var rowNames = [Rows]string{"chords", "bass", "hits", "shapes", "words"}

// String returns the row's name in the text.
func (r Row) String() string { return rowNames[r] }

// CopyKind says how a bar of a row is written.
type CopyKind uint8

// The ways to write a bar.
const (
	WrittenOut CopyKind = iota
	Simile              // %, the bar before in this row
	CopyOf              // =A3, a bar that stands before this one
	HoldsOver           // chords only: a leading . holds the chord of the bar before
)

// Copy is how a bar of a row is written; Section and Bar are those of CopyOf.
type Copy struct {
	Kind    CopyKind
	Section string
	Bar     int
}

// Comment is a comment of the text and the line that it belongs to.
type Comment struct {
	// Section is the section's name, "" for the header and for the end.
	Section string
	// Line is the name of a header or row, "[" for the section's name line, or
	// "end" after the last row of the file.
	Line string
	// Behind is set where the comment stands behind its line, not above it.
	Behind bool
	// Text starts with #.
	Text string
}

// Change is a chord and where in its bar it starts: at Slot of Slots equal
// parts, counted from 0.
type Change struct {
	Chord       harmony.Chord
	Slot, Slots int
}

// Direction says which way a bass degree lies from the note before.
type Direction uint8

// The directions of a bass row: bare, / and \.
const (
	Nearest Direction = iota // a tie falls
	Rise
	Fall
)

// BassKind says what a half or whole beat of the bass row does.
type BassKind uint8

// The kinds of a bass token.
const (
	BassRest BassKind = iota // .
	BassHold                 // -
	BassNote                 // a degree
)

// BassToken is one token of the bass row.
type BassToken struct {
	Kind      BassKind
	Degree    harmony.Degree
	Direction Direction
	// Pin is the string that the note is pinned to (5@6), 0 for none.
	Pin int
}

// BassBeat is what the bass row has on a beat: one token, or two where the
// beat is split (5,b7).
type BassBeat struct {
	First  BassToken
	Second BassToken
	Split  bool
}

// Hit is where the chord above the bass is struck within a beat.
type Hit uint8

// The hits: a rest, with the bass note, on the offbeat after it, both, on the
// offbeat with the chord of the next beat, or what the layer asks for.
const (
	NoHit Hit = iota
	HitOn
	HitAnd
	HitBoth
	HitPush
	HitLayer
)

// HitToken is one token of a hits row. Held, behind any hit that is written,
// lets it ring until the next one or the next chord; of HitBoth the second.
type HitToken struct {
	Hit  Hit
	Held bool
}

// ShapeToken is one token of a shapes row: nothing (.), a shape the program
// chooses (*), or one given by its frets, low string to high, −1 not played.
type ShapeToken struct {
	Choose bool
	Frets  []int
}

// FormBar is a bar as it comes in a pass of the form.
type FormBar struct {
	// Section and SectionBar name the bar as written; SectionBar counts from 1.
	Section    string
	SectionBar int
	// Number is the bar's place in the pass, from 1.
	Number int
	Meter  Meter
	// Comping fills the bar where it has no hits.
	Comping Comping
	Bar     *Bar
}

// LineNote is a note of the bass line, its direction resolved into a pitch.
type LineNote struct {
	At Position
	// Halves is its length in half beats, the swung halves counting alike.
	Halves    int
	Chord     harmony.Chord
	Degree    harmony.Degree
	Direction Direction
	Pitch     harmony.Pitch
	// Pin is the string that the note is pinned to, 0 for none.
	Pin int
}

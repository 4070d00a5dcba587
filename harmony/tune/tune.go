// Package tune holds a tune: its sections, bars, chords, the bass line in
// degrees, hits and words, and the text format they are kept in.
//
// Values are pure. The package reads and writes text that it is handed, never
// files, and knows no strings or frets but those a shapes row names.
//
// The text format. Header lines come first: tune, key, meter and tempo, and
// where wanted swing (1:1 if left out), form (the sections in order if left
// out) and trains (a sentence on what the tune trains). Then sections, each a
// [NAME] and its rows: chords, and where wanted bass, hits, shapes and words.
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
	Swing Ratio
	// Form names the sections in playing order; nil plays each once, in order.
	Form []string
	// Trains says in a sentence what the tune trains; it may be empty.
	Trains   string
	Sections []Section
	// Comments are those of the text, in the order of its canonical lines.
	Comments []Comment
}

// Ratio is a swing ratio, long to short, both at least 1.
type Ratio struct{ Long, Short int }

// Meter is a time signature: 2/4 to 7/4, or 6/8, 9/8 and 12/8, which are
// counted in dotted quarters.
type Meter struct{ Upper, Lower int }

// Beats returns the beats that are counted in a bar: 4 in 4/4, 2 in 6/8.
func (m Meter) Beats() int {
	if m.Lower == 8 {
		return m.Upper / 3
	}
	return m.Upper
}

// BeatQuarters returns the length of a counted beat in quarter notes: 1, or 1.5
// where dotted quarters are counted.
func (m Meter) BeatQuarters() float64 {
	if m.Lower == 8 {
		return 1.5
	}
	return 1
}

// MostChords returns the largest number of equal parts that chords may share a
// bar in: two a beat, three where dotted quarters are counted.
func (m Meter) MostChords() int {
	if m.Lower == 8 {
		return m.Upper
	}
	return 2 * m.Upper
}

// Section is a named run of bars.
type Section struct {
	Name string
	Bars []Bar
}

// Bar is one bar with its copies (% and =A3) already filled in.
type Bar struct {
	Chords []Change
	// Bass holds a beat's bass token for each beat; nil where the section has no
	// bass row.
	Bass []BassBeat
	// Hits holds a token a beat; nil where the section has no hits row.
	Hits []Hit
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

// Position is a place in a pass of the form. Bar and Beat count from 1, as a
// player counts; Off is the beat's second half, at the swing ratio.
type Position struct {
	Bar, Beat int
	Off       bool
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

// The hits: none, with the bass note, on the offbeat after it, or both.
const (
	NoHit Hit = iota
	HitOn
	HitAnd
	HitBoth
)

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
	Bar    *Bar
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
}

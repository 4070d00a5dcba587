// Package musicxml writes tunes as MusicXML 4.0 and reads MusicXML, plain or
// compressed (.mxl), into tunes.
//
// It works on bytes that it is handed, never files, and fetches nothing that a
// document names. Element names, their order and meaning are those of the
// MusicXML 4.0 specification (W3C Music Notation Community Group).
package musicxml

import (
	"encoding/xml"
	"io"
)

// The elements that are written and read. The order of fields is the order that
// the schema asks for. What is not here is counted by name when it is read, so
// that it can be told.

type score struct {
	XMLName        xml.Name        `xml:"score-partwise"`
	Version        string          `xml:"version,attr"`
	WorkTitle      string          `xml:"work>work-title,omitempty"`
	MovementTitle  string          `xml:"movement-title,omitempty"`
	Identification *identification `xml:"identification"`
	Credits        []credit        `xml:"credit"`
	Parts          []scorePart     `xml:"part-list>score-part"`
	Music          []part          `xml:"part"`
	// Measures is what a score-timewise has in the place of Music.
	Measures []timewise `xml:"measure"`
}

type identification struct {
	Creators []typed     `xml:"creator"`
	Rights   []typed     `xml:"rights"`
	Encoding *encoding   `xml:"encoding"`
	Source   string      `xml:"source,omitempty"`
	Misc     []miscField `xml:"miscellaneous>miscellaneous-field"`
}

type typed struct {
	Type string `xml:"type,attr,omitempty"`
	Text string `xml:",chardata"`
}

type encoding struct {
	Software string `xml:"software,omitempty"`
}

type miscField struct {
	Name string `xml:"name,attr"`
	Text string `xml:",chardata"`
}

type credit struct {
	Types []string `xml:"credit-type"`
	Words []struct {
		Size string `xml:"font-size,attr"`
		Text string `xml:",chardata"`
	} `xml:"credit-words"`
}

type scorePart struct {
	ID         string          `xml:"id,attr"`
	Name       string          `xml:"part-name"`
	Instrument *instrument     `xml:"score-instrument"`
	MIDI       *midiInstrument `xml:"midi-instrument"`
}

type instrument struct {
	ID    string `xml:"id,attr"`
	Name  string `xml:"instrument-name"`
	Sound string `xml:"instrument-sound,omitempty"`
}

type midiInstrument struct {
	ID      string `xml:"id,attr"`
	Channel int    `xml:"midi-channel,omitempty"`
	Program int    `xml:"midi-program,omitempty"`
}

type part struct {
	ID       string    `xml:"id,attr"`
	Measures []measure `xml:"measure"`
}

type timewise struct {
	Number   string `xml:"number,attr"`
	Implicit string `xml:"implicit,attr"`
	Parts    []struct {
		ID    string `xml:"id,attr"`
		Items items  `xml:",any"`
	} `xml:"part"`
}

type measure struct {
	Number   string `xml:"number,attr"`
	Implicit string `xml:"implicit,attr,omitempty"`
	Items    items  `xml:",any"`
}

// items are a measure's elements in their order.
type items []item

// item is one element of a measure: a pointer to one of the types below, or the
// element's name alone.
type item struct{ value any }

type other struct{ Name string }

// MarshalXML writes the element.
func (i item) MarshalXML(e *xml.Encoder, _ xml.StartElement) error { return e.Encode(i.value) }

// UnmarshalXML reads the element into the type of its name.
func (i *item) UnmarshalXML(d *xml.Decoder, start xml.StartElement) error {
	switch start.Name.Local {
	case "attributes":
		i.value = &attributes{}
	case "note":
		i.value = &note{}
	case "backup":
		i.value = &backup{}
	case "forward":
		i.value = &forward{}
	case "harmony":
		i.value = &harmonyElement{}
	case "direction":
		i.value = &direction{}
	case "barline":
		i.value = &barline{}
	case "sound":
		i.value = &sound{}
	case runElement:
		i.value = runOf(start)
		return d.Skip()
	default:
		i.value = &other{Name: start.Name.Local}
		return d.Skip()
	}
	return d.DecodeElement(i.value, &start)
}

type empty struct{}

type attributes struct {
	XMLName   xml.Name       `xml:"attributes"`
	Divisions string         `xml:"divisions,omitempty"`
	Keys      []keyElement   `xml:"key"`
	Times     []timeElement  `xml:"time"`
	Staves    int            `xml:"staves,omitempty"`
	Clefs     []clef         `xml:"clef"`
	Staff     []staffDetails `xml:"staff-details"`
	Transpose []transposing  `xml:"transpose"`
	Style     []measureStyle `xml:"measure-style"`
}

// measureStyle says that measures look like the ones before.
type measureStyle struct {
	Repeat *measureRepeat `xml:"measure-repeat"`
}

// measureRepeat begins or ends measures in whose place a sign says to play so many
// before again.
type measureRepeat struct {
	Type string `xml:"type,attr"`
	Of   string `xml:",chardata"`
}

type keyElement struct {
	Fifths *int   `xml:"fifths"`
	Mode   string `xml:"mode,omitempty"`
}

type timeElement struct {
	Beats    []string `xml:"beats"`
	BeatType []string `xml:"beat-type"`
}

type clef struct {
	Number int    `xml:"number,attr,omitempty"`
	Sign   string `xml:"sign"`
	Line   int    `xml:"line,omitempty"`
	Octave int    `xml:"clef-octave-change,omitempty"`
}

type staffDetails struct {
	Number int           `xml:"number,attr,omitempty"`
	Lines  int           `xml:"staff-lines,omitempty"`
	Tuning []staffTuning `xml:"staff-tuning"`
	Capo   int           `xml:"capo,omitempty"`
}

type staffTuning struct {
	Line   int    `xml:"line,attr"`
	Step   string `xml:"tuning-step"`
	Alter  string `xml:"tuning-alter,omitempty"`
	Octave int    `xml:"tuning-octave"`
}

type transposing struct {
	Diatonic  int `xml:"diatonic"`
	Chromatic int `xml:"chromatic"`
	Octave    int `xml:"octave-change"`
}

type note struct {
	XMLName xml.Name `xml:"note"`
	// Dynamics is how loud it sounds, in percent of forte; "0" is silent.
	Dynamics  string     `xml:"dynamics,attr,omitempty"`
	Grace     *empty     `xml:"grace"`
	Cue       *empty     `xml:"cue"`
	Chord     *empty     `xml:"chord"`
	Pitch     *pitch     `xml:"pitch"`
	Unpitched *unpitched `xml:"unpitched"`
	Rest      *rest      `xml:"rest"`
	Duration  string     `xml:"duration,omitempty"`
	Ties      []tie      `xml:"tie"`
	Voice     string     `xml:"voice,omitempty"`
	Type      string     `xml:"type,omitempty"`
	Dots      []empty    `xml:"dot"`
	// Accidental is what is drawn; Pitch alone says what sounds.
	Accidental string      `xml:"accidental,omitempty"`
	Stem       string      `xml:"stem,omitempty"`
	Staff      int         `xml:"staff,omitempty"`
	Beams      []beam      `xml:"beam"`
	Notations  []notations `xml:"notations"`
	Lyrics     []lyric     `xml:"lyric"`
}

type pitch struct {
	Step   string `xml:"step"`
	Alter  string `xml:"alter,omitempty"`
	Octave int    `xml:"octave"`
}

type unpitched struct{}

type rest struct {
	// Measure is "yes" for a rest of a whole bar.
	Measure string `xml:"measure,attr,omitempty"`
}

type beam struct {
	Number int    `xml:"number,attr"`
	Is     string `xml:",chardata"` // begin or end
}

type tie struct {
	Type string `xml:"type,attr"`
}

type notations struct {
	Tied          []tie           `xml:"tied"`
	Technical     []technical     `xml:"technical"`
	Articulations []articulations `xml:"articulations"`
	Other         names           `xml:",any"`
}

// articulations are the marks of a note: a staccato makes it short, a tenuto holds
// it for its whole length.
type articulations struct {
	Staccato *empty `xml:"staccato"`
	Tenuto   *empty `xml:"tenuto"`
	Other    names  `xml:",any"`
}

type technical struct {
	Fingering *fingering `xml:"fingering"`
	String    int        `xml:"string,omitempty"`
	Fret      *int       `xml:"fret"`
	Other     names      `xml:",any"`
}

type fingering struct {
	Placement string `xml:"placement,attr,omitempty"`
	Finger    int    `xml:",chardata"`
}

// names are the names of elements that are not read further.
type names []nameOnly

type nameOnly struct{ Name string }

// UnmarshalXML keeps the name and skips the rest.
func (n *nameOnly) UnmarshalXML(d *xml.Decoder, start xml.StartElement) error {
	n.Name = start.Name.Local
	return d.Skip()
}

// MarshalXML writes nothing: what is not read is not written.
func (n nameOnly) MarshalXML(*xml.Encoder, xml.StartElement) error { return nil }

type lyric struct {
	Number string   `xml:"number,attr,omitempty"`
	Text   []string `xml:"text"`
}

type backup struct {
	XMLName  xml.Name `xml:"backup"`
	Duration string   `xml:"duration"`
}

type forward struct {
	XMLName  xml.Name `xml:"forward"`
	Duration string   `xml:"duration"`
	Voice    string   `xml:"voice,omitempty"`
	Staff    int      `xml:"staff,omitempty"`
}

type harmonyElement struct {
	XMLName xml.Name `xml:"harmony"`
	// Of is "alternate" for what the harmony beside it may also be taken for.
	Of        string          `xml:"type,attr,omitempty"`
	Roots     []root          `xml:"root"`
	Numerals  []numeral       `xml:"numeral"`
	Functions []string        `xml:"function"`
	Kinds     []kindElement   `xml:"kind"`
	Inversion int             `xml:"inversion,omitempty"`
	Bass      *bass           `xml:"bass"`
	Degrees   []degreeElement `xml:"degree"`
	Frame     *frame          `xml:"frame"`
	Offset    string          `xml:"offset,omitempty"`
	Staff     int             `xml:"staff,omitempty"`
}

// numeral is a root as a step of a key: of its own, or the one in force.
type numeral struct {
	Root  int         `xml:"numeral-root"`
	Alter string      `xml:"numeral-alter"`
	Key   *numeralKey `xml:"numeral-key"`
}

type numeralKey struct {
	Fifths *int   `xml:"numeral-fifths"`
	Mode   string `xml:"numeral-mode"`
}

type root struct {
	Step  step   `xml:"root-step"`
	Alter string `xml:"root-alter,omitempty"`
}

type bass struct {
	Step  step   `xml:"bass-step"`
	Alter string `xml:"bass-alter,omitempty"`
}

type step struct {
	Text string `xml:"text,attr,omitempty"`
	Step string `xml:",chardata"`
}

type kindElement struct {
	Text *string `xml:"text,attr"`
	// Symbols is "yes" where a sign such as △ stands before the text.
	Symbols string `xml:"use-symbols,attr,omitempty"`
	Value   string `xml:",chardata"`
}

type degreeElement struct {
	// Print is "no" where the kind's text shows the degree.
	Print string      `xml:"print-object,attr,omitempty"`
	Value degreeValue `xml:"degree-value"`
	Alter string      `xml:"degree-alter"`
	Type  string      `xml:"degree-type"`
}

type degreeValue struct {
	// Text is how the degree is shown, where not by its number and alteration.
	Text  *string `xml:"text,attr"`
	Value int     `xml:",chardata"`
}

type frame struct {
	Strings int         `xml:"frame-strings"`
	Frets   int         `xml:"frame-frets"`
	First   int         `xml:"first-fret,omitempty"`
	Notes   []frameNote `xml:"frame-note"`
}

type frameNote struct {
	String int `xml:"string"`
	Fret   int `xml:"fret"`
}

type direction struct {
	XMLName   xml.Name        `xml:"direction"`
	Placement string          `xml:"placement,attr,omitempty"`
	Types     []directionType `xml:"direction-type"`
	Offset    string          `xml:"offset,omitempty"`
	Staff     int             `xml:"staff,omitempty"`
	Sound     *sound          `xml:"sound"`
}

type directionType struct {
	Rehearsal []string   `xml:"rehearsal"`
	Segno     []empty    `xml:"segno"`
	Coda      []empty    `xml:"coda"`
	Words     []string   `xml:"words"`
	Metronome *metronome `xml:"metronome"`
	Other     names      `xml:",any"`
}

type metronome struct {
	Unit      string  `xml:"beat-unit"`
	Dots      []empty `xml:"beat-unit-dot"`
	PerMinute string  `xml:"per-minute"`
}

type sound struct {
	XMLName   xml.Name `xml:"sound"`
	Tempo     string   `xml:"tempo,attr,omitempty"`
	DaCapo    string   `xml:"dacapo,attr,omitempty"`
	DalSegno  string   `xml:"dalsegno,attr,omitempty"`
	Segno     string   `xml:"segno,attr,omitempty"`
	Coda      string   `xml:"coda,attr,omitempty"`
	ToCoda    string   `xml:"tocoda,attr,omitempty"`
	Fine      string   `xml:"fine,attr,omitempty"`
	ForwardTo string   `xml:"forward-repeat,attr,omitempty"`
	Swing     *swing   `xml:"swing"`
}

type swing struct {
	Straight *empty `xml:"straight"`
	First    int    `xml:"first,omitempty"`
	Second   int    `xml:"second,omitempty"`
	Type     string `xml:"swing-type,omitempty"`
}

type barline struct {
	XMLName  xml.Name `xml:"barline"`
	Location string   `xml:"location,attr,omitempty"`
	Style    string   `xml:"bar-style,omitempty"`
	Segno    *empty   `xml:"segno"`
	Coda     *empty   `xml:"coda"`
	Ending   *ending  `xml:"ending"`
	Repeat   *repeat  `xml:"repeat"`
}

type ending struct {
	Number string `xml:"number,attr"`
	Type   string `xml:"type,attr"`
}

type repeat struct {
	Direction string `xml:"direction,attr"`
	Times     int    `xml:"times,attr,omitempty"`
}

// publicHeader stands above every document that is written.
const publicHeader = xml.Header + `<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` + "\n"

func encode(w io.Writer, s *score) error {
	if _, err := io.WriteString(w, publicHeader); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", " ")
	if err := e.Encode(s); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

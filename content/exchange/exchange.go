// Package exchange tells by their content what files of other programs are, and makes
// tunes of them. It is pure.
package exchange

import (
	"bytes"
	"errors"
	"path"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"footfall/content/exchange/chart"
	"footfall/content/exchange/midifile"
	"footfall/content/exchange/musicxml"
	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Format is what a file is.
type Format int

// The formats that can be read.
const (
	Chart Format = iota
	MIDI
	MusicXML
	// Tune is the program's own format.
	Tune
)

// Options say what a file leaves open, and where its bass line may go.
type Options struct {
	// Low and High are the ends of the bass strings, MIDI note numbers.
	Low, High int
	// Chords is the tune whose chords a file without any goes with. Propose has chords
	// that fit its notes put in, where it is MusicXML.
	Chords  *tune.Tune
	Propose bool
	// File is the file's name, which gives the title where nothing else does.
	File string
	// Title, Key, Meter and Tempo (quarter notes a minute) stand in the place of the
	// file's; Meter goes with a chart alone.
	Title string
	Key   *harmony.Key
	Meter *tune.Meter
	Tempo float64
}

// ErrNoChords says that a file holds notes and no chord symbols.
var ErrNoChords = transcribe.ErrNoChords

// tuneLine is a header that only tunes have.
var tuneLine = regexp.MustCompile(`(?m)^\x{FEFF}?tune\s`)

// FormatOf tells what a file is by its content.
func FormatOf(data []byte) Format {
	switch {
	case bytes.HasPrefix(data, []byte("MThd")):
		return MIDI
	case isMusicXML(data):
		return MusicXML
	case tuneLine.Match(data):
		return Tune
	}
	return Chart
}

// MaxBytes is how long a file that begins so may be.
func MaxBytes(begins []byte) int64 {
	switch FormatOf(begins) {
	case MIDI:
		return 8 << 20
	case MusicXML:
		return 48 << 20
	case Tune:
		return 2 << 20 // as many bars as there may be, with all their rows
	}
	return 128 << 10 // a chart of as many bars takes half of it
}

// isMusicXML tells XML, in any of its encodings, and compressed files.
func isMusicXML(data []byte) bool {
	for _, start := range []string{"PK", "\xfe\xff", "\xff\xfe"} {
		if bytes.HasPrefix(data, []byte(start)) {
			return true
		}
	}
	return bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff"))), []byte("<"))
}

// Read makes a tune of a file, and lists what the tune does not hold, what was put in
// and what was in doubt. The error is ErrNoChords, tune.Faults of a chart or of a
// tune, or says what is wrong.
func Read(data []byte, o Options) (*tune.Tune, []transcribe.Loss, error) {
	format := FormatOf(data)
	if o.Meter != nil && format != Chart {
		return nil, nil, errors.New("a meter can be given for a typed chart; this file has its own")
	}
	if o.Chords != nil && format != MIDI && format != MusicXML {
		return nil, nil, errors.New("the chords of another tune go with MIDI or MusicXML; this is neither")
	}
	var t *tune.Tune
	var losses []transcribe.Loss
	var err error
	switch format {
	case MIDI:
		if o.Chords == nil {
			return nil, nil, ErrNoChords
		}
		t, losses, err = midifile.Read(data, o.Chords, o.Low, o.High)
	case MusicXML:
		t, losses, err = musicxml.ReadOver(data, musicxml.Chords{Of: o.Chords, Proposed: o.Propose}, o.Low, o.High)
	case Tune:
		var faults tune.Faults
		if t, faults = tune.Read(string(data)); len(faults) > 0 {
			err = faults
		}
	default:
		return readChart(string(data), o)
	}
	if err != nil {
		return nil, nil, err
	}
	if o.Key != nil {
		t.Key = *o.Key
	}
	if o.Tempo != 0 {
		t.Tempo = o.Tempo
	}
	if o.Title != "" {
		t.Title = o.Title
	} else if t.Title == transcribe.Untitled && o.File != "" {
		t.Title = TitleOf(o.File)
	}
	return t, losses, nil
}

// TitleOf makes a title of the name of a file.
func TitleOf(file string) string {
	base := path.Base(strings.ReplaceAll(file, `\`, "/"))
	words := strings.FieldsFunc(strings.TrimSuffix(base, path.Ext(base)), func(c rune) bool { return c == '-' || c == '_' || c == ' ' })
	for i, w := range words {
		first, size := utf8.DecodeRuneInString(w)
		words[i] = string(unicode.ToUpper(first)) + w[size:]
	}
	if title := strings.Join(words, " "); title != "" && title != "." {
		return title
	}
	return "New Tune"
}

// readChart gives a chart what the options name before its tune is made, so that
// nothing is guessed that is known.
func readChart(text string, o Options) (*tune.Tune, []transcribe.Loss, error) {
	s, faults := chart.ReadWith(chart.Known{Key: o.Key, Meter: o.Meter}, text)
	if len(faults) > 0 {
		return nil, nil, faults
	}
	if o.Tempo != 0 {
		s.Tempo = o.Tempo
	}
	if o.Title != "" {
		s.Title = o.Title
	} else if s.Title == "" && o.File != "" {
		s.Title = TitleOf(o.File)
	}
	t, losses := s.Tune(o.Low, o.High)
	return t, losses, nil
}

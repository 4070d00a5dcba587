package session

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/content"
	"footfall/content/exchange"
	"footfall/content/exchange/chart"
	"footfall/content/exchange/transcribe"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/harmony/walk"
	"footfall/trainer/gate"
	"footfall/trainer/tunebook"
)

// Adding is a tune of another program, or a typed chart, on its way to the player's
// own: what it is, what was left out of it, and the few things to ask.
type Adding struct {
	// Tune is the tune as it stands; nil while the tune whose chords it goes with is
	// still to be named.
	Tune *tune.Tune
	// Losses are what the tune does not hold, and what was put in.
	Losses []transcribe.Loss

	data    []byte
	source  string
	options exchange.Options
	neck    fretboard.Neck
	find    func(string) (Tune, error)
	asks    []Ask
	chords  []int // the lines whose first letter was said to be a chord
}

// Ask is a question about a tune that is being added.
type Ask struct {
	// Kind is AskChords, AskLetter, AskTitle, AskKey, AskTempo, AskSwing or AskBars.
	Kind string
	Says string
	// Default is the answer that an empty one stands for; "" where one must be given, or
	// where nothing needs to be.
	Default string
	line    int // of a letter
}

// What may be asked.
const (
	AskChords = "chords"
	// AskLetter asks whether a letter is the name of a section or a chord.
	AskLetter = transcribe.Letter
	AskTitle  = transcribe.Title
	AskKey    = transcribe.Key
	AskTempo  = transcribe.Tempo
	AskSwing  = transcribe.Swing
	// AskBars shows the bars, and is asked until nothing is changed any more.
	AskBars = "bars"
)

// Adds reads a file of another program, or a typed chart. source is the file's name,
// "" where it was typed; find finds the tune whose chords a file without any goes
// with. The error says what is wrong with the file.
func Adds(data []byte, source string, o exchange.Options, neck fretboard.Neck, find func(string) (Tune, error)) (*Adding, error) {
	bass := neck.BassRange()
	o.Low, o.High = bass.Low, bass.High
	a := &Adding{data: data, source: source, options: o, neck: neck, find: find}
	return a, a.read()
}

func (a *Adding) read() error {
	t, losses, err := exchange.Read(a.data, a.options)
	if errors.Is(err, exchange.ErrNoChords) {
		says := "It holds notes and no chord symbols. Which tune's chords does it go with?"
		if exchange.FormatOf(a.data) == exchange.MusicXML {
			says += " Or type propose, for chords that fit its notes."
		}
		a.asks = []Ask{{Kind: AskChords, Says: says}}
		return nil
	}
	if err != nil {
		return err
	}
	a.Tune, a.Losses, a.asks = t, append(losses, Unheld(t, a.neck, fretboard.DefaultHand())...), nil
	named := func(kind string) bool {
		return !slices.ContainsFunc(losses, func(l transcribe.Loss) bool { return l.Kind == kind })
	}
	for _, l := range losses {
		if l.Kind == AskLetter && !slices.Contains(a.chords, l.Line) {
			a.asks = append(a.asks, Ask{Kind: AskLetter, line: l.Line,
				Says: fmt.Sprintf("Line %d begins with %s: is that a chord, or the name of a section? Type chord or section.", l.Line, letterOf(a.data, l.Line))})
		}
	}
	if a.options.Title == "" && (t.Title == "" || t.Title == "Untitled") {
		t.Title = exchange.TitleOf(a.source)
		a.asks = append(a.asks, Ask{Kind: AskTitle, Says: "What is it called?", Default: t.Title})
	}
	if !named(AskKey) {
		a.asks = append(a.asks, Ask{Kind: AskKey, Says: fmt.Sprintf("It names no key; %s fits the chords. Which is it?", t.Key), Default: t.Key.String()})
	}
	if !named(AskTempo) {
		a.asks = append(a.asks, Ask{Kind: AskTempo, Says: "It names no tempo. How fast, in BPM?", Default: fmt.Sprint(t.Tempo)})
	}
	straight := t.Swing.Straight()
	if exchange.FormatOf(a.data) != exchange.Tune && straight && a.options.Chords == nil && (!named(AskSwing) || exchange.FormatOf(a.data) == exchange.MusicXML) {
		way := "straight"
		if t.Meter == (tune.Meter{Upper: 4, Lower: 4}) {
			way = "swing"
		}
		a.asks = append(a.asks, Ask{Kind: AskSwing, Says: "Are its eighths swung or straight? Type swing or straight.", Default: way})
	}
	a.asks = append(a.asks, Ask{Kind: AskBars, Says: "Is it right? Enter takes it. To change a bar, type its number and its chords, such as 3: Dm7 G7; several with ; between."})
	return nil
}

// Unheld leaves to the program the shapes of a tune that was read which no hand holds on
// the neck, and tells of them.
func Unheld(t *tune.Tune, neck fretboard.Neck, hand fretboard.Hand) []transcribe.Loss {
	left := 0
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			for i := range b.Shapes {
				frets := b.Shapes[i].Frets
				if frets == nil {
					continue
				}
				if _, held := neck.Fingering(hand, frets); !held || len(frets) != len(neck.Tuning) || slices.Max(frets) > neck.HighestFret {
					b.Shapes[i] = tune.ShapeToken{Choose: true}
					left++
				}
			}
		}
	}
	if left == 0 {
		return nil
	}
	return []transcribe.Loss{{What: fmt.Sprintf("%d shapes cannot be held on your neck, and are left to the program", left)}}
}

// Next is the next question; false where there is none left.
func (a *Adding) Next() (Ask, bool) {
	if len(a.asks) == 0 {
		return Ask{}, false
	}
	return a.asks[0], true
}

// Proposed answers the next question where nobody is there to: by its default, a letter
// as it was read.
func (a *Adding) Proposed() error {
	if ask, _ := a.Next(); ask.Kind == AskLetter {
		a.asks = a.asks[1:]
		return nil
	}
	return a.Answer("")
}

// Answer answers the next question; "" takes its default. An error says what would
// do, and the question stays. It stays too where bars were changed, to be looked at.
func (a *Adding) Answer(text string) error {
	ask, ok := a.Next()
	if !ok {
		return nil
	}
	text = strings.TrimSpace(text)
	proposed := text == ""
	if proposed {
		text = ask.Default
	}
	if err := a.take(ask, text); err != nil {
		return err
	}
	a.Losses = slices.DeleteFunc(a.Losses, func(l transcribe.Loss) bool { return !proposed && l.Kind == ask.Kind && l.Kind != "" })
	for i, l := range a.Losses {
		if l.Kind == AskSwing && !a.Tune.Swing.Straight() {
			a.Losses[i].What = "nothing says how it swings: eighths are swung, 2 to 1"
		}
	}
	looksAgain := ask.Kind == AskBars && !isYes(text)
	if !looksAgain && ask.Kind != AskChords && len(a.asks) > 0 && a.asks[0] == ask {
		a.asks = a.asks[1:]
	}
	return nil
}

// take takes an answer in. Where it has the source read anew, other questions wait.
func (a *Adding) take(ask Ask, text string) error {
	switch ask.Kind {
	case AskChords:
		if text == "" {
			return errors.New("give the name of one of your tunes or of a built-in one, such as tin-kettle-blues")
		}
		if text == "propose" && !a.options.Propose && exchange.FormatOf(a.data) == exchange.MusicXML {
			a.options.Propose = true
			return a.read()
		}
		t, err := a.find(text)
		if err != nil {
			return err
		}
		a.options.Chords = t.Tune
		return a.read()
	case AskLetter:
		switch strings.ToLower(text) {
		case "section", "s", "name":
			a.data = named(a.data, ask.line)
			return a.read()
		case "chord", "c":
			a.chords = append(a.chords, ask.line)
		default:
			return fmt.Errorf("%q is neither: type chord or section", text)
		}
	case AskTitle:
		a.Tune.Title = strings.Join(strings.Fields(text), " ")
	case AskKey:
		k, err := harmony.ParseKey(text)
		if err != nil {
			return fmt.Errorf("%q is no key: type one such as Bb or F#m", text)
		}
		a.Tune.Key = k
	case AskTempo:
		n, err := strconv.ParseFloat(text, 64)
		if err != nil || !(n >= tune.LowestTempo && n <= tune.HighestTempo) {
			return fmt.Errorf("%q is no tempo: type %d to %d", text, tune.LowestTempo, tune.HighestTempo)
		}
		a.Tune.Tempo = n
	case AskSwing:
		switch strings.ToLower(text) {
		case "swing", "s", "swung":
			a.Tune.Swing.Ratio = tune.Ratio{Long: 2, Short: 1}
		case "straight", "no", "even":
			a.Tune.Swing.Ratio = tune.Ratio{Long: 1, Short: 1}
		default:
			return fmt.Errorf("%q is neither: type swing or straight", text)
		}
	case AskBars:
		return a.change(text)
	}
	return nil
}

// letterOf is the letter at the start of a line, "" where there is none.
func letterOf(data []byte, line int) string {
	if lines := strings.Split(string(data), "\n"); line >= 1 && line <= len(lines) {
		return openingLetter.FindString(lines[line-1])
	}
	return ""
}

// named puts brackets about the letter at the start of a line, which make it the name of
// a section.
func named(data []byte, line int) []byte {
	lines := strings.Split(string(data), "\n")
	letter := letterOf(data, line)
	if letter != "" {
		lines[line-1] = strings.Replace(lines[line-1], letter, "["+letter+"]", 1)
	}
	return []byte(strings.Join(lines, "\n"))
}

// openingLetter is a letter that may be the root of a chord.
var openingLetter = regexp.MustCompile(`[A-H]`)

// isYes reports whether an answer leaves the bars as they are.
func isYes(text string) bool {
	return text == "" || strings.EqualFold(text, "y") || strings.EqualFold(text, "yes")
}

var correction = regexp.MustCompile(`^\s*(?:bar\s*)?(\d+)\s*[:=]\s*(.+)$`)

// change puts other chords into bars, each given by its number in the form.
func (a *Adding) change(text string) error {
	if isYes(text) {
		return nil
	}
	changed := *a.Tune
	changed.Sections = slices.Clone(a.Tune.Sections)
	for i := range changed.Sections {
		changed.Sections[i].Bars = slices.Clone(changed.Sections[i].Bars)
	}
	form := changed.Unroll()
	for _, part := range strings.Split(text, ";") {
		m := correction.FindStringSubmatch(part)
		if m == nil {
			return fmt.Errorf("%q is no change: type a bar's number and its chords, such as 3: Dm7 G7, or press enter to leave all as it is", strings.TrimSpace(part))
		}
		n, _ := strconv.Atoi(m[1])
		if n < 1 || n > len(form) {
			return fmt.Errorf("there is no bar %s: the form has bars 1 to %d", m[1], len(form))
		}
		fb := form[n-1]
		s, faults := chart.ReadWith(chart.Known{Meter: &fb.Meter}, "| "+strings.Trim(m[2], "| ")+" |")
		if len(faults) > 0 {
			return fmt.Errorf("bar %d: found %s; want %s", n, faults[0].Found, faults[0].Want)
		}
		one, _ := s.Tune(a.options.Low, a.options.High)
		if len(one.Sections) != 1 || len(one.Sections[0].Bars) != 1 {
			return fmt.Errorf("bar %d: type the chords of one bar", n)
		}
		for i := range changed.Sections {
			if section := &changed.Sections[i]; section.Name == fb.Section {
				at := fb.SectionBar - 1
				section.Bars[at].Chords = one.Sections[0].Bars[0].Chords
				for k := at; k < min(at+2, len(section.Bars)); k++ {
					section.Bars[k].Copies[tune.ChordsRow] = tune.Copy{}
				}
			}
		}
	}
	*a.Tune = changed
	return nil
}

// Compose gives the tune a walking line where it has none, and reports whether it
// did.
func (a *Adding) Compose() (bool, error) {
	for _, s := range a.Tune.Sections {
		if slices.ContainsFunc(s.Bars, func(b tune.Bar) bool { return b.Bass != nil }) {
			return false, nil
		}
	}
	d, faults := edit.Open(tune.Write(a.Tune))
	if len(faults) > 0 {
		return false, faults
	}
	style, err := walk.ParseStyle(walk.StyleNames()[0])
	if err != nil {
		return false, err
	}
	_, err = d.Compose(edit.Range{First: 0, Last: d.Bars() - 1},
		walk.Options{Style: style, Seed: 1, Range: a.neck.BassRange(), Hand: WalkingHand(a.neck)})
	if err != nil {
		return false, err
	}
	a.Tune = d.Tune()
	return true, nil
}

// Save keeps the tune among the player's own, under a name that none of them has, and
// returns it.
func (a *Adding) Save(book tunebook.Book) (Tune, error) {
	if book.Folder() == "" {
		return Tune{}, errors.New("there is no folder to save in")
	}
	base := tunebook.FileNameOf(a.Tune.Title)
	name := base
	if err := book.Begin(); err != nil {
		return Tune{}, err
	}
	for n := 2; ; n++ {
		if !comesWithIt(name) {
			err := gate.Reserve(book.Path(name), 0o644) // another program may add one of the name just now
			if err == nil {
				break
			}
			if !errors.Is(err, os.ErrExist) {
				return Tune{}, err // that of every name
			}
		}
		name = fmt.Sprintf("%s-%d", base, n)
	}
	f, err := tunebook.Read(book.Path(name))
	if err == nil {
		err = f.Replace(tune.Write(a.Tune))
	}
	if err != nil {
		os.Remove(book.Path(name))
		return Tune{}, err
	}
	return Tune{Name: name, Tune: a.Tune, Path: book.Path(name)}, nil
}

// comesWithIt reports whether a tune of the name comes with the program.
func comesWithIt(name string) bool {
	_, ok := content.TuneText(name)
	return ok
}

// Foreign reads a file of another program, as long as one that begins so may be.
func Foreign(in *gate.File) ([]byte, error) {
	begins, err := in.Peek(512)
	if err != nil {
		return nil, err
	}
	return in.All(exchange.MaxBytes(begins))
}

// Add reads what was typed or pasted: a chart, or the path of a file of another
// program.
func (d *Desk) Add(text string) (*Adding, error) {
	path := strings.Trim(strings.TrimSpace(text), `"'`)
	if home, err := os.UserHomeDir(); err == nil && strings.HasPrefix(path, "~/") {
		path = filepath.Join(home, path[2:])
	}
	_, err := os.Stat(path)
	if strings.Contains(path, "\n") || err != nil && !strings.ContainsAny(path, `/\`) || path == "" {
		return Adds([]byte(text), "", exchange.Options{}, d.Neck, d.Tune)
	}
	switch {
	case err != nil && strings.ContainsAny(path, " |"):
		return Adds([]byte(text), "", exchange.Options{}, d.Neck, d.Tune)
	case err != nil:
		return nil, fmt.Errorf("there is no file %s", path)
	}
	in, err := gate.Open(path)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	data, err := Foreign(in)
	if err != nil {
		return nil, err
	}
	return Adds(data, path, exchange.Options{}, d.Neck, d.Tune)
}

// Keep gives a tune that is added a line where it has none, saves it in the book and
// lays it on the desk.
func (d *Desk) Keep(a *Adding, book tunebook.Book) (t Tune, composed bool, err error) {
	if composed, err = a.Compose(); err != nil {
		composed = false // it is kept without one
	}
	if t, err = a.Save(book); err == nil {
		d.Put(t)
	}
	return t, composed, err
}

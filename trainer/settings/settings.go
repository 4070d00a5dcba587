// Package settings reads the player's one settings file, a TOML file in the
// place where the system keeps such files. It knows every setting, its default
// and its bounds, and says by line what is wrong in a file. It never writes the
// file by itself.
package settings

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/nearest"
)

// Settings is everything a player can set. The tags name the keys; defaults are
// those of Default.
type Settings struct {
	Neck   Neck   `toml:"neck"`
	Look   Look   `toml:"look"`
	Sound  Sound  `toml:"sound"`
	Listen Listen `toml:"listen"`
	Today  Today  `toml:"today"`
}

// Neck is the instrument and the hand.
type Neck struct {
	Tuning      []string `toml:"tuning"`
	ScaleMM     float64  `toml:"scale_mm"`
	HighestFret int      `toml:"highest_fret"`
	BassStrings []int    `toml:"bass_strings"`
	LeftHanded  bool     `toml:"left_handed"`
	ReachMM     float64  `toml:"reach_mm"`
}

// Look is how screens are drawn.
type Look struct {
	Background string `toml:"background"`
	ASCII      bool   `toml:"ascii"`
}

// Sound is the click and the model.
type Sound struct {
	ClickDB  float64 `toml:"click_db"`
	BassDB   float64 `toml:"bass_db"`
	ShapesDB float64 `toml:"shapes_db"`
	Click    string  `toml:"click"`
	CountIn  int     `toml:"count_in"`
	Swing    string  `toml:"swing"`
}

// Listen is the input and the windows a take is scored with.
type Listen struct {
	Port     string  `toml:"port"`
	WindowMS float64 `toml:"window_ms"`
	DelayMS  float64 `toml:"delay_ms"`
}

// Today is the day's practice.
type Today struct {
	Minutes      int `toml:"minutes"`
	BreakMinutes int `toml:"break_minutes"`
}

// The values that a choice of words may take.
var (
	Backgrounds = []string{"auto", "dark", "light"}
	Clicks      = []string{"all", "2and4", "first", "alternate"}
	Swings      = []string{"tune", "falling"}
)

// Default returns the settings of a player who has no file.
func Default() Settings {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	return Settings{
		Neck: Neck{
			Tuning: []string{"E2", "A2", "D3", "G3", "B3", "E4"}, ScaleMM: n.ScaleMM, HighestFret: n.HighestFret,
			BassStrings: n.BassStrings, ReachMM: h.ReachMM,
		},
		Look:   Look{Background: "auto"},
		Sound:  Sound{ClickDB: -9, BassDB: -6, ShapesDB: -9, Click: "all", CountIn: 1, Swing: "tune"},
		Listen: Listen{WindowMS: 50},
		Today:  Today{Minutes: 20, BreakMinutes: 25},
	}
}

// Fault is one thing wrong in a settings file. Line and Column count from 1.
type Fault struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Found  string `json:"found"`
	Want   string `json:"want"`
}

// Faults is all that is wrong in a file, in order of lines.
type Faults []Fault

// Error lists the faults, a line each.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i, x := range f {
		lines[i] = fmt.Sprintf("line %d column %d: %s; %s", x.Line, x.Column, x.Found, x.Want)
	}
	return strings.Join(lines, "\n")
}

// Path is where the settings file lies: footfall/settings.toml in the XDG
// configuration folder.
func Path() string { return filepath.Join(xdg.ConfigHome, "footfall", "settings.toml") }

// Load reads the file at path over the defaults. A file that is not there is no
// error. Bad keys and values come back as Faults, and then every setting of the
// file that is good still holds.
func Load(path string) (Settings, error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Default(), nil
	}
	if err != nil {
		return Default(), fmt.Errorf("the settings file cannot be read: %w; the defaults hold", err)
	}
	return Read(text)
}

// Read reads settings from TOML text over the defaults.
func Read(text []byte) (Settings, error) {
	s := Default()
	var faults Faults
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); err != nil {
		var strict *toml.StrictMissingError
		var decode *toml.DecodeError
		switch {
		case errors.As(err, &strict):
			for _, e := range strict.Errors {
				line, column := e.Position()
				faults = append(faults, Fault{line, column, fmt.Sprintf("there is no setting %q", strings.Join(e.Key(), ".")), insteadOf(e.Key())})
			}
		case errors.As(err, &decode):
			line, column := decode.Position()
			return Default(), Faults{{line, column, strings.TrimPrefix(decode.Error(), "toml: "), "mend the line; until then the defaults hold"}}
		default:
			return Default(), err
		}
	}
	at := keyLines(text)
	for _, b := range bounds {
		if found, want := b.check(&s); want != "" {
			line := max(1, at[b.key])
			faults = append(faults, Fault{line, 1, fmt.Sprintf("%s is %s", b.key, found), want})
			b.reset(&s)
		}
	}
	slices.SortFunc(faults, func(a, b Fault) int { return a.Line - b.Line })
	if len(faults) > 0 {
		return s, faults
	}
	return s, nil
}

// keyLines finds the line of each key in a file, as table.key.
func keyLines(text []byte) map[string]int {
	lines := map[string]int{}
	var p unstable.Parser
	p.Reset(text)
	table := ""
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.KeyValue {
			continue
		}
		var parts []string
		line := 0
		for it := e.Key(); it.Next(); {
			parts = append(parts, string(it.Node().Data))
			line = p.Shape(it.Node().Raw).Start.Line
		}
		name := strings.Join(parts, ".")
		if e.Kind == unstable.Table {
			table = name + "."
			continue
		}
		lines[table+name] = line
	}
	return lines
}

// insteadOf says what would do in the place of a key that is none.
func insteadOf(key []string) string {
	all := Keys()
	for _, k := range all {
		if last := k[strings.LastIndexByte(k, '.')+1:]; len(key) > 0 && last == key[len(key)-1] {
			return "write it as " + k
		}
	}
	if k, ok := nearest.Word(strings.Join(key, "."), all); ok {
		return "perhaps " + k + " is meant"
	}
	return "take the line out; `footfall settings` lists what can be set"
}

// Keys lists every setting as table.key, in the order of the file.
func Keys() []string {
	var keys []string
	t := reflect.TypeFor[Settings]()
	for i := range t.NumField() {
		table := t.Field(i)
		for k := range table.Type.NumField() {
			keys = append(keys, table.Tag.Get("toml")+"."+table.Type.Field(k).Tag.Get("toml"))
		}
	}
	return keys
}

// Instrument returns the neck and hand that the settings describe.
func (s Settings) Instrument() (fretboard.Neck, fretboard.Hand) {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	if tuning, err := readTuning(s.Neck.Tuning); err == nil {
		n.Tuning = tuning
	}
	n.ScaleMM, n.HighestFret, n.BassStrings, n.LeftHanded = s.Neck.ScaleMM, s.Neck.HighestFret, s.Neck.BassStrings, s.Neck.LeftHanded
	h.ReachMM = s.Neck.ReachMM
	return n, h
}

// readTuning reads open strings low to high: "E2", "Bb1".
func readTuning(words []string) (fretboard.Tuning, error) {
	if len(words) < 4 || len(words) > 8 {
		return nil, fmt.Errorf("%d strings", len(words))
	}
	tuning := make(fretboard.Tuning, len(words))
	for i, w := range words {
		p, err := harmony.ParsePitch(w)
		if err != nil {
			return nil, err
		}
		tuning[i] = p.MIDI()
	}
	return tuning, nil
}

// Package settings reads the player's one settings file, a TOML file in the
// place where the system keeps such files. It knows every setting, its default
// and its bounds, and says by line what is wrong in a file. It never changes a
// file.
package settings

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/adrg/xdg"
	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/gate"
	"footfall/trainer/guard"
	"footfall/trainer/nearest"
	"footfall/trainer/quote"
)

// Settings is everything a player can set. The tags name the keys; defaults are
// those of Default.
type Settings struct {
	Neck   Neck   `toml:"neck" json:"neck"`
	Look   Look   `toml:"look" json:"look"`
	Sound  Sound  `toml:"sound" json:"sound"`
	Listen Listen `toml:"listen" json:"listen"`
	Play   Play   `toml:"play" json:"play"`
	Today  Today  `toml:"today" json:"today"`
	Drill  Drill  `toml:"drill" json:"drill"`
}

// Neck is the instrument and the hand.
type Neck struct {
	Tuning      []string `toml:"tuning" json:"tuning"`
	ScaleMM     float64  `toml:"scale_mm" json:"scale_mm"`
	HighestFret int      `toml:"highest_fret" json:"highest_fret"`
	BassStrings []int    `toml:"bass_strings" json:"bass_strings"`
	LeftHanded  bool     `toml:"left_handed" json:"left_handed"`
	ReachMM     float64  `toml:"reach_mm" json:"reach_mm"`
	School      string   `toml:"school" json:"school"`
}

// Look is how screens are drawn.
type Look struct {
	Background string `toml:"background" json:"background"`
	ASCII      bool   `toml:"ascii" json:"ascii"`
	Mouse      bool   `toml:"mouse" json:"mouse"`
}

// Sound is the click and the model.
type Sound struct {
	ClickDB    float64 `toml:"click_db" json:"click_db"`
	BassDB     float64 `toml:"bass_db" json:"bass_db"`
	ShapesDB   float64 `toml:"shapes_db" json:"shapes_db"`
	Background string  `toml:"background" json:"background"`
	Click      string  `toml:"click" json:"click"`
	CountIn    int     `toml:"count_in" json:"count_in"`
	Swing      string  `toml:"swing" json:"swing"`
	GhostNotes bool    `toml:"ghost_notes" json:"ghost_notes"`
	Verdicts   bool    `toml:"verdicts" json:"verdicts"`
}

// Listen is the input and the windows a take is scored with.
type Listen struct {
	Port     string  `toml:"port" json:"port"`
	WindowMS float64 `toml:"window_ms" json:"window_ms"`
	DelayMS  float64 `toml:"delay_ms" json:"delay_ms"`
}

// Play is playing along.
type Play struct {
	Rest       string `toml:"rest" json:"rest"`
	Answer     string `toml:"answer" json:"answer"`
	AnswerPort string `toml:"answer_port" json:"answer_port"`
}

// AnswerPedal is what Play's Answer says for a pedal.
const AnswerPedal = "pedal"

// Drill is how questions are asked.
type Drill struct {
	GoOnS float64 `toml:"go_on_s" json:"go_on_s"`
}

// Today is the day's practice.
type Today struct {
	Minutes      int `toml:"minutes" json:"minutes"`
	BreakMinutes int `toml:"break_minutes" json:"break_minutes"`
}

// The values that a choice of words may take.
var (
	Backgrounds = []string{"auto", "dark", "light"}
	Swings      = []string{"tune", "falling"}
	Rests       = []string{"unheard", "always", "never"}
)

// Default returns the settings of a player who has no file.
func Default() Settings {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	return Settings{
		Neck: Neck{
			Tuning: []string{"E2", "A2", "D3", "G3", "B3", "E4"}, ScaleMM: n.ScaleMM, HighestFret: n.HighestFret,
			BassStrings: n.BassStrings, ReachMM: h.ReachMM, School: fretboard.Mixed.String(),
		},
		Look:   Look{Background: "auto", Mouse: true},
		Sound:  Sound{ClickDB: -9, BassDB: -6, ShapesDB: -9, Background: "auto", Click: "all", CountIn: 1, Swing: "tune", Verdicts: true},
		Listen: Listen{WindowMS: 50},
		Play:   Play{Rest: "unheard"},
		Today:  Today{Minutes: 20, BreakMinutes: 25},
		Drill:  Drill{GoOnS: 1.5},
	}
}

// Path is where the settings file lies: footfall/settings.toml in the XDG
// configuration folder.
func Path() string { return filepath.Join(xdg.ConfigHome, "footfall", "settings.toml") }

// MaxBytes bounds what is read as settings; a file with each of them takes some thousand.
const MaxBytes = 64 << 10

// Load reads the file at path over the defaults. A file that is not there is no
// error. Bad keys and values come back as harmony.Faults, and then every setting of the
// file that is good still holds.
func Load(path string) (Settings, error) {
	text, err := gate.Read(path, MaxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return Default(), nil
	}
	if errors.Is(err, guard.ErrSilent) {
		return Default(), fmt.Errorf("%w, so the defaults hold; look after its disk", err)
	}
	if refused := new(gate.Refused); errors.As(err, &refused) {
		return Default(), fmt.Errorf("%w, so the defaults hold; put your settings in a file of that name", err)
	}
	if err != nil {
		var system *fs.PathError
		if errors.As(err, &system) {
			err = system.Err
		}
		return Default(), fmt.Errorf("%s cannot be read (%w), so the defaults hold; make it readable", path, err)
	}
	return Read(text)
}

// New writes a settings file at path in which each setting has its default. A file
// that is there already is left as it is, and the error is fs.ErrExist.
func New(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(Text(Default()))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(path)
	}
	return err
}

// Read reads settings from TOML text over the defaults. All faults come back, and
// each setting that is good holds beside those that are not; in a text that is no
// TOML none holds.
func Read(text []byte) (Settings, error) {
	s := Default()
	if f, not := tune.NotText(string(text)); not {
		f.Want = "the file saved as text in UTF-8; until then the defaults hold"
		return s, harmony.Faults{f}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	var tables map[string]any
	if err := toml.Unmarshal(text, &tables); err != nil {
		var decode *toml.DecodeError
		if !errors.As(err, &decode) {
			return s, err
		}
		line, column := decode.Position()
		return s, harmony.Faults{{Line: line, Column: column, Found: strings.TrimPrefix(decode.Error(), "toml: "),
			Want: "tables like [neck] and lines like scale_mm = 648; until then the defaults hold"}}
	}
	at := places(text)
	var faults harmony.Faults
	fault := func(key, found, want string) {
		p, ok := at[key]
		for name := key; !ok && strings.Contains(name, "."); p, ok = at[name] {
			name = name[:strings.LastIndexByte(name, '.')]
		}
		faults = append(faults, harmony.Fault{Line: max(1, p.Line), Column: max(1, p.Column), Found: quote.Short(found, 2*mostShown), Want: want})
	}
	given := map[string]any{}
	strange := ""
	for _, key := range flat(tables, "", given) {
		if len(faults) == mostFaults {
			break
		}
		table, _, within := strings.Cut(key, ".")
		switch {
		case slices.Contains(keys(), key):
		case !isTable(table) && (within || isEmptyTable(given[key])):
			if table != strange {
				strange = table
				want := "one of " + strings.Join(tableNames(), ", ")
				if near, ok := nearest.Word(table, tableNames()); ok {
					want = "[" + near + "]"
				}
				fault(table, fmt.Sprintf("the table [%s]", table), want)
			}
		case isTable(key):
			fault(key, fmt.Sprintf("%s = %s", key, shown(given[key])), fmt.Sprintf("[%s] on a line of its own, and its settings under it", key))
		default:
			fault(key, "the setting "+key, insteadOf(key))
		}
	}
	for _, b := range bounds {
		v, ok := given[b.key]
		if !ok {
			continue
		}
		if !put(&s, b.key, v) || !b.good(&s) {
			fault(b.key, fmt.Sprintf("%s = %s", b.key, shown(v)), b.want(&s))
			b.reset(&s)
		}
	}
	if _, ok := given["neck.bass_strings"]; !ok {
		twoLowest(&s)
	}
	if len(faults) > 0 {
		return s, faults.Sort()
	}
	return s, nil
}

// deepest is how far tables within tables are looked into, and mostFaults how many faults
// are told: a file of thousands is none of settings.
const deepest, mostFaults = 4, 100

// flat gathers the values of tables by their keys, as table.key, and returns the
// keys in alphabetical order.
func flat(tables map[string]any, in string, values map[string]any) []string {
	for name, v := range tables {
		known := slices.Contains(keys(), in+name)
		if t, ok := v.(map[string]any); ok && !known && len(t) > 0 && strings.Count(in, ".") < deepest {
			flat(t, in+name+".", values)
			continue
		}
		if in == "" && isTable(name) && isEmptyTable(v) {
			continue
		}
		values[in+name] = v
	}
	return slices.Sorted(maps.Keys(values))
}

// tableNames lists the tables of settings in the order of the file.
func tableNames() []string {
	var names []string
	for _, k := range keys() {
		table, _, _ := strings.Cut(k, ".")
		names = append(names, table)
	}
	return slices.Compact(names)
}

// isTable reports whether a table of settings has the name.
func isTable(name string) bool { return slices.Contains(tableNames(), name) }

func isEmptyTable(v any) bool {
	t, ok := v.(map[string]any)
	return ok && len(t) == 0
}

// shown is a value of a file as an error shows it, in part where it is long.
func shown(v any) string {
	switch v := v.(type) {
	case string:
		return quote.Short(strconv.Quote(v), mostShown)
	case map[string]any:
		return "a table"
	}
	return quote.Short(literal(v), mostShown)
}

// mostShown is how much of a key or value is shown, in characters.
const mostShown = 80

// put sets a setting to a value of a file; false where it is of another type.
func put(s *Settings, key string, v any) bool {
	table, name, _ := strings.Cut(key, ".")
	text, err := toml.Marshal(map[string]any{table: map[string]any{name: v}})
	return err == nil && toml.Unmarshal(text, s) == nil
}

// places finds where each key stands in a file, as table.key.
func places(text []byte) map[string]unstable.Position {
	at := map[string]unstable.Position{}
	var p unstable.Parser
	p.Reset(text)
	table := ""
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.KeyValue {
			continue
		}
		var parts []string
		var first unstable.Position
		for it := e.Key(); it.Next() && len(parts) <= deepest; {
			if parts = append(parts, string(it.Node().Data)); len(parts) == 1 {
				first = p.Shape(it.Node().Raw).Start
			}
		}
		name := strings.Join(parts, ".")
		if e.Kind == unstable.Table {
			at[name] = first
			table = name + "."
			continue
		}
		at[table+name] = first
	}
	return at
}

// insteadOf says what would do in the place of a key that is none.
func insteadOf(key string) string {
	all := keys()
	for _, k := range all {
		if table, name, _ := strings.Cut(k, "."); name == key[strings.LastIndexByte(key, '.')+1:] {
			return fmt.Sprintf("%s under [%s]", name, table)
		}
	}
	if k, ok := nearest.Word(key, all); ok {
		return k
	}
	return "no such line; `footfall settings` lists what can be set"
}

// Keys lists every setting as table.key, in the order of the file.
func Keys() []string { return slices.Clone(keys()) }

var keys = sync.OnceValue(func() (keys []string) {
	t := reflect.TypeFor[Settings]()
	for i := range t.NumField() {
		table := t.Field(i)
		for k := range table.Type.NumField() {
			keys = append(keys, table.Tag.Get("toml")+"."+table.Type.Field(k).Tag.Get("toml"))
		}
	}
	return keys
})

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

// School returns the school that shapes are drawn from.
func (s Settings) School() fretboard.School {
	school, _ := fretboard.ParseSchool(s.Neck.School)
	return school
}

// Open strings lie between C0 and C6: what sounds beyond is no string.
const lowestOpen, highestOpen = 12, 84

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
		if tuning[i] < lowestOpen || tuning[i] > highestOpen || i > 0 && tuning[i] <= tuning[i-1] {
			return nil, fmt.Errorf("%s is out of order or range", w)
		}
	}
	return tuning, nil
}

// twoLowest gives the bass line the two lowest strings.
func twoLowest(s *Settings) {
	n := len(s.Neck.Tuning)
	s.Neck.BassStrings = []int{n, n - 1}
}

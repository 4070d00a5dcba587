package progress

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

// Kept counts things by how well they are kept (memory.State.Kept): new ones were never
// asked, firm ones are expected to last three weeks and were asked on three days.
type Kept struct {
	New      int `json:"new"`
	Learning int `json:"learning"`
	Firm     int `json:"firm"`
}

func (k *Kept) add(how memory.Keeping) {
	switch how {
	case memory.Unmet:
		k.New++
	case memory.Learning:
		k.Learning++
	case memory.Firm:
		k.Firm++
	}
}

func (k Kept) plus(l Kept) Kept {
	return Kept{k.New + l.New, k.Learning + l.Learning, k.Firm + l.Firm}
}

// Says counts them in a line.
func (k Kept) Says() string {
	return fmt.Sprintf("%d firm, %d learning, %d not met yet", k.Firm, k.Learning, k.New)
}

// met counts those that were asked.
func (k Kept) met() int { return k.Learning + k.Firm }

// KeptRow is how well a degree of a chord quality is kept over one root, in all
// questions that name the three.
type KeptRow struct {
	Quality string `json:"quality"`
	Degree  string `json:"degree"`
	Root    string `json:"root"`
	Kept
}

// KeptPlace is how well what lies at a place of the neck is kept.
type KeptPlace struct {
	String int `json:"string"`
	Fret   int `json:"fret"`
	Kept
}

// kept counts the questions there are: those that were asked, and of those that the
// tunes in work need the ones that were not.
func kept(r Record, each func(memory.Item, memory.Keeping)) {
	for it, s := range r.States {
		if it.Kind != memory.Passage && it.Known() && !s.New() {
			each(it, s.Kept())
		}
	}
	for _, it := range r.Pool {
		if r.States[it].New() {
			each(it, memory.Unmet)
		}
	}
}

func keptRows(r Record) (all Kept, rows []KeptRow, places []KeptPlace) {
	type cell struct{ quality, degree, root string }
	cells, spots := map[cell]*Kept{}, map[fretboard.Place]*Kept{}
	kept(r, func(it memory.Item, how memory.Keeping) {
		all.add(how)
		if !it.Kind.OfChords() || it.Root == "" || it.String == 0 {
			return
		}
		c := cell{it.Quality, it.Degree, it.Root}
		if cells[c] == nil {
			cells[c] = &Kept{}
		}
		cells[c].add(how)
		for _, p := range placesOf(it, r.Neck) {
			if spots[p] == nil {
				spots[p] = &Kept{}
			}
			spots[p].add(how)
		}
	})
	rows, places = []KeptRow{}, []KeptPlace{}
	for c, k := range cells {
		rows = append(rows, KeptRow{c.quality, c.degree, c.root, *k})
	}
	slices.SortFunc(rows, func(a, b KeptRow) int {
		return cmp.Or(cmp.Compare(a.Quality, b.Quality), compareDegrees(a.Degree, b.Degree), cmp.Compare(keyOf(a.Root), keyOf(b.Root)), cmp.Compare(a.Root, b.Root))
	})
	for p, k := range spots {
		places = append(places, KeptPlace{p.String, p.Fret, *k})
	}
	slices.SortFunc(places, func(a, b KeptPlace) int {
		return cmp.Or(cmp.Compare(a.String, b.String), cmp.Compare(a.Fret, b.Fret))
	})
	return all, rows, places
}

// placesOf are the places on its string at which an item's note lies.
func placesOf(it memory.Item, neck fretboard.Neck) (places []fretboard.Place) {
	root, err := harmony.ParseNote(it.Root)
	degree, fault := harmony.ParseDegree(it.Degree)
	if err != nil || fault != nil || it.String > len(neck.Tuning) {
		return nil
	}
	above := degree.Of(root).Semitone() - neck.Tuning.Open(it.String)
	for fret := (above%12 + 12) % 12; fret <= neck.HighestFret; fret += 12 {
		places = append(places, fretboard.Place{String: it.String, Fret: fret})
	}
	return places
}

// keys are the twelve roots as a table has them.
var keys = strings.Fields("C Db D Eb E F Gb G Ab A Bb B")

// keyOf is the column of a root in keys.
func keyOf(root string) int {
	n, err := harmony.ParseNote(root)
	if err != nil {
		return len(keys)
	}
	return n.Semitone()
}

// KeyRow is a degree of a chord quality in each of the twelve keys.
type KeyRow struct {
	Name string
	Keys []Kept
}

// KeptKeys sets the degrees of chord qualities, those of which something was met,
// against the twelve keys, which it names.
func (v Review) KeptKeys() (rows []KeyRow, names []string) {
	var all []KeyRow
	for _, r := range v.Kept {
		name := cmp.Or(r.Quality, "major") + ", its " + r.Degree // "1 of 7" reads as a score
		if n := len(all); n == 0 || all[n-1].Name != name {
			all = append(all, KeyRow{name, make([]Kept, len(keys))})
		}
		if i := keyOf(r.Root); i < len(keys) {
			k := &all[len(all)-1].Keys[i]
			*k = k.plus(r.Kept)
		}
	}
	return slices.DeleteFunc(all, func(r KeyRow) bool {
		return !slices.ContainsFunc(r.Keys, func(k Kept) bool { return k.met() > 0 })
	}), keys
}

// keptTable is KeptKeys in words.
func (v Review) keptTable() Table {
	t := Table{Name: "kept", Title: "Degree, chord and key: firm of those met", Columns: append([]string{"chord"}, keys...)}
	rows, _ := v.KeptKeys()
	for _, r := range rows {
		cells := []string{r.Name}
		for _, k := range r.Keys {
			cells = append(cells, k.firmOfMet())
		}
		t.Rows = append(t.Rows, cells)
	}
	return t
}

// firmOfMet writes "1 of 3", a dot where none was met.
func (k Kept) firmOfMet() string {
	if k.met() == 0 {
		return "."
	}
	return of(k.Firm, k.met())
}

// keptNeckTable is the neck with how well each place is kept.
func (v Review) keptNeckTable() Table {
	var cells []neckCell
	for _, p := range v.KeptPlaces {
		if p.met() > 0 {
			cells = append(cells, neckCell{p.String, p.Fret, p.firmOfMet()})
		}
	}
	return neckTable("keptneck", "The neck: firm of those met", cells)
}

// progressTable counts everything in one row.
func (v Review) progressTable() Table {
	t := Table{Name: "progress", Title: "Kept: firm is expected to last three weeks, and was asked on three days", Columns: []string{"kept", "new", "learning", "firm"}}
	if v.Progress.met() > 0 {
		t.Rows = [][]string{{"so far", count(v.Progress.New), count(v.Progress.Learning), count(v.Progress.Firm)}}
	}
	return t
}

// Places are how well what lies on a neck is kept, of what was asked.
func Places(states map[memory.Item]memory.State, neck fretboard.Neck) []KeptPlace {
	_, _, places := keptRows(Record{States: states, Neck: neck})
	return places
}

// Story tells in a line how a thing went until a day.
func Story(s memory.State, today memory.Day) string {
	if s.New() {
		return "New: not asked before."
	}
	how := "Learning"
	if s.Kept() == memory.Firm {
		how = "Firm"
	}
	last := "today"
	switch ago := int(today - s.Last); {
	case ago == 1:
		last = "yesterday"
	case ago > 1:
		last = fmt.Sprintf("%d days ago", ago)
	}
	return fmt.Sprintf("%s: asked %s, missed %s, last asked %s.", how, some(s.Asked, "time", "times"), some(s.Missed, "time", "times"), last)
}

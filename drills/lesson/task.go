package lesson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// clause is one part of a task's line with its place.
type clause struct {
	text   string
	column int
}

func clauses(line string) []clause {
	var all []clause
	offset := 0
	for _, part := range strings.Split(line, "|") {
		all = append(all, clause{strings.TrimSpace(part), column(line, offset+indent(part))})
		offset += len(part) + 1
	}
	return all
}

func (r *reader) task(n int, line string) {
	r.tasked = true
	all := clauses(line)
	before := len(r.faults)
	t := Task{Line: n, Column: all[min(1, len(all)-1)].column}
	for _, c := range all {
		if word, _, _ := strings.Cut(c.text, " "); word == "degrees" {
			t.Column = c.column
		}
	}
	switch all[0].text {
	case "drill":
		d := r.drill(n, all)
		t.Drill = &d
	case "play":
		p := r.play(n, all)
		t.Passage = &p
	case "has":
		r.promises(n, all)
		return
	default:
		r.fault(n, all[0].column, strconv.Quote(all[0].text), "drill, play or has, then clauses split by |")
	}
	if len(r.faults) == before {
		r.lesson.Tasks = append(r.lesson.Tasks, t)
	}
}

// each calls take with every clause's word and rest, and reports clauses that
// come twice.
func (r *reader) each(n int, all []clause, take func(c clause, word, rest string) bool, want string) map[string]bool {
	seen := map[string]bool{}
	for _, c := range all {
		word, rest, _ := strings.Cut(c.text, " ")
		rest = strings.TrimSpace(rest)
		switch {
		case seen[word]:
			r.fault(n, c.column, "a second "+strconv.Quote(word), "each clause once")
		case !take(c, word, rest):
			r.fault(n, c.column, strconv.Quote(c.text), want)
		}
		seen[word] = true
	}
	return seen
}

func (r *reader) drill(n int, all []clause) Drill {
	var d Drill
	c := all[min(1, len(all)-1)]
	i := slices.IndexFunc(drills.Kinds, func(k drills.Kind) bool { return len(all) > 1 && string(k.Name) == c.text })
	if i < 0 {
		r.fault(n, c.column, strconv.Quote(c.text), "the kind of drill second: "+drills.KindNames())
		return d
	}
	d.Kind = drills.Kinds[i].Name
	seen := r.each(n, all[2:], func(c clause, word, rest string) bool {
		switch word {
		case "tune":
			var t *tune.Tune
			if d.Tune, t = r.tune(n, c, rest); t != nil {
				d.Title = t.Title
			}
		case "chords":
			d.Chords = rest
			r.chords(n, c, rest)
		case "degrees":
			d.Degrees = strings.Fields(rest)
			r.degrees(n, c, d.Degrees)
		case "rhythms":
			r.rhythms(n, c, rest, &d)
		case "done":
			d.Right, d.Of, d.Within = r.doneDrill(n, c, rest)
		default:
			return false
		}
		return true
	}, "tune, chords, degrees, rhythms or done")
	switch {
	case seen["tune"] == seen["chords"]:
		r.fault(n, all[0].column, strconv.Quote("drill"), "either a tune or chords to ask about")
	case seen["rhythms"] && d.Kind != memory.Hits:
		r.fault(n, c.column, strconv.Quote(c.text), "the drill hits, if it is about rhythms")
	case drills.Kinds[i].Ordered && !seen["tune"]:
		r.fault(n, c.column, strconv.Quote(c.text), "a tune whose line is walked")
	}
	if !seen["done"] {
		r.fault(n, all[0].column, "no done", "what counts as done, like: done 18 of 20")
	}
	return d
}

// tune finds a tune by the name that a line has for it; it is nil where there is none.
func (r *reader) tune(n int, c clause, name string) (string, *tune.Tune) {
	if name == here && r.lesson.Own != nil {
		if r.broken {
			return OwnName(r.lesson.Name), nil
		}
		return OwnName(r.lesson.Name), r.lesson.Own
	}
	t, ok := r.tunes(name)
	if !ok {
		r.fault(n, c.column, strconv.Quote(name), "a tune that `footfall tune list` names, or the word here, and the tune itself below under [tune]")
	}
	return name, t
}

func (r *reader) chords(n int, c clause, text string) {
	symbols := strings.Fields(text)
	if len(symbols) == 0 {
		r.fault(n, c.column, "no chords", "chord symbols with spaces between")
	}
	for _, s := range symbols {
		if _, err := harmony.ParseChord(s); err != nil {
			r.fault(n, c.column, strconv.Quote(s), "chord symbols with spaces between; "+err.Error())
		}
	}
}

func (r *reader) degrees(n int, c clause, degrees []string) {
	if len(degrees) == 0 {
		r.fault(n, c.column, "no degrees", "degrees with spaces between, like 1 b3 5")
	}
	for i, text := range degrees {
		d, err := harmony.ParseDegree(text)
		if err != nil {
			r.fault(n, c.column, strconv.Quote(text), "degrees with spaces between, like 1 b3 5")
		}
		degrees[i] = d.String()
	}
}

// rhythms reads figures split by semicolons, and what may follow them: `1 3; 2 4`, `1 2+ swung
// at 80`.
func (r *reader) rhythms(n int, c clause, rest string, d *Drill) {
	figures, tempo, timed := strings.Cut(rest, " at ")
	if timed {
		d.Tempo = strings.TrimSpace(tempo)
	}
	for _, feel := range []string{memory.FeelSwung, memory.FeelStraight} {
		if before, ok := strings.CutSuffix(strings.TrimSpace(figures), feel); ok {
			figures, d.Feel = before, feel
		}
	}
	for f := range strings.SplitSeq(figures, ";") {
		d.Rhythms = append(d.Rhythms, strings.Join(strings.Fields(f), " "))
	}
	qs, err := Drill{Kind: memory.Hits, Rhythms: d.Rhythms, Feel: d.Feel, Tempo: d.Tempo}.Questions(drills.Material{})
	asked := map[string]bool{}
	for _, q := range qs {
		_, figure, _ := strings.Cut(q.Item().Rhythm, " ")
		asked[figure] = true
	}
	if err != nil || len(asked) < len(d.Rhythms) {
		r.fault(n, c.column, strconv.Quote(c.text), "figures that the drill hits asks, such as: rhythms 1 3; 1 2+ swung at 80")
	}
}

// doneDrill reads `18 of 20` and `18 of 20 in 4 s`.
func (r *reader) doneDrill(n int, c clause, rest string) (right, of int, within time.Duration) {
	f := strings.Fields(rest)
	ok := len(f) == 3 || len(f) == 6 && f[3] == "in" && f[5] == "s"
	if ok {
		var err1, err2, err3 error
		right, err1 = strconv.Atoi(f[0])
		of, err2 = strconv.Atoi(f[2])
		if len(f) == 6 {
			var seconds float64
			seconds, err3 = strconv.ParseFloat(f[4], 64)
			within = time.Duration(seconds * float64(time.Second))
			ok = seconds > 0 && seconds <= 60
		}
		ok = ok && f[1] == "of" && err1 == nil && err2 == nil && err3 == nil && right > 0 && right <= of && of <= 200
	}
	if !ok {
		r.fault(n, c.column, strconv.Quote(c.text), "like: done 18 of 20, or: done 18 of 20 in 4 s")
	}
	return right, of, within
}

func (r *reader) play(n int, all []clause) Passage {
	p := Passage{Layer: fretboard.Bass.String()}
	var t *tune.Tune
	var section clause
	seen := r.each(n, all[1:], func(c clause, word, rest string) bool {
		switch word {
		case "tune":
			if p.Tune, t = r.tune(n, c, rest); t != nil {
				p.Title = t.Title
			}
		case "section":
			p.Section, section = rest, c
		case "layer":
			p.Layer = rest
			if _, err := tune.ParseLayer(rest); err != nil && rest != memory.FreeLayer {
				r.fault(n, c.column, strconv.Quote(rest), "a layer: bass, bass+changes, bass+halves or free")
			}
		case "school":
			p.School = rest
			if _, err := fretboard.ParseSchool(rest); err != nil {
				r.fault(n, c.column, strconv.Quote(rest), "a school: "+fretboard.SchoolNames())
			}
		case "ramp":
			var err error
			if p.Ramp, err = ramp.Parse(rest); err != nil {
				r.fault(n, c.column, strconv.Quote(rest), err.Error())
			}
		case "done":
			p.Clean, p.At = r.donePlay(n, c, rest)
		default:
			return false
		}
		return true
	}, "tune, section, layer, school, ramp or done")
	for _, word := range []string{"tune", "ramp", "done"} {
		if !seen[word] {
			r.fault(n, all[0].column, "no "+word, "a clause like: "+map[string]string{
				"tune": "tune lantern-street", "ramp": "ramp 60:80+4", "done": "done 2 clean at 80"}[word])
		}
	}
	if t != nil && seen["section"] && t.Section(p.Section) == nil {
		var names []string
		for _, s := range t.Sections {
			names = append(names, s.Name)
		}
		r.fault(n, section.column, strconv.Quote(p.Section), "a section of the tune: "+strings.Join(names, ", "))
	}
	if p.At > 0 && p.Ramp.Target > 0 && p.At > p.Ramp.Target {
		r.fault(n, all[0].column, fmt.Sprintf("done at %g", p.At), fmt.Sprintf("a tempo that the ramp reaches, up to %g", p.Ramp.Target))
	}
	return p
}

// donePlay reads `2 clean at 80`.
func (r *reader) donePlay(n int, c clause, rest string) (clean int, at float64) {
	f := strings.Fields(rest)
	if len(f) == 4 && f[1] == "clean" && f[2] == "at" {
		var err1, err2 error
		clean, err1 = strconv.Atoi(f[0])
		at, err2 = strconv.ParseFloat(f[3], 64)
		if err1 == nil && err2 == nil && clean > 0 && clean <= 20 && at >= tune.LowestTempo && at <= tune.HighestTempo {
			return clean, at
		}
	}
	r.fault(n, c.column, strconv.Quote(c.text), "like: done 2 clean at 80")
	return 0, 0
}

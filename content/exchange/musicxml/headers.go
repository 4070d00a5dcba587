package musicxml

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

// title returns what the document is called: its title or the largest of its credits.
func (r *reader) title() string {
	candidates := []string{r.score.WorkTitle, r.score.MovementTitle}
	largest, size := "", 0.0
	for _, c := range r.score.Credits {
		text := ""
		for _, w := range c.Words {
			text += " " + w.Text
		}
		if slices.ContainsFunc(c.Types, func(kind string) bool { return strings.TrimSpace(kind) == "title" }) {
			candidates = append(candidates, text)
		} else if len(c.Types) == 0 && len(c.Words) > 0 && (largest == "" || float(c.Words[0].Size) > size) {
			largest, size = text, float(c.Words[0].Size)
		}
	}
	for _, c := range append(candidates, largest) {
		if c = strings.Join(strings.Fields(c), " "); c != "" && !nameless.MatchString(c) {
			return c
		}
	}
	return ""
}

// nameless is what programs call a piece that was given no name, and what is no name.
var nameless = regexp.MustCompile(`(?i)^(?:untitled(?: score)?|title|score|new score|\d+)$`)

// identify keeps who made the piece as comments.
func (r *reader) identify() {
	id := r.score.Identification
	if id == nil {
		return
	}
	add := func(kind, text string) {
		if text = strings.Join(strings.Fields(text), " "); text != "" {
			r.remarks = append(r.remarks, strings.TrimSpace(kind+" "+text))
		}
	}
	for _, c := range id.Creators {
		add(c.Type+":", c.Text)
	}
	for _, c := range id.Rights {
		add("rights:", c.Text)
	}
	add("source:", id.Source)
}

// headers takes the first key, tempo and swing, and tells of later ones.
func (r *reader) headers(out *transcribe.Score) {
	var key *keyElement
	var keys, tempos, swings later
	keyPart := r.harmonyPart()
	for i, m := range r.parts[keyPart].measures {
		switch {
		case m.key == nil:
		case key == nil:
			key = m.key
		case *m.key.Fifths != *key.Fifths:
			keys.add(i + 1)
		}
	}
	if key != nil && *key.Fifths >= -7 && *key.Fifths <= 7 {
		k, named := r.keyOf(*key.Fifths, strings.ToLower(strings.TrimSpace(key.Mode)))
		if up := r.parts[keyPart].chromatic; up != 0 {
			k = k.Up(up)
		}
		out.Key = &k
		r.modeless = !named
	}
	tempo := 0.0
	for i := range r.measures {
		for _, p := range r.parts {
			m := p.measure(i)
			if m.tempo == 0 {
				m.tempo = m.wordTempo
			}
			if m.swing == nil {
				m.swing = m.wordSwing
			}
			switch {
			case m.tempo == 0 || m.tempo == tempo:
			case tempo == 0:
				tempo = m.tempo
			default:
				tempos.add(i + 1)
			}
			switch {
			case m.swing == nil:
			case !r.swung && m.swing.Long == m.swing.Short && i > 0:
			case r.swung && *m.swing != out.Swing:
				swings.add(i + 1)
			default:
				out.Swing, r.swung = *m.swing, true
			}
		}
	}
	out.Tempo = tempo * r.scale
	keys.tell(r, "key signature", "key")
	tempos.tell(r, "tempo", "tempo")
	swings.tell(r, "swing", "swing")
}

// keyOf returns the major or minor key of a signature and a mode; false where no mode is
// named.
func (r *reader) keyOf(fifths int, mode string) (harmony.Key, bool) {
	// The other modes of the seven letters, on their tonic: by how many fifths their
	// signature differs from the key's. From memory.
	for _, m := range []struct {
		mode  string
		by    int
		minor bool
	}{{"major", 0, false}, {"ionian", 0, false}, {"minor", 0, true}, {"aeolian", 0, true}, {"dorian", -1, true}, {"phrygian", 1, true}, {"locrian", 2, true}, {"lydian", -1, false}, {"mixolydian", 1, false}} {
		if m.mode == mode && fifths+m.by >= -7 && fifths+m.by <= 7 {
			k := harmony.KeyOf(fifths+m.by, m.minor)
			if m.by != 0 {
				r.lose(0, "%s is read as %s", mode, k)
			}
			return k, true
		}
	}
	return harmony.KeyOf(fifths, false), false
}

// mode weighs the two keys of a signature without a mode by the chords.
func (r *reader) mode(out *transcribe.Score) {
	if !r.modeless || out.Key == nil || out.Key.Minor {
		return
	}
	var chords []harmony.Chord
	for _, b := range out.Bars {
		for _, c := range b.Chords {
			chords = append(chords, c.Chord)
		}
	}
	major := *out.Key
	k := transcribe.KeyAmong([]harmony.Key{major, harmony.KeyOf(major.Signature(), true)}, chords)
	if out.Key = &k; k.Minor {
		r.losses = append(r.losses, transcribe.Loss{What: fmt.Sprintf("the key names no mode: %s fits the chords better than %s", k, major), Grade: transcribe.PutIn})
	}
}

// later are the measures in which something changes that a tune has one of.
type later []int

func (c *later) add(measure int) {
	if !slices.Contains(*c, measure) {
		*c = append(*c, measure)
	}
}

func (c later) tell(r *reader, what, has string) {
	switch len(c) {
	case 0:
	case 1:
		r.lose(0, "the %s changes at measure %d; a tune has one %s", what, c[0], has)
	default:
		r.lose(0, "the %s changes %d times, first at measure %d; a tune has one %s", what, len(c), c[0], has)
	}
}

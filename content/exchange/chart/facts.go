package chart

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// meaning is what a piece of a line says of how to play.
type meaning uint8

const (
	aName   meaning = iota // nothing: a word of a title or of a remark
	aFiller                // a word beside one that says something
	aFeel
	aKey
	aPace
	aUnit // the note that a tempo counts
	aTime
	aForm
)

// piece is a word or a few that mean one thing together.
type piece struct {
	means meaning
	text  string
	// from and to are its bytes in the text; parted is set where a sign or a wide gap
	// stands before it.
	from, to int
	parted   bool
	// weak is set where it may be a chord, or a number of something else.
	weak        bool
	tonic, mode string
	low, high   float64
	// quarters is how many quarter notes the note that is counted has, 0 where none is named.
	quarters float64
	meter    tune.Meter
}

const (
	nearTo   = `(?:(?:around|about|circa|ca\.?|c\.|roughly|approx\.?|approximately|maybe|like|say|is|at|just (?:under|over|above|below)|@|~|≈)\s*)`
	figure   = `(?P<low>\d{2,3}(?:\.\d+)?)(?:\s*(?:-|to|or)\s*(?P<high>\d{2,3}))?`
	perMin   = `(?:-?ish|\s*-?\s*(?:bpm|b\.p\.m\.?|beats (?:per|a|to the) minute|clicks|(?:a|per|to the) minute))`
	keyNote  = `(?P<tonic>[A-Ha-h](?:[#b♯♭]|is|e?s|[ -](?i:flat|sharp))?)`
	modeName = `(?i:minor|major|moll|dur|mineur|majeur|menor|mayor|minore|maggiore)`
	noteName = `(?:(?P<dotted>dotted[ -](?:quarter|crotchet)s?(?:[ -]notes?)?|[♩q]\s?\.)|(?P<half>half[ -]notes?|half|minims?|blanches?|halbe|blancas?|𝅗𝅥|h|d)|(?P<eighth>eighths?(?:[ -]notes?)?|quavers?|8ths?|♪|e)|(?P<quarter>quarters?(?:[ -]notes?)?|crotchets?|noires?|viertel|negras?|♩|[qj]))`
)

// sayings are what pieces may be, the stronger first. That of several alternatives of a
// regular expression the first counts is used throughout.
var sayings = []struct {
	means meaning
	weak  bool
	is    *regexp.Regexp
}{
	{aPace, false, regexp.MustCompile(`(?i)^` + nearTo + `*` + noteName + `\s*(?:=|≈|~|at|is)\s*` + nearTo + `*` + figure + perMin + `?`)},
	{aPace, false, regexp.MustCompile(`(?i)^(?:tempo|tpo|bpm|metronome|m\.?\s?m\.?|speed|pulse)\.?\s*(?:marking\s*)?[:=]?\s*` + nearTo + `*` + figure + perMin + `?`)},
	{aPace, false, regexp.MustCompile(`(?i)^` + nearTo + `*` + figure + perMin)},
	{aPace, false, regexp.MustCompile(`(?i)^=?\s*` + nearTo + `+` + figure)},
	{aUnit, false, regexp.MustCompile(`(?i)^(?:(?:to|per|for|counted in)\s+)?(?:the\s+)?` + `(?:(?P<dotted>dotted[ -](?:quarter|crotchet)s?(?:[ -]notes?)?)|(?P<half>half[ -]notes?|minims?)|(?P<eighth>eighth[ -]notes?|quavers?)|(?P<quarter>quarters?(?:[ -]notes?)?|crotchets?))(?: (?:a|per) minute)?`)},
	{aTime, false, regexp.MustCompile(`(?i)^(?:(?:in|time(?: signature)?|meter|metre)\s*[:=]?\s*)?(?P<meter>\d{1,2}/\d{1,2}|common time)(?:[ -](?:time|feel))?`)},
	{aKey, false, regexp.MustCompile(`(?i)^(?:(?:in|is|concert|original|home|sounding)\s+)*(?:the\s+)?(?:key|tonart|tonalit[ée]|tonalidad|tono)(?:\s+cent(?:er|re))?(?:\s+(?:of|is|in))*\s*[:=-]?\s*` + keyNote + `(?:[ -]*(?P<mode>` + modeName + `|min|maj|m))?(?:\s+(?:concert|pitch))*`)},
	{aKey, false, regexp.MustCompile(`^(?i:transposed to|written in|in|en)\s+(?i:concert\s+)?` + keyNote + `(?:[ -]*(?P<mode>` + modeName + `|(?i:min|maj|m)))?(?:\s+(?i:concert|pitch))*`)},
	{aKey, false, regexp.MustCompile(`^(?P<tonic>[B-G]|[A-G][#b♯♭])(?:[ -]?(?P<mode>m|(?i:min|minor|major)))?[ -](?i:blues)`)},
	{aKey, false, regexp.MustCompile(`^` + keyNote + `[ -](?P<mode>` + modeName + `)(?:\s+(?i:concert|pitch))*`)},
	{aKey, false, regexp.MustCompile(`^` + keyNote + `(?P<mode>m?)(?:\s+(?i:concert)(?:\s+(?i:pitch))?)`)},
	{aForm, false, regexp.MustCompile(`^A[ABC]{2,4}`)},
	{aFeel, false, regexp.MustCompile(`(?i)^(?:med(?:ium)?\.?|mid|slow(?:ly|ish|er)?|fast(?:ish|er)?|quick(?:ly|ish)?|up(?:[ -]?tempo)?|bright(?:ly)?|easy|relaxed|lazy|gently|lively|steady|brisk(?:ly)?|` +
		`moderate(?:ly)?|very|quite|rather|light(?:ly)?|hard|straight|even|swing(?:ing)?|swung|shuffle|bossa|nova|samba|latin|ballad|waltz|vals|valse|walzer|jazz|funky?|rock|pop|soul|reggae|` +
		`ska|country|folk|gospel|boogie|polka|modal|bop|bebop|calypso|bolero|rumba|tango|march|16ths|8ths|eighths|triplets|langsam(?:er)?|schnell|lento|lent|vivo|rapide|moderato|allegro|andante|` +
		`adagio|presto|rubato|(?:half|double)[ -]time|two[ -]beat|in (?:two|three|four|[234])|fingerpicked|strummed)`)},
	{aFiller, false, regexp.MustCompile(`^(?:feel|time|with|the|an?|and|at|of|style|groove|rhythm|tempo|concert(?: pitch)?|\d{1,3}[ -]?(?:bars?|measures?)(?: form| each| in all| long)?|played|quarter|about|around|in|key)`)},
	{aKey, true, regexp.MustCompile(`^(?P<tonic>[A-G](?:[#b♯♭]|[ -](?i:flat|sharp))?)(?P<mode>m|min|maj|-)?`)},
	{aPace, true, regexp.MustCompile(`^` + figure + `(?:-?ish)?`)},
}

var (
	// parts is what parts pieces, noTempo what makes a number one of something else.
	parts   = regexp.MustCompile(`^(?:\s+[-–/|•~*]+\s+|\s*[,;()\[\]{}"]+\s*|[.:!?]+(?:\s+|$)|\s{2,}|\t)+`)
	noTempo = regexp.MustCompile(`(?i)^(?:/|%|\s*(?:bars?|measures?|choruses|times|st|nd|rd|th|x)\b)`)
	// partsOn are signs that part where one has before.
	partsOn = regexp.MustCompile(`^[-–/|•~*]+\s+`)
	wordOf  = regexp.MustCompile(`^(?:[^\s,;()\[\]{}"]+|.)`)
	swung   = regexp.MustCompile(`(?i)\b(swing|swinging|swung|shuffle)\b`)
	even    = regexp.MustCompile(`(?i)\b(straight|even|bossa|samba|latin)\b`)
	waltz   = regexp.MustCompile(`(?i)\b(?:waltz|valse?|walzer)\b|\b(?:in|slow|medium|fast) (?:3|three)(?:$|[ ,;.)])`)
	// minorIn says that a key named later on its line is minor.
	minorIn = regexp.MustCompile(`(?i)\bminor (?:blues|tune|swing|waltz|bossa)\b`)
	blues   = regexp.MustCompile(`(?i)\bblues\b`)
	// sungKey is a key as Romance languages name it, in a text where nothing else is.
	sungKey = regexp.MustCompile(`(?i)^(?:(?:en|in|de)\s+)?(?:do|r[ée]|mi|fa|sol|la|si)(?: ?(?:dièse|diese|bémol|bemol|sostenido)|#|b)?[ -](?:mineur|majeur|menor|mayor|minore|maggiore|minor|major)`)
)

// scan takes a text apart into what it says of how to play, and other words.
func scan(text string) (out []piece) {
	parted := true
	for i := 0; i < len(text); {
		m := parts.FindString(text[i:])
		if m == "" && parted {
			m = partsOn.FindString(text[i:])
		}
		if m != "" {
			parted = true
			i += len(m)
			continue
		}
		if c, size := utf8.DecodeRuneInString(text[i:]); unicode.IsSpace(c) {
			i += size
			continue
		}
		p := one(text[i:], out)
		if parted && p.weak && p.means == aKey && p.mode == "-" {
			p.mode = "m"
		}
		p.from, p.to, p.parted = i, i+len(p.text), parted
		parted = false
		out = append(out, p)
		i = p.to
	}
	return out
}

// one is the first piece of a text.
func one(text string, before []piece) piece {
	if m := sungKey.FindString(text); m != "" {
		p := one(inLetters(m), nil)
		p.text = m
		return p
	}
	for _, s := range sayings {
		m := s.is.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		rest := text[len(m[0]):]
		next, _ := utf8.DecodeRuneInString(rest)
		at := func(name string) string {
			if i := s.is.SubexpIndex(name); i >= 0 {
				return m[i]
			}
			return ""
		}
		p := piece{means: s.means, weak: s.weak, text: m[0], tonic: at("tonic"), mode: at("mode")}
		if rest != "" && (unicode.IsLetter(next) || unicode.IsDigit(next) || next == '#' || next == '\'') {
			continue
		}
		switch s.means {
		case aPace, aUnit:
			p.low, _ = strconv.ParseFloat(at("low"), 64)
			p.high, _ = strconv.ParseFloat(at("high"), 64)
			for i, quarters := range []float64{1.5, 2, 0.5, 1} {
				if note := at([]string{"dotted", "half", "eighth", "quarter"}[i]); note != "" {
					p.quarters = quarters
					if len(note) == 1 && !strings.EqualFold(note, "q") && !strings.Contains(m[0], "=") {
						p.low = 0
					}
				}
			}
			if s.means == aPace && (p.low < 20 || p.low > 400 || p.weak && (p.low < 40 || p.low > 320) || noTempo.MatchString(rest)) {
				continue
			}
		case aTime:
			meter, ok := harmony.ParseMeter(at("meter"))
			if !ok && !strings.EqualFold(at("meter"), "common time") {
				continue
			}
			if p.meter = meter; !ok {
				p.meter = tune.Meter{Upper: 4, Lower: 4}
			}
		case aKey:
			plain := strings.TrimSpace(rest) == "" || parts.MatchString(rest) || unicode.IsDigit(next)
			in := strings.Contains(m[0], " ") && (m[0][0] == 'i' || m[0][0] == 'I')
			switch {
			case !s.weak && p.mode == "" && in && !strings.Contains(strings.ToLower(m[0]), "key") && (p.tonic[0] >= 'a' || p.tonic == "A" && !plain):
				continue // an article
			case !s.weak && p.mode != "" && strings.HasPrefix(m[0], p.tonic) && !plain && !blues.MatchString(m[0]) && one(strings.TrimLeft(rest, " "), nil).means == aName:
				continue // words such as: a minor delay
			}
			if _, err := keyNamed(p.tonic, p.mode); err != nil {
				continue
			}
		}
		return p
	}
	return piece{means: aName, text: wordOf.FindString(text)}
}

// certain drops the meaning of weak pieces that nothing bears out: a key or a number counts
// where signs part it from all else, or beside a piece that says how to play.
func certain(ps []piece) []piece {
	out := slices.Clone(ps)
	bears := func(i, by int) bool {
		return by >= 0 && by < len(ps) && ps[by].means != aName && ps[by].means != aFiller && !(ps[by].weak && ps[by].means == ps[i].means)
	}
	keys := 0
	for i, p := range ps {
		if p.means == aPace && i+1 < len(ps) && ps[i+1].means == aUnit {
			out[i].weak = false
		}
		if !out[i].weak {
			continue
		}
		alone := p.parted && (i+1 == len(ps) || ps[i+1].parted)
		if p.text == "A" && !alone && i+1 < len(ps) && ps[i+1].means == aFeel && i+2 < len(ps) && !ps[i+2].parted {
			out[i].means = aName // an article
			continue
		}
		if !alone && !bears(i, i+1) && !bears(i, i-1) || p.means == aKey && !alone && !p.parted && !(bears(i, i+1) && ps[i+1].means != aFeel) {
			out[i].means = aName
		}
	}
	for _, p := range out {
		if p.means == aKey && strings.HasPrefix(p.text, p.tonic) {
			keys++
		}
	}
	if keys > 1 {
		for i := range out {
			if out[i].means == aKey && strings.HasPrefix(out[i].text, out[i].tonic) {
				out[i].means = aName
			}
		}
	}
	return out
}

// hasName reports whether a text says more than meter, tempo, key and feel.
func hasName(text string) bool {
	return slices.ContainsFunc(certain(scan(text)), func(p piece) bool { return p.means == aName && plainWord.MatchString(p.text) })
}

// feel takes what a text says of meter, tempo, key and swing in passing.
func (r *reader) feel(text string) bool {
	return r.take(certain(scan(text)), text, false)
}

// take takes what pieces of a text say, a weak one alone only where the text is surely of
// how to play, and reports whether that is anything.
func (r *reader) take(ps []piece, text string, sure bool) (found bool) {
	quarters, keyed := 0.0, false
	for _, p := range ps {
		if p.means == aUnit {
			quarters = p.quarters
		}
	}
	var weak []piece
	for _, p := range ps {
		switch {
		case p.means == aForm:
			r.formIn(p.text)
		case p.means == aTime:
			r.setMeter(p.meter)
			found = true
		case p.means == aKey && !p.weak:
			if keyed || len(r.bars) > 0 && r.score.Key != nil {
				continue // of a part alone
			}
			keyed = true
			if p.mode == "" && minorIn.MatchString(text) {
				p.mode = "m"
			}
			r.setKey(p.tonic, p.mode)
			found = true
		case p.means == aPace && !p.weak:
			r.pace(p, quarters)
			found = true
		case p.means == aKey || p.means == aPace:
			weak = append(weak, p)
		}
	}
	if waltz.MatchString(text) && len(r.bars) == 0 && r.meter.Beats() == 4 && !slices.ContainsFunc(ps, func(p piece) bool { return p.means == aTime }) {
		r.setMeter(tune.Meter{Upper: 3, Lower: 4})
		r.doubt("no meter is named: it is put in 3/4")
		found = true
	}
	switch {
	case even.MatchString(text):
		r.score.Swing, found = tune.Ratio{Long: 1, Short: 1}, true
	case swung.MatchString(text):
		r.score.Swing, found = tune.Ratio{Long: 2, Short: 1}, true
	}
	if !sure && !found && len(weak) < 2 && !blues.MatchString(text) && !slices.ContainsFunc(ps, func(p piece) bool { return p.means == aFeel }) {
		return false
	}
	for _, p := range weak {
		switch {
		case p.means == aPace && r.score.Tempo == 0:
			r.pace(p, quarters)
			found = true
		case p.means == aKey && len(r.bars) == 0 && r.score.Key == nil:
			r.setKey(p.tonic, p.mode)
			r.leave("line %d: %s is taken as the key", r.number, p.text)
			found = true
		}
	}
	return found
}

// pace takes a tempo, as quarter notes; one of a range is put in the middle.
func (r *reader) pace(p piece, quarters float64) {
	n := p.low
	if p.high > n {
		n = float64(int(p.low+p.high+1) / 2)
		r.doubt("line %d: a tempo from %g to %g is put in as %g", r.number, p.low, p.high, n)
	}
	if p.quarters > 0 {
		quarters = p.quarters
	}
	if r.uncertain = quarters == 0; r.uncertain {
		quarters = 1
	}
	r.score.Tempo = n * quarters
}

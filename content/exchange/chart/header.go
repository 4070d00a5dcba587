package chart

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"footfall/harmony"
	"footfall/harmony/tune"
)

var (
	headers = regexp.MustCompile(`(?i)(?:^|[\s,;({\[])((?:working |song )?title|titre|t[ií]tulo|titel|song|tune(?: title| \d{1,3})?|name|(?:concert )?key(?: cent(?:er|re))?|tonart|tonalit[ée]|tonalidad|tono|ton|tempo|tpo|bpm|time signature|time|meter|metre|takt|taktart|mesure|comp[áa]s|metrum|swing|feel|style|estilo|stil|rhythm|groove|(?:song )?form|forme|forma|structure|ablauf|order|arrangement|tuning|composer|music|by|author|artist|capo|copyright|arranger|year|date|genre|notes?|comment|nombre|fecha|datum|nom|class|teacher|student|roots?|melody|lyrics|scales?|fingering|strumming)\s*[:=]`)
	bare    = regexp.MustCompile(`(?i)^(title|titre|titel|song|key|tonart|tonalit[ée]|tempo|time|meter|takt|capo)(?:\s+-\s+|\s+)([^|]+)$`)
	style   = regexp.MustCompile(`(?i)\b(swing|swung|shuffle|straight|even|bossa|nova|samba|latin|waltz|vals|valse|walzer|medium|slow|slowly|fast|up|tempo|feel|ballad|eighths|8ths|moderate|moderately|key|time|with|the|bright|easy|bpm|med|quarters?|half|notes?|beats?|per|minute|dotted|ca|in (?:two|three|four)|about|around|ish|roughly|approx|circa|at|of|in)\b`)
	keyOf   = regexp.MustCompile(`(?i)\b(?:in the key of|key of|key|transposed to|in)\s+([a-g](?:[#b♯♭]|-flat|-sharp| flat| sharp)?)([\s-]*(?:minor|min|major|maj|moll|dur|mineur|majeur|menor|mayor|m)\b)?(?:$|[^\p{L}\d#])`)
	// inKey is a key in words, without a word such as in before it.
	inKey        = regexp.MustCompile(`(?i)(?:^|[-(,;]\s*)([a-h](?:[#b♯♭]|is|e?s|-flat|-sharp| flat| sharp)?)[ -](minor|major|moll|dur|mineur|majeur|menor|mayor)\s*(?:$|[-),;])`)
	majorOrMinor = regexp.MustCompile(`(?i)\b(?:major|minor|moll|dur|mineur|majeur|menor|mayor)\b`)
	keyText      = regexp.MustCompile(`(?i)^\(?([a-h](?:[#b♯♭]|is|e?s|-flat|-sharp| flat| sharp)?)[\s-]*(minor|min|major|maj|moll|dur|mineur|majeur|menor|mayor|minore|maggiore|m)?\b(-?)`)
	speed        = regexp.MustCompile(`(?i)(?:[♩q]\s*=\s*|~\s*|(?:bpm|tpo)\.?\s*[:=]?\s*|=\s*)(\d{2,3})(?:ish)?\b|\b(\d{2,3})\s*bpm\b|\btempo (?:is |like |maybe |say |around |about ){1,2}(\d{2,3})\b|` +
		`(?:@\s*|\b(?:around|about|roughly|swing|swung|shuffle|straight|even|bossa|nova|samba|latin|waltz|feel|ballad|eighths|8ths|slow|medium|fast|tempo)[\s,(]+(?:at |around |about |circa |ca\.? ?|~ ?)?)(\d{2,3})\s*(?:$|[.,;:()])`)
	pace = regexp.MustCompile(`(?i)(?:(\bdotted quarters?(?: notes?)?|[♩q]\.)|(\bhalf(?: notes?)?|\bminims?|𝅗𝅥)|(\beighths?(?: notes?)?|♪)|\bquarters?(?: notes?)?|♩|\bq)\s*=|` +
		`\((?:(dotted quarter)|(half note)|(eighth note)|quarter)`)
	figures  = regexp.MustCompile(`^\s*(\d{2,3})\s*(?:ish)?\s*$`)
	between  = regexp.MustCompile(`^\D{0,4}(\d{2,3})\s*(?:-|to)\s*(\d{2,3})\b`)
	bpmLast  = regexp.MustCompile(`(?i)[\s,]*[@(]?\s*(?:(?:at|[♩q]\s*=|tempo:?)\s*)?\d{2,3}\s*bpm\)?,?`)
	saysMore = regexp.MustCompile(`[\p{L}\d]`)
	// trailing is a figure behind a comma that may be a tempo.
	trailing     = regexp.MustCompile(`[,(-]\s*([4-9]\d|[12]\d\d)\)?$`)
	blues        = regexp.MustCompile(`(?i)\bblues\b`)
	sectionFirst = regexp.MustCompile(`^[\[(]?` + sectionWord + `\b`)
	quotedTitle  = regexp.MustCompile(`^(?:[^":]*: )?["']([^"]+)["']|^[^"|]*\s"([^"|]+)"[^"|]*$`)
	keyBetween   = regexp.MustCompile(`(?:^|[,;(]\s*|\s-\s)([A-G][#b♯♭]?)(m?)(?:\s*[,;)]|\s-\s|$)`)
	// nameEnd is what parts a title from what is said of how to play it.
	nameEnd   = regexp.MustCompile(`\s+-+\s+|\s*[,;(]`)
	lettersIn = regexp.MustCompile(`\bA[ABC]{2,4}\b`)
	signsIn   = regexp.MustCompile(`[^\p{L}\d\s]`)
	behind    = regexp.MustCompile(`(?i)(?:[-,;.(]|\s\s)\s*(?:key|tempo|bpm|time signature|meter|metre)\s*[:=]`)
	meterIn   = regexp.MustCompile(`(?:^|[\s,(])(\d{1,2}/\d{1,2})(?:$|[\s,):])`)
	swung     = regexp.MustCompile(`(?i)\b(swing|swung|shuffle)\b`)
	even      = regexp.MustCompile(`(?i)\b(straight|even|bossa|samba|latin)\b`)
	named     = regexp.MustCompile(`^(` + sectionWord + ` (?:\d{1,2}|[A-Z]))((?: \(?(?:x\d{1,2}|\d{1,2}x)\)?)?)$`)
	waltz     = regexp.MustCompile(`(?i)\b(?:waltz|valse?|walzer)\b|\b(?:in|slow|medium|fast) (?:3|three)(?:$|[ ,;.)])`)
)

var numberLeft = regexp.MustCompile(`\b\d{1,3}\b`)

// tempoLeft is a number that might be a tempo.
var tempoLeft = regexp.MustCompile(`\b(?:[4-9]\d|[12]\d\d)\b`)

// tempoBehind is a word for a tempo and its number behind it.
var tempoBehind = regexp.MustCompile(`^(\p{L}[\p{L} ]*)\(?(\d{2,3})(?:\).*|)$`)

var ofKey = regexp.MustCompile(`(?i)^(?:of|de|en|in|is) `)

// minorIn says that a key named later on its line is minor.
var minorIn = regexp.MustCompile(`(?i)\bminor (?:blues|tune|swing|waltz|bossa)\b`)

// tabbed is a name and its value in two cells.
var tabbed = regexp.MustCompile(`^(\p{L}[\p{L} ]*?)\s*[\t,;]+\s*([^\t,;]+)$`)

// keyLead is a key before the bars that are in it.
var keyLead = regexp.MustCompile(`^(\s*([A-G][#b]?) ?(m|min(?:or)?|maj(?:or)?)\s*:)\s+\S`)

// saidFirst takes what a line says of key, meter and tempo before its bars, and blanks
// it.
func (r *reader) saidFirst(line string) string {
	if m := keyLead.FindStringSubmatch(line); m != nil && len(r.bars) == 0 && r.chordWords(line[len(m[1]):]) > 1 {
		r.setKey(m[2], m[3])
		r.leave("line %d: %s is taken as the key", r.number, strings.TrimSpace(m[1]))
		return blanks(m[1]) + line[len(m[1]):]
	}
	end := strings.Index(line, "|")
	if m := keySaid.FindStringIndex(line); m != nil && strings.TrimSpace(line[:m[0]]) == "" && r.chordWords(line[m[1]:]) > 1 {
		end = m[1]
	}
	if end < 1 || headers.MatchString(line[end:]) {
		return line
	}
	said := strings.TrimRight(line[:end], " :,;-")
	rest := headers.ReplaceAllString(unsaid(keySaid.ReplaceAllString(said, " ")), " ")
	if said == "" || saysMore.MatchString(rest) || !r.header(strings.TrimSpace(said)) && !r.feel(said) {
		return line
	}
	return strings.Repeat(" ", utf8.RuneCountInString(line[:end])) + line[end:]
}

// saidLast takes a tempo behind the chords of a line, and cuts it off.
func (r *reader) saidLast(line string) string {
	if m := bpmLast.FindStringIndex(line); m != nil && r.chordWords(strings.NewReplacer("-", " ", "|", " ").Replace(line[:m[0]])) > 1 {
		r.feel(line[m[0]:m[1]])
		return line[:m[0]] + line[m[1]:]
	}
	return line
}

// keyAmong takes a plain triad between commas, beside a meter or a tempo before the
// first bar, as the key, and cuts it out.
func (r *reader) keyAmong(text string) string {
	if len(r.bars) > 0 || strings.Contains(text, "|") || r.chordWords(text) != 1 || sectionFirst.MatchString(text) {
		return text
	}
	m := keyBetween.FindStringSubmatchIndex(text)
	if m == nil || !speed.MatchString(text) && !meterIn.MatchString(text) && !(r.first() && m[0] > 0 && hasName(text[:m[0]])) {
		return text
	}
	r.setKey(text[m[2]:m[3]], text[m[4]:m[5]])
	r.leave("line %d: %s is taken as the key", r.number, text[m[2]:m[5]])
	return text[:m[2]] + text[m[5]:]
}

// header reads a line of names and values, such as Key: Bb, or of a meter, a tempo
// and a feel alone.
func (r *reader) header(text string) bool {
	if m := tabbed.FindStringSubmatch(text); m != nil && headers.MatchString(m[1]+":") && !strings.EqualFold(m[1], "swing") {
		text = m[1] + ": " + m[2]
	}
	if m := formHead.FindStringSubmatch(text); m != nil {
		r.setForm(m[1])
		return true
	}
	if r.factsBehind(text) || r.factsAlone(text) {
		return true
	}
	text = r.keyAmong(strings.ReplaceAll(text, "\t", " "))
	found := headers.FindAllStringSubmatchIndex(text, -1)
	starts := len(found) > 0 && strings.Trim(text[:found[0][2]], " {[(") == ""
	if m := behind.FindStringIndex(text); m != nil && !starts && r.first() && !strings.Contains(text, "|") && r.chordWords(text[:m[0]]) < 2 {
		named := hasName(text[:m[0]])
		if r.feel(text[:m[0]]); named {
			r.title(text[:m[0]])
		}
		return r.header(strings.TrimLeft(text[m[0]:], "-,;.( "))
	}
	if starts {
		for i, f := range found {
			end := len(text)
			if i+1 < len(found) {
				end = found[i+1][0]
			}
			r.value(strings.ToLower(text[f[2]:f[3]]), strings.Trim(text[f[1]:end], " ,;)}][{|/"))
		}
		return true
	}
	if m := bare.FindStringSubmatch(text); m != nil && !(strings.EqualFold(m[1], "key") && !keyText.MatchString(inLetters(ofKey.ReplaceAllString(m[2], "")))) && (len(m[1]) > 4 || strings.Contains(text, " - ") || !strings.EqualFold(m[1], "song")) {
		r.value(strings.ToLower(m[1]), m[2])
		return true
	}
	if r.first() && !strings.Contains(text, "|") && (speed.MatchString(text) || meterIn.MatchString(text)) && r.chordWords(text) < 2 && hasName(text) {
		r.feel(text)
		r.title(text)
		return true
	}
	if strings.Contains(text, "|") || r.chordWords(text) > 0 && !meterIn.MatchString(text) && !speed.MatchString(text) && !keyOf.MatchString(text) && r.keyInWords(text) == nil {
		return false
	}
	if strings.ContainsAny(text, "[]") && !strings.Contains(text, "♩") {
		return false
	}
	rest := meterIn.ReplaceAllString(speed.ReplaceAllString(keyOf.ReplaceAllString(inKey.ReplaceAllString(text, ","), " "), " "), " ")
	for _, w := range strings.Fields(rest) {
		if r.reads(strings.Trim(w, "(),")) && !strings.EqualFold(w, "a") {
			return false // chords behind a meter: a line of its own
		}
	}
	if !r.feel(text) {
		return false
	}
	if m := numberLeft.FindString(unsaid(text)); m != "" && (!r.first() || !hasName(text)) && !figures.MatchString(signsIn.ReplaceAllString(unsaid(text), " ")) {
		r.doubt("line %d: %s is left out", r.number, m)
	}
	if r.first() && hasName(text) {
		r.title(text)
	}
	return true
}

// hasName reports whether a text says more than meter, tempo, key and feel.
func hasName(text string) bool {
	return plainWord.MatchString(signsIn.ReplaceAllString(unsaid(text), " "))
}

// unsaid is a text without what it says of key, tempo, meter, feel and form.
func unsaid(text string) string {
	for _, said := range []*regexp.Regexp{keyOf, inKey, speed, meterIn, waltz, style, lettersIn} {
		text = said.ReplaceAllString(text, " ")
	}
	return text
}

// formIn takes a form that a line names in passing, such as AABA.
func (r *reader) formIn(text string) {
	if m := lettersIn.FindString(text); m != "" && len(r.form) == 0 && len(r.bars) == 0 {
		r.form = strings.Split(m, "")
		r.doubt("line %d: %s is taken as the form", r.number, m)
	}
}

// title takes the title of a line, without what is said behind it of how to play.
func (r *reader) title(text string) {
	r.formIn(text)
	if m := quotedTitle.FindStringSubmatch(text); m != nil {
		text = m[1] + m[2]
	} else if r.noTitle(text) {
		r.greeted = true
		r.feel(text)
		r.leave("line %d: %s is no title and is left out", r.number, clipped(text))
		return
	}
	for _, m := range nameEnd.FindAllStringIndex(text, -1) {
		if hasName(text[:m[0]]) && strings.TrimSpace(signsIn.ReplaceAllString(unsaid(text[m[0]:]), " ")) == "" {
			text = text[:m[0]]
			break
		}
	}
	r.score.Title = strings.TrimFunc(text, func(c rune) bool { return strings.ContainsRune(`"'* `, c) || !unicode.IsPrint(c) })
	r.leave("line %d is taken as the title", r.number)
}

func (r *reader) chordWords(text string) int {
	n := 0
	for _, t := range r.lex(text, 1) {
		if t.kind == aChord {
			n++
		}
	}
	return n
}

// value takes the value of a header.
func (r *reader) value(name, text string) {
	switch strings.TrimRight(name, " 0123456789") {
	case "title", "working title", "song title", "song", "tune", "tune title", "titre", "título", "titulo", "titel":
		if m := nameEnd.FindStringIndex(text); m != nil && hasName(text[:m[0]]) && !hasName(text[m[0]:]) && r.feel(text[m[0]:]) {
			text = text[:m[0]]
		}
		r.score.Title = strings.TrimFunc(text, func(c rune) bool { return strings.ContainsRune(`"' `, c) || !unicode.IsPrint(c) })
	case "key", "concert key", "key center", "key centre", "tonart", "tonalité", "tonalite", "tonalidad", "tono", "ton":
		text = inLetters(ofKey.ReplaceAllString(text, ""))
		m := keyText.FindStringSubmatch(text)
		if m == nil {
			r.fault(1, "a key that cannot be read", "a key such as Bb or F#m")
			return
		}
		r.setKey(m[1], strings.Replace(m[2]+m[3], "-", "m", 1))
		key := r.score.Key
		r.feel(text[len(m[0]):])
		r.score.Key = key
		if n := tempoLeft.FindString(text[len(m[0]):]); n != "" && r.score.Tempo == 0 {
			bpm, _ := strconv.ParseFloat(n, 64)
			r.tempo(bpm, text)
			r.doubt("line %d: %s is taken as the tempo", r.number, n)
		}
	case "tempo", "tpo", "bpm":
		if m := between.FindStringSubmatch(text); m != nil {
			low, _ := strconv.ParseFloat(m[1], 64)
			high, _ := strconv.ParseFloat(m[2], 64)
			r.score.Tempo = math.Round((low + high) / 2)
			r.doubt("line %d: a tempo from %s to %s is put in as %g", r.number, m[1], m[2], r.score.Tempo)
			return
		}
		if m := tempoBehind.FindStringSubmatch(text); m != nil {
			text = m[2] + " " + m[1]
		}
		if n, err := strconv.ParseFloat(strings.Fields(strings.Trim(text, "ca.~ ") + " x")[0], 64); err == nil {
			r.tempo(n, text)
			r.feel(strings.TrimLeft(strings.TrimSpace(text), "0123456789."))
			return
		}
		if !r.feel(text) {
			r.leave("line %d: the tempo %q is a word and is left out", r.number, clipped(text))
		}
	case "time signature", "time", "meter", "metre", "takt", "taktart", "mesure", "compás", "compas", "metrum":
		word := strings.Fields(text + " x")[0]
		if text == "C" || strings.EqualFold(text, "common") {
			word = "4/4"
		}
		m, ok := harmony.ParseMeter(strings.Trim(word, ",;."))
		if !ok {
			r.fault(1, "a meter that cannot be read", "2/4 to 7/4, 6/8, 9/8 or 12/8")
			return
		}
		r.setMeter(m)
		r.feel(strings.TrimPrefix(text, word))
	case "swing":
		if even.MatchString(text) || strings.EqualFold(text, "no") || strings.EqualFold(text, "off") {
			r.score.Swing = tune.Ratio{Long: 1, Short: 1}
		} else {
			r.score.Swing = tune.Ratio{Long: 2, Short: 1}
		}
	case "feel", "style", "rhythm", "genre", "estilo", "stil", "groove":
		if !r.feel(text) {
			r.leave("line %d: %s %q is left out", r.number, name, clipped(text))
		}
	case "form", "song form", "structure", "order", "arrangement", "forme", "forma", "ablauf":
		r.setForm(text)
	default:
		r.leave("line %d: %s is left out", r.number, name)
	}
}

// feel takes what a line says of meter, tempo, key and swing in passing.
func (r *reader) feel(text string) bool {
	found := false
	r.formIn(text)
	if m := meterIn.FindStringSubmatch(text); m != nil {
		if meter, ok := harmony.ParseMeter(m[1]); ok {
			r.setMeter(meter)
			found = true
		}
	} else if waltz.MatchString(text) && len(r.bars) == 0 && r.meter.Beats() == 4 {
		r.setMeter(tune.Meter{Upper: 3, Lower: 4})
		r.doubt("no meter is named: it is put in 3/4")
		found = true
	}
	if m := speed.FindStringSubmatch(text); m != nil {
		n, _ := strconv.ParseFloat(m[1]+m[2]+m[3]+m[4], 64)
		r.tempo(n, text)
		found = true
	}
	if m := keyOf.FindStringSubmatch(text); m != nil && !(m[2] == "" && strings.HasPrefix(m[0], "in a")) {
		if m[2] == "" && minorIn.MatchString(text) {
			m[2] = "m"
		}
		r.setKey(m[1], m[2])
		found = true
	} else if m := r.keyInWords(inLetters(text)); m != nil {
		r.setKey(m[1], strings.ToLower(m[2]))
		found = true
	}
	switch {
	case even.MatchString(text):
		r.score.Swing, found = tune.Ratio{Long: 1, Short: 1}, true
	case swung.MatchString(text):
		r.score.Swing, found = tune.Ratio{Long: 2, Short: 1}, true
	}
	if m := trailing.FindStringSubmatch(text); m != nil && r.score.Tempo == 0 && (found || blues.MatchString(text)) {
		n, _ := strconv.ParseFloat(m[1], 64)
		r.tempo(n, text)
		found = true
	}
	if m := figures.FindStringSubmatch(signsIn.ReplaceAllString(unsaid(text), " ")); m != nil && found && r.score.Tempo == 0 {
		n, _ := strconv.ParseFloat(m[1], 64)
		r.tempo(n, text)
	}
	return found
}

// keyInWords returns the tonic and the mode of a line such as E minor, 4/4 before the
// first bar, nil for a line of chords.
func (r *reader) keyInWords(text string) []string {
	m := inKey.FindStringSubmatch(text)
	alone := m != nil && len(m[0]) == len(text)
	if len(r.bars) > 0 || alone && !r.startsBarred || r.chordWords(text) > 1 || len(majorOrMinor.FindAllString(text, -1)) > 1 {
		return nil
	}
	return m
}

// tempo takes a tempo, as quarter notes, and whether the text names the note counted.
func (r *reader) tempo(n float64, text string) {
	m := pace.FindStringSubmatch(text)
	r.uncertain = m == nil
	switch {
	case m == nil:
	case m[1]+m[4] != "":
		n *= 1.5
	case m[2]+m[5] != "":
		n *= 2
	case m[3]+m[6] != "":
		n /= 2
	}
	r.score.Tempo = n
}

// keyNamed reads a key by its tonic and its mode, in English or in German, where H is
// B and B is Bb.
func keyNamed(tonic, mode string) (harmony.Key, error) {
	tonic = strings.NewReplacer("♭", "b", "♯", "#", "-flat", "b", " flat", "b", "-sharp", "#", " sharp", "#").Replace(strings.ToLower(tonic))
	mode = strings.ToLower(strings.Trim(mode, " -"))
	if (mode == "moll" || mode == "dur") && tonic == "b" {
		tonic = "bb"
	}
	name := capital(fromH(sharpened(tonic)))
	if mode == "m" || mode == "min" || mode == "minor" || mode == "moll" || mode == "mineur" || mode == "menor" || mode == "minore" {
		name += "m"
	}
	return harmony.ParseKey(name)
}

func (r *reader) setKey(tonic, mode string) {
	k, err := keyNamed(tonic, mode)
	if err != nil {
		r.fault(1, "a key that cannot be read", "a key such as Bb or F#m")
		return
	}
	r.score.Key = &k
}

// setMeter gives the bars from here on a meter; before the first it is the score's.
func (r *reader) setMeter(m tune.Meter) {
	r.meter = m
	if len(r.bars) == 0 {
		r.score.Meter = m
	}
}

// clipped is text from the chart, short enough to tell.
func clipped(text string) string {
	if runes := []rune(text); len(runes) > 40 {
		return string(runes[:40]) + "…"
	}
	return text
}

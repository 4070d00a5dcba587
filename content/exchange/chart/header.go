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

var (
	headers = regexp.MustCompile(`(?i)(?:^|[\s,;({\[])((?:working |song )?title|titre|t[ií]tulo|titel|(?:my )?(?:song|piece|track)|(?:my )?tune(?: title| \d{1,3})?|subject|(?:tune |song )?name|(?:concert )?key(?: cent(?:er|re))?|tonart|tonalit[ée]|tonalidad|tono|ton|tempo|tpo|bpm|time signature|time|meter|metre|takt|taktart|mesure|comp[áa]s|metrum|swing|feel|style|estilo|stil|rhythm|groove|(?:song )?form|forme|forma|structure|ablauf|order|arrangement|tuning|composer|music|by|author|artist|capo|copyright|arranger|year|date|genre|notes?|comment|nombre|fecha|datum|nom|class|teacher|student|roots?|melody|lyrics|scales?|fingering|strumming)\s*[:=]`)
	bare    = regexp.MustCompile(`(?i)^(title|titre|titel|song|key|tonart|tonalit[ée]|tempo|time|meter|takt|capo)(?:\s+-\s+|\s+)([^|]+)$`)
	keyText = regexp.MustCompile(`(?i)^\(?([a-h](?:[#b♯♭]|is|e?s|-flat|-sharp| flat| sharp)?)[\s-]*(minor|min|major|maj|moll|dur|mineur|majeur|menor|mayor|minore|maggiore|m)?\b(-?)`)
	bpmLast = regexp.MustCompile(`(?i)[\s,]*[@(]?\s*(?:(?:at|[♩q]\s*=|tempo:?)\s*)?\d{2,3}\s*bpm\)?,?`)

	sectionFirst = regexp.MustCompile(`^[\[(]?` + sectionWord + `\b`)
	quotedTitle  = regexp.MustCompile(`^(?:[^":]*: )?["']([^"]+)["']|^[^"|]*\s"([^"|]+)"[^"|]*$`)
	lettersIn    = regexp.MustCompile(`\bA[ABC]{2,4}\b`)
	named        = regexp.MustCompile(`^(` + sectionWord + ` (?:\d{1,2}|[A-Z]))((?: \(?(?:x\d{1,2}|\d{1,2}x)\)?)?)$`)
	ofKey        = regexp.MustCompile(`(?i)^(?:of|de|en|in|is) `)
	// aside is a remark behind a title, listed the number of a tune in a list, calledIn
	// a title that ends a sentence about it.
	aside    = regexp.MustCompile(`\s*\([^()]*\)?\s*$`)
	listed   = regexp.MustCompile(`^\d{1,2}[.)]\s+`)
	calledIn = regexp.MustCompile(`^.*\p{Ll} .*\b(?:song|tune|piece|called|titled|named|changes (?:for|of|to)|chords (?:for|of|to)|chart (?:for|of))\s+((?:\p{Lu}[\p{L}']*\s*){1,6})[.?!]*$`)
	// tabbed is a name and its value in two cells, keyLead a key before the bars in it.
	tabbed  = regexp.MustCompile(`^(\p{L}[\p{L} ]*?)\s*[\t,;]+\s*([^\t,;]+)$`)
	keyLead = regexp.MustCompile(`^(\s*([A-G][#b]?) ?(m|min(?:or)?|maj(?:or)?)\s*:)\s+\S`)
	// greeting begins a letter, rowOfNames a table; ofCourse is said of a chart.
	greeting   = regexp.MustCompile(`(?i)^\W*(?:hi|hiya|hey|hello|yo|dear|hallo|hola|salut|bonjour|ciao|moin|servus|liebe[rs]?|good (?:morning|evening|afternoon))(?:[\s,!.]|$)`)
	rowOfNames = regexp.MustCompile(`(?i)^\W*(?:sections?|parts?|bars?)\s*[;,\t|]`)
	ofCourse   = regexp.MustCompile(`(?i)\b(?:i've|i'm|u|can you|could you|for you|(?:tune|song) is called|here's|here (?:is|are)|this is|thanks|please|correct me|as promised|from memory)\b`)
)

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
	if end < 1 || headers.MatchString(line[end:]) || r.piped(line) {
		return line
	}
	said := strings.TrimRight(line[:end], " :,;-")
	if slices.ContainsFunc(scan(said), func(p piece) bool { return p.weak && p.means == aKey }) {
		return line
	}
	rest := scan(headers.ReplaceAllString(keySaid.ReplaceAllString(said, " "), " "))
	more := func(p piece) bool { return p.means == aName && hasLetter.MatchString(p.text) }
	if said == "" || slices.ContainsFunc(certain(rest), more) || !r.header(strings.TrimSpace(said)) && !r.feel(said) {
		return line
	}
	return strings.Repeat(" ", utf8.RuneCountInString(line[:end])) + line[end:]
}

// saidLast takes a tempo behind the chords of a line, and cuts it off.
func (r *reader) saidLast(line string) string {
	if m := bpmLast.FindStringIndex(line); m != nil && r.chordWords(strings.NewReplacer("-", " ", "|", " ").Replace(line[:m[0]])) > 1 && r.chordal(strings.TrimSpace(line[:m[0]])) {
		r.feel(line[m[0]:m[1]])
		return line[:m[0]] + line[m[1]:]
	}
	return line
}

// wholeSaid says before the bars, behind a title or alone, how often all is played.
var wholeSaid = regexp.MustCompile(`(?i)(?:^|\s*[,;(.-]\s*|\s{2,})(?:play |repeat )?(?:(?:the )?(?:whole|entire) (?:thing|tune|song|form|lot|piece)|everything|it all|all of it) (` + timesWords + `)\)?[.!]?$`)

// allSaid takes how often all is played from a line before the bars.
func (r *reader) allSaid(line string) string {
	m := wholeSaid.FindStringSubmatchIndex(line)
	if m == nil || len(r.bars) > 0 {
		return line
	}
	r.all = max(count(line[m[2]:m[3]]), 1)
	r.doubt("line %d: all is played %d times", r.number, r.all)
	return line[:m[0]]
}

// header reads a line of names and values, such as Key: Bb, or of a meter, a tempo
// and a feel alone.
func (r *reader) header(text string) bool {
	if m := tabbed.FindStringSubmatch(text); m != nil && headers.MatchString(m[1]+":") && !strings.EqualFold(m[1], "swing") {
		text = m[1] + ": " + m[2]
	}
	text = strings.ReplaceAll(text, "\t", "  ")
	if m := formHead.FindStringSubmatch(text); m != nil {
		r.setForm(m[1])
		return true
	}
	found := headers.FindAllStringSubmatchIndex(text, -1)
	section := len(found) > 0 && strings.EqualFold(text[found[0][2]:found[0][3]], "groove") && strings.Contains(text, "|")
	if len(found) > 0 && !section && strings.Trim(text[:found[0][2]], " {[(") == "" {
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
	return r.factLine(text)
}

// factLine takes a line that says of how to play, the first one perhaps behind a title.
func (r *reader) factLine(text string) bool {
	if strings.Contains(text, "|") && !r.piped(text) {
		return false
	}
	ps := certain(scan(text))
	orders := r.playedIn(text, ps)
	names, chords := 0, 0
	for _, p := range ps {
		switch {
		case p.means != aName || !hasLetters.MatchString(p.text):
		case p.text != "a" && p.text != "A" && r.reads(strings.Trim(p.text, ".'")):
			chords++
		default:
			names++
		}
	}
	from, to, values, strong, feels := nameIn(ps)
	blue := slices.ContainsFunc(ps, inBlues)
	if chords > 1 || chords == 1 && names == 0 || (strong == 0 || len(r.bars) > 0) && sectionFirst.MatchString(text) || strong == 0 && timesSaid.MatchString(text) {
		return false
	}
	switch evidence := values + feels; {
	case evidence == 0:
		return false
	case names+chords == 0 && !(blue && r.first()):
		if strong == 0 && values < 2 && (values+feels < 2 || values == 0) && !(swung.MatchString(text) || even.MatchString(text) || waltz.MatchString(text)) {
			return false
		}
		if alone := len(ps) == 1 && ps[0].means == aKey; alone && !blue && strings.HasPrefix(text, ps[0].tonic) && (len(r.bars) > 0 || !r.hasBars) {
			return false // a chord in words
		}
	case r.first():
		if evidence == 1 && values == 1 && strong == 0 && ps[len(ps)-1].means == aPace {
			r.doubt("line %d: %s stays in the title: write Tempo: %s if it is the tempo", r.number, ps[len(ps)-1].text, ps[len(ps)-1].text)
			return false
		}
	case r.lyrics == 0 && strong > 0 && slices.ContainsFunc(ps, func(p piece) bool { return !p.weak && (p.means == aPace || p.means == aTime) }):
	case len(r.bars) > 0 && (strong == 0 || names > 2), strong == 0 && evidence < 2, names > 3 && evidence < 2, names > 8:
		return false
	}
	r.take(ps, text, true)
	quoted := quotedTitle.MatchString(text) && len(r.bars) == 0 && r.score.Title != ""
	if (names+chords > 0 || blue) && (r.first() || quoted && !r.titled) {
		name := text
		if !quotedTitle.MatchString(text) {
			name = strings.TrimRight(text[ps[from].from:ps[to].to], " .")
		}
		r.title(name)
		from = to + 1
	}
	for i := max(from, 0); i < len(ps); i++ {
		k := i
		for k+1 < len(ps) && ps[i].means == aName && ps[k+1].means == aName {
			k++
		}
		if ps[i].means == aName && hasLetter.MatchString(text[ps[i].from:ps[k].to]) {
			r.leave("line %d: %s is left out", r.number, clipped(text[ps[i].from:ps[k].to]))
		}
		i = k
	}
	for _, o := range orders {
		r.said(o, false)
	}
	return true
}

// piped reports whether bars part what a line says of how to play, not chords.
func (r *reader) piped(text string) bool {
	cells := strings.Split(text, "|")
	if len(r.bars) > 0 || strings.TrimSpace(cells[0]) == "" || !hasLetters.MatchString(cells[0]) {
		return false
	}
	return !slices.ContainsFunc(cells[1:], func(cell string) bool {
		ps := scan(cell)
		return slices.ContainsFunc(ps, func(p piece) bool { return p.means == aName || p.weak && p.means == aKey }) ||
			!slices.ContainsFunc(ps, func(p piece) bool { return tells(p) || p.means == aFeel })
	})
}

// playedIn returns the parts of a line that say what is played again, and makes fillers of
// their words.
func (r *reader) playedIn(text string, ps []piece) (out []string) {
	for s := 0; s < len(ps) && len(r.bars) > 0 && !labelFirst.MatchString(text); {
		e := s + 1
		for e < len(ps) && !ps[e].parted {
			e++
		}
		if part := text[ps[s].from:ps[e-1].to]; e-s < len(ps) && r.understood(part) {
			for i := s; i < e; i++ {
				ps[i].means = aFiller
			}
			out = append(out, part)
		}
		s = e
	}
	return out
}

// nameIn returns the first and the last piece of the name that a line has, how many pieces
// say a key, a meter or a tempo, how many of those are strong, and how many parts of
// the line say a feel alone.
func nameIn(ps []piece) (from, to, values, strong, feels int) {
	from, to = -1, len(ps)-1
	ends := false
	for s := 0; s < len(ps); {
		e := s + 1
		for e < len(ps) && !ps[e].parted {
			e++
		}
		last, felt := -1, false
		for i := s; i < e; i++ {
			switch p := ps[i]; {
			case p.means == aName:
				last = i
			case p.means == aFeel:
				felt = true
			case inBlues(p):
				last, values, strong = i, values+1, strong+1 // a name and a key
			case p.means == aKey, p.means == aPace, p.means == aTime:
				if values++; !p.weak {
					strong++
				}
			case p.means == aForm:
				felt = true
			}
		}
		if last < 0 && felt {
			feels++
		}
		if last >= 0 && from < 0 {
			for from = s; tells(ps[from]) && !inBlues(ps[from]); from++ {
			}
		}
		cut := last + 1
		if last < 0 {
			cut = s
		}
		for last >= s && cut < e && ps[cut].means == aFeel && unicode.IsUpper(firstRune(ps[cut].text)) && unicode.IsUpper(firstRune(ps[last].text)) {
			cut++
		}
		for last >= s && cut < e && ps[cut].means == aKey && inFirst.MatchString(ps[cut].text) {
			cut++ // a title such as: Blues in F
		}
		says := last < 0 && (felt || slices.ContainsFunc(ps[s:e], tells)) || last >= 0 && slices.ContainsFunc(ps[cut:e], tells)
		if from >= 0 && !ends && says {
			to, ends = cut-1, true
		}
		s = e
	}
	return from, to, values, strong, feels
}

var inFirst = regexp.MustCompile(`(?i)^in `)

func firstRune(text string) rune {
	c, _ := utf8.DecodeRuneInString(text)
	return c
}

// inBlues reports whether a piece names a blues by its key.
func inBlues(p piece) bool { return p.means == aKey && blues.MatchString(p.text) }

func tells(p piece) bool { return p.means == aKey || p.means == aPace || p.means == aTime }

// formIn takes a form that a line names in passing, such as AABA.
func (r *reader) formIn(text string) {
	if m := lettersIn.FindString(text); m != "" && len(r.form) == 0 && len(r.bars) == 0 {
		r.form = strings.Split(m, "")
		r.doubt("line %d: %s is taken as the form", r.number, m)
	}
}

// title takes the title of a line.
func (r *reader) title(text string) {
	r.formIn(text)
	if m := quotedTitle.FindStringSubmatch(text); m != nil {
		text = m[1] + m[2]
		r.titled = true
	} else if r.noTitle(text) {
		r.greeted = true
		r.feel(text)
		r.leave("line %d: %s is no title and is left out", r.number, clipped(text))
		return
	}
	if m := calledIn.FindStringSubmatch(text); m != nil {
		text = m[1]
	}
	text = strings.TrimPrefix(text, listed.FindString(text))
	if m := aside.FindString(text); m != "" && m != text && hasLetters.MatchString(text[:len(text)-len(m)]) {
		text = strings.TrimSuffix(text, m)
		r.leave("line %d: %s is left out of the title", r.number, strings.TrimSpace(m))
	}
	r.named(text)
	r.leave("line %d is taken as the title", r.number)
}

func (r *reader) named(title string) {
	r.score.Title = strings.TrimFunc(title, func(c rune) bool { return strings.ContainsRune(`"'* ,-(`, c) || !unicode.IsPrint(c) })
}

// noTitle reports whether a first line greets, or says something, and is no title; behind
// a greeting a title has its words in capitals.
func (r *reader) noTitle(text string) bool {
	words := strings.Fields(text)
	inCapitals := !slices.ContainsFunc(words, func(w string) bool {
		return len(w) > 3 && w == strings.ToLower(w) || strings.HasSuffix(w, ":")
	})
	switch {
	case rowOfNames.MatchString(text):
		return true
	case greeting.MatchString(text):
		return len(words) < 3 || !inCapitals || strings.ContainsAny(text[len(text)-1:], ",!.")
	case len(words) > 3 && !inCapitals && (strings.HasSuffix(text, ":") || ofCourse.MatchString(text)):
		return true
	case !r.greeted:
		return false
	}
	return !inCapitals || len(words) > 7
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

var numberFirst = regexp.MustCompile(`\b\d{1,3}\b`)

// value takes the value of a header.
func (r *reader) value(name, text string) {
	switch strings.TrimRight(name, " 0123456789") {
	case "title", "working title", "song title", "song", "tune", "tune title", "tune name", "song name", "name", "piece", "track", "my tune", "my song", "my piece", "titre", "título", "titulo", "titel", "nombre", "nom":
		ps := certain(scan(text))
		if from, to, values, _, feels := nameIn(ps); from == 0 && values+feels > 0 && to+1 < len(ps) && ps[to+1].parted && r.take(ps[to+1:], text[ps[to+1].from:], true) {
			text = text[:ps[to].to]
		}
		r.named(text)
	case "key", "concert key", "key center", "key centre", "tonart", "tonalité", "tonalite", "tonalidad", "tono", "ton":
		text = inLetters(ofKey.ReplaceAllString(text, ""))
		m := keyText.FindStringSubmatch(text)
		if m == nil {
			r.fault(1, "a key that cannot be read", "a key such as Bb or F#m")
			return
		}
		r.setKey(m[1], strings.Replace(m[2]+m[3], "-", "m", 1))
		key, rest := r.score.Key, text[len(m[0]):]
		ps := certain(scan(rest))
		r.take(ps, rest, false)
		r.score.Key = key
		for _, p := range ps {
			if p.means == aPace && p.weak {
				r.pace(p, 0)
				r.doubt("line %d: %s is taken as the tempo", r.number, p.text)
			}
		}
	case "tempo", "tpo", "bpm":
		ps := certain(scan(text))
		i := slices.IndexFunc(ps, func(p piece) bool { return p.means == aPace })
		if i < 0 {
			if n := numberFirst.FindString(text); n != "" {
				bpm, _ := strconv.ParseFloat(n, 64)
				r.pace(piece{low: bpm}, 0)
			}
		} else if ps[i].weak {
			ps[i].weak = false
		}
		if !r.take(ps, text, false) && r.score.Tempo == 0 {
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

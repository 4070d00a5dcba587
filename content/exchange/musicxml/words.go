package musicxml

import (
	"regexp"
	"strings"

	"footfall/harmony/tune"
)

// How words say where to go on, with or without stops: D.C. al Fine, dal segno, To
// Coda. Common practice, no source.
var (
	daCapoWords   = regexp.MustCompile(`(?i)^(?:d\.?\s*c\b\.?|da\s+capo\b|dacapo\b)`)
	dalSegnoWords = regexp.MustCompile(`(?i)^(?:d\.?\s*s\b\.?|dal\s+segno\b|dalsegno\b)`)
	toCodaWords   = regexp.MustCompile(`(?i)^(?:to|al)\s+(?:the\s+)?(?:coda\b|⊕|𝄌)`)
	fineWords     = regexp.MustCompile(`(?i)^(?:fine|the\s+end)\b\.?$`)
	codaWords     = regexp.MustCompile(`(?i)^(?:⊕|𝄌)?\s*coda\b\.?$|^(?:⊕|𝄌)$`)
	segnoWords    = regexp.MustCompile(`(?i)^(?:𝄋)?\s*segno\b\.?$|^𝄋$`)
)

// How words say a tempo and a swing. What else stands in a text that does is left out
// with it, if it is of these words alone.
var (
	tempoWords    = regexp.MustCompile(`(?i)\(?\s*(?:[♩𝅘𝅥]|\bm\.?\s?m\.?|\bquarter|\btempo)?\s*=\s*(?:ca?\.?\s*)?(\d{2,3})(?:\s*[-–]\s*\d{2,3})?(?:\s*bpm)?\s*\)?|(\d{2,3})\s*bpm`)
	swingWords    = regexp.MustCompile(`(?i)\b(?:swing|swung|shuffle)\b`)
	straightWords = regexp.MustCompile(`(?i)\b(?:straight|even)\s+(?:8ths?|eighths?|feel)|^straight$|\b(?:no|not)\s+sw[iu]ng`)
	feelWords     = regexp.MustCompile(`(?i)\b(?:swing|swung|shuffle|straight|even|medium|med|moderate|moderately|up|tempo|fast|slow|slowly|bright|brightly|light|hard|easy|relaxed|jazz|blues|feel|8ths?|8th|eighths?|notes?|triplet|style|with|a|in|no|not)\b|[-.,()]`)
)

// instruction takes a text above the measure that tells what to do, and reports
// whether that is all it is: what is not is a cue of the player's.
func (f *flattener) instruction(text string) bool {
	m := f.out
	switch {
	case daCapoWords.MatchString(text):
		m.daCapo = true
	case dalSegnoWords.MatchString(text):
		m.dalSegno = true
	case toCodaWords.MatchString(text):
		m.toCoda = true
	case fineWords.MatchString(text):
		m.fine = true
	case codaWords.MatchString(text):
		m.coda = true
	case segnoWords.MatchString(text):
		m.segno = true
	default:
		return f.feel(text)
	}
	return true
}

// feel takes the tempo and the swing that a text names.
func (f *flattener) feel(text string) bool {
	rest := text
	if t := tempoWords.FindStringSubmatch(text); t != nil {
		f.out.wordTempo = float(t[1] + t[2])
		rest = strings.Replace(text, t[0], "", 1)
	}
	switch {
	case straightWords.MatchString(rest):
		f.out.wordSwing = &tune.Ratio{Long: 1, Short: 1}
	case swingWords.MatchString(rest):
		f.out.wordSwing = &tune.Ratio{Long: 2, Short: 1}
	case rest == text:
		return false
	}
	return strings.TrimSpace(feelWords.ReplaceAllString(rest, "")) == ""
}

// tellOrder says which jumps cannot be followed.
func (r *reader) tellOrder(flows []flow) {
	segno, coda, jumps := false, -1, 0
	for i, f := range flows {
		segno = segno || f.segno
		if f.coda {
			coda = i
		}
	}
	for i, f := range flows {
		if f.dalSegno && !segno {
			r.lose(0, "D.S. at measure %d: there is no segno, so it is played from the beginning", i+1)
		}
		if f.dalSegno || f.daCapo {
			if jumps++; jumps == 2 {
				r.lose(0, "the jump at measure %d is not taken: one before it was", i+1)
			}
		}
		if f.toCoda && coda <= i {
			r.lose(0, "To Coda at measure %d: no coda follows, so it is played on", i+1)
		}
	}
	if jumps > 0 {
		return
	}
	for i, f := range flows {
		if f.fine && i+1 < len(flows) {
			r.lose(0, "Fine at measure %d: nothing leads back, so it is played on", i+1)
		}
		if f.toCoda {
			r.lose(0, "To Coda at measure %d: nothing leads back, so it is played on", i+1)
		}
	}
}

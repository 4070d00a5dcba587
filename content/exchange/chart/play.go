package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
)

// marks are where a chart jumps: bars counted from 0, -1 for none.
type marks struct {
	fine, toCoda, coda, segno int
	jumpAt                    int
	how                       string
	marked                    bool
}

var (
	jumpIn = regexp.MustCompile(`(?i)\b(d\.\s?[cs]\.?|d[cs]|da capo|dal segno)(?:\s+al\s+(fine|coda))?(?:$|[\s).,])`)
	fineIn = regexp.MustCompile(`(?i)^\(?fine\)?[.,]?$`)
	codaIn = regexp.MustCompile(`(?i)^\(?(to coda|to ⊕|⊕|to 𝄌|𝄌|coda)\)?[.,:]?$`)
	sign   = regexp.MustCompile(`(?i)^\(?(segno|𝄋)\)?[.,:]?$`)
)

func told(bar int, doubt bool, format string, args ...any) transcribe.Loss {
	return transcribe.Loss{Bar: bar, What: fmt.Sprintf(format, args...), Doubt: doubt}
}

// mark takes words that say where to go on, at the end of the bars so far.
func (r *reader) mark(text string) bool {
	text = strings.TrimSpace(text)
	if !r.marked {
		r.marks = marks{fine: -1, toCoda: -1, coda: -1, segno: -1, jumpAt: -1, marked: true}
	}
	switch m := jumpIn.FindStringSubmatch(text); {
	case m != nil && jumpIn.FindStringIndex(text)[0] <= 1:
		r.jumpAt = len(r.bars)
		r.how = strings.ToLower(strings.NewReplacer(".", "", " ", "").Replace(m[1]) + " " + m[2])
		r.starts = true
	case fineIn.MatchString(text):
		r.fine = len(r.bars)
	case codaIn.MatchString(text):
		if strings.HasPrefix(strings.ToLower(strings.Trim(text, "(")), "to") || r.toCoda < 0 && r.jumpAt < 0 {
			r.toCoda = len(r.bars)
		} else {
			r.coda, r.starts = len(r.bars), true
		}
	case sign.MatchString(text):
		r.segno, r.starts = len(r.bars), true
	default:
		return false
	}
	return true
}

// jump plays what D.C. or D.S. sends back to, without its repeats.
func (r *reader) jump() {
	if r.marked && r.jumpAt < 0 && (r.toCoda >= 0 || r.segno >= 0) {
		r.told = append(r.told, told(0, true, "nothing sends back to a sign or on to a coda: the bars are played as written"))
	}
	if !r.marked || r.jumpAt < 0 || len(r.faults) > 0 || r.jumpAt > len(r.bars) {
		return
	}
	if strings.HasSuffix(r.how, "coda") && r.toCoda < 0 && r.coda < 0 && r.jumpAt == len(r.bars) {
		r.told = append(r.told, told(r.jumpAt, true, "the chart jumps to a coda that it does not have: the bars are played as written"))
		return
	}
	start := 0
	if strings.HasPrefix(r.how, "ds") {
		if r.segno < 0 {
			r.told = append(r.told, told(r.jumpAt, true, "D.S. without a sign to go back to is read as D.C."))
		} else {
			start = r.segno
		}
	}
	end, tail := r.jumpAt, r.jumpAt
	switch {
	case strings.HasSuffix(r.how, "coda"):
		if r.coda < 0 {
			r.coda = r.jumpAt
		}
		if r.toCoda < 0 || r.toCoda > r.jumpAt {
			r.told = append(r.told, told(r.jumpAt, true, "no bar is marked “to coda”: the coda follows the last"))
		} else {
			end = r.toCoda
		}
		tail = r.coda
	case r.fine >= 0 && r.fine <= r.jumpAt:
		end, tail = r.fine, len(r.bars)
	case strings.HasSuffix(r.how, "fine"):
		r.told = append(r.told, told(r.jumpAt, true, "no bar is marked as the end: all is played again"))
		tail = len(r.bars)
	default:
		r.told = append(r.told, told(r.jumpAt, true, "after D.C. all is played once more"))
	}
	var back []bar
	for _, b := range r.bars[start:end] {
		if !b.once {
			back = append(back, b)
		}
	}
	if len(back) > 0 {
		back[0].Starts = true
	}
	rest := slices.Clone(r.bars[tail:])
	if tail == len(r.bars) && r.jumpAt < tail {
		r.told = append(r.told, told(r.jumpAt, true, "the bars behind the jump are never played and are left out"))
	}
	if len(rest) > 0 {
		rest[0].Starts = true
	}
	r.bars = append(append(slices.Clone(r.bars[:r.jumpAt]), back...), rest...)
	if len(r.form) > 0 {
		r.form = nil
		r.told = append(r.told, told(0, true, "the form is not followed: the chart jumps"))
	}
}

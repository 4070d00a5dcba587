package tune

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

var headerNames = []string{"tune", "key", "meter", "tempo", "swing", "comping", "form", "trains"}

func (r *reader) header(name, value span, comment string) {
	r.comments("", name.text, comment)
	if !slices.Contains(headerNames, name.text) {
		want := "a header, one of " + strings.Join(headerNames, ", ") + ", or a section such as [A]"
		if slices.Contains(rowNames[:], name.text) {
			want = "a section name such as [A] above the first row"
		}
		r.fault(name, quoted(name.text), want)
		return
	}
	if r.seen[name.text] {
		r.fault(name, "a second "+name.text+" line", "one "+name.text+" line")
		return
	}
	r.seen[name.text] = true
	if value.text == "" && name.text != "swing" {
		r.fault(value, "nothing after "+name.text, headerWant[name.text])
		return
	}
	if !r.setHeader(name.text, value) {
		r.fault(value, quoted(value.text), headerWant[name.text])
	}
}

var headerWant = map[string]string{
	"tune":    "the title",
	"key":     "a key, such as Bb, F#m or C minor",
	"meter":   "a meter, 2/4 to 7/4, 6/8, 9/8 or 12/8",
	"tempo":   fmt.Sprintf("a tempo in BPM, %d to %d, such as 104", LowestTempo, HighestTempo),
	"swing":   "a swing ratio, long to short, such as 2:1, or 1:1 for straight, from 1:1 to 99:1, or nothing for one that falls with the tempo",
	"comping": "a rhythm: " + CompingNames(),
	"form":    "section names with spaces between, such as A A B A",
	"trains":  "a sentence on what the tune trains",
}

var (
	tempoText = regexp.MustCompile(`^[0-9]{1,4}(\.[0-9]{1,3})?$`)
	swingText = regexp.MustCompile(`^([0-9]{1,4}(?:\.[0-9]{1,2})?):([0-9]{1,4}(?:\.[0-9]{1,2})?)$`)
)

// setHeader reads a header's value; it reports false where it cannot.
func (r *reader) setHeader(name string, value span) bool {
	switch name {
	case "tune":
		r.tune.Title = squeeze(value.text)
	case "trains":
		r.tune.Trains = squeeze(value.text)
	case "key":
		k, err := harmony.ParseKey(squeeze(value.text))
		if err != nil {
			return false
		}
		r.tune.Key = k
	case "meter":
		m, ok := harmony.ParseMeter(value.text)
		r.tune.Meter, r.meterOK = m, ok
		return ok
	case "tempo":
		if !tempoText.MatchString(value.text) {
			return false
		}
		n, err := strconv.ParseFloat(value.text, 64)
		if err != nil || n < LowestTempo || n > HighestTempo {
			return false
		}
		r.tune.Tempo = n
	case "swing":
		if value.text == "" {
			r.tune.Swing = harmony.Swing{Falling: true}
			return true
		}
		m := swingText.FindStringSubmatch(value.text)
		if m == nil {
			return false
		}
		swing, ok := parseSwing(m[1], m[2])
		if !ok {
			return false
		}
		r.tune.Swing = harmony.Swing{Ratio: swing}
	case "comping":
		c, err := ParseComping(value.text)
		r.tune.Comping = c
		return err == nil
	case "form":
		r.form = value.fields()
		for _, f := range r.form {
			r.tune.Form = append(r.tune.Form, f.text)
		}
	}
	return true
}

// parseSwing reads a swing ratio; one with decimals becomes the same ratio of
// whole numbers, 2.4:1 the ratio 12:5.
func parseSwing(long, short string) (Ratio, bool) {
	l, _ := new(big.Rat).SetString(long)
	s, _ := new(big.Rat).SetString(short)
	if s.Sign() == 0 || l.Cmp(s) < 0 {
		return Ratio{}, false
	}
	q := new(big.Rat).Quo(l, s)
	if q.Cmp(big.NewRat(99, 1)) > 0 {
		return Ratio{}, false
	}
	if l.IsInt() && s.IsInt() {
		return Ratio{Long: int(l.Num().Int64()), Short: int(s.Num().Int64())}, true
	}
	return Ratio{Long: int(q.Num().Int64()), Short: int(q.Denom().Int64())}, true
}

package progress

import (
	"fmt"

	"footfall/drills/memory"
)

// Advice is what a teacher would say first of all that was looked at, in a line; "" where
// too little was asked and played to say anything.
func (v Review) Advice() (says string) {
	for _, r := range v.Parts { // the one that went least well first
		if r.Asked < enoughOfPart || r.Share == nil {
			continue
		}
		if *r.Share < memory.Retention {
			says = fmt.Sprintf("What needs you most: %s, %s right.", r.Says(), of(r.Right, r.Asked))
		} else if r.MedianMS != nil {
			says = fmt.Sprintf("Nearly all of it is right; slowest is %s, %s s.", r.Says(), seconds(*r.MedianMS))
		}
		break
	}
	worst := -1
	for i, b := range v.Bars {
		if worst < 0 || b.share() > v.Bars[worst].share() {
			worst = i
		}
	}
	if worst >= 0 {
		if says != "" {
			says += " "
		}
		b := v.Bars[worst]
		what := of(b.Missed, b.Asked) + " notes"
		if b.Named*b.Asked > b.Missed*b.Passes || b.Asked == 0 {
			what = of(b.Named, b.Passes) + " passes"
		}
		says += fmt.Sprintf("In %s bar %d goes wrong most, %s.", v.Title(b.Tune), b.Bar, what)
	}
	return says
}

// Package ramp plans the tempo over the passes of a passage: where it starts,
// what a clean pass changes, where it ends.
//
// It is pure: it is told how a pass went and says how fast the next one is. It
// never knows a clock, a sound or a score beyond the counts of notes.
package ramp

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Mode is how a ramp climbs. No evidence was found that one serves better than
// another (Henley 2001, N = 60), so all are offered.
type Mode uint8

// The modes.
const (
	Up        Mode = iota // a step faster after each pass but those that failed
	Ladder                // so many clean passes in a row go up a step, one that failed goes down
	Alternate             // the floor, the target, the floor …
	Target                // at the target from the start
)

var modeNames = [...]string{"up", "ladder", "alternate", "target"}

// String returns the mode's name.
func (m Mode) String() string { return modeNames[m] }

// DefaultStep and DefaultRungs serve where none are given. Common practice, no
// source: no evidence was found for any size of step.
const (
	DefaultStep  = 4
	DefaultRungs = 3
)

// Ramp is a tempo plan. Tempos are in quarter notes a minute.
type Ramp struct {
	// Floor is the slowest tempo and the first, Target the fastest.
	Floor, Target float64
	// Step is how far one step goes, more than 0.
	Step float64
	Mode Mode
	// Rungs is how many clean passes in a row a ladder asks for a step up, 1 to 9.
	// It settles where a pass is clean with chance 0.5^(1/Rungs): 71, 79 and 84 %
	// for 2, 3 and 4.
	Rungs int
}

// From returns the ramp that starts at another tempo: a ramp that was at its target
// from the start then climbs to it.
func (r Ramp) From(floor float64) Ramp {
	r.Floor = kept(floor)
	r.Target = max(r.Target, r.Floor)
	if r.Mode == Target && r.Floor < r.Target {
		r.Mode = Up
	}
	return r
}

// To returns the ramp that ends at another tempo.
func (r Ramp) To(target float64) Ramp {
	r.Target = kept(target)
	r.Floor = min(r.Floor, r.Target)
	if r.Mode == Target {
		r.Floor = r.Target
	}
	return r
}

// By returns the ramp with steps of another size, 1 to 40.
func (r Ramp) By(step float64) Ramp {
	r.Step = min(40, max(1, step))
	return r
}

// firstSteps is how many steps below its target a ramp starts that had none.
const firstSteps = 5

// In returns the ramp in another mode, a ladder with its rungs. One that begins to climb
// starts some steps below its target.
func (r Ramp) In(m Mode, rungs int) Ramp {
	if r.Floor == r.Target && m != Target {
		r.Floor = kept(r.Target - firstSteps*r.Step)
	}
	if m == Target {
		r.Floor = r.Target
	}
	r.Mode, r.Rungs = m, min(9, max(1, rungs))
	return r
}

func kept(tempo float64) float64 { return min(tune.HighestTempo, max(tune.LowestTempo, tempo)) }

// String writes the ramp as Parse reads it.
func (r Ramp) String() string {
	if r.Mode == Target {
		return number(r.Target)
	}
	s := number(r.Floor) + ":" + number(r.Target) + "+" + number(r.Step)
	switch r.Mode {
	case Ladder:
		s += ",ladder" + strconv.Itoa(r.Rungs)
	case Alternate:
		s += ",alternate"
	}
	return s
}

func number(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// Parse reads a ramp: 60:120+4 climbs from 60 to 120 by 4 each pass, the step
// may be left out; 60:120+4,ladder3 climbs after three clean passes in a row and
// falls after one that failed; 60:120,alternate plays slow and fast in turn; 120
// is at tempo from the start. Errors wrap a harmony.Fault.
func Parse(text string) (Ramp, error) {
	p := &parser{text: text}
	r := Ramp{Step: DefaultStep, Rungs: DefaultRungs}
	body, mode, hasMode := strings.Cut(text, ",")
	floor, rest, climbs := strings.Cut(body, ":")
	if !climbs {
		if hasMode && mode != modeNames[Target] {
			return Ramp{}, p.at(len(body), text[len(body):], "a ramp that climbs, such as 60:120+4")
		}
		tempo, err := p.tempo(0, body)
		r.Floor, r.Target, r.Mode = tempo, tempo, Target
		return r, err
	}
	target, step, hasStep := strings.Cut(rest, "+")
	var err error
	if r.Floor, err = p.tempo(0, floor); err != nil {
		return Ramp{}, err
	}
	at := len(floor) + 1
	if r.Target, err = p.tempo(at, target); err != nil {
		return Ramp{}, err
	}
	if r.Target < r.Floor {
		return Ramp{}, p.at(at, target, fmt.Sprintf("a target of %s or more", number(r.Floor)))
	}
	if at += len(target) + 1; hasStep {
		r.Step, err = strconv.ParseFloat(step, 64)
		if err != nil || !(r.Step >= 0.1) || r.Step > tune.HighestTempo {
			return Ramp{}, p.at(at, step, "a step of 0.1 to 300 BPM, like 4")
		}
	}
	if !hasMode {
		return r, nil
	}
	at = len(body) + 1
	switch rungs, isLadder := strings.CutPrefix(mode, modeNames[Ladder]); {
	case mode == modeNames[Up]:
	case mode == modeNames[Alternate]:
		r.Mode = Alternate
	case mode == modeNames[Target]:
		r.Mode, r.Floor = Target, r.Target
	case isLadder:
		r.Mode = Ladder
		if rungs == "" {
			break
		}
		if r.Rungs, err = strconv.Atoi(rungs); err != nil || r.Rungs < 1 || r.Rungs > 9 {
			return Ramp{}, p.at(at+len(modeNames[Ladder]), rungs, "the clean passes that go up a step, 1 to 9, like ladder3")
		}
	default:
		return Ramp{}, p.at(at, mode, "up, ladder3, alternate or target")
	}
	return r, nil
}

type parser struct{ text string }

func (p *parser) at(offset int, found, want string) error {
	return fmt.Errorf("ramp %s: %w", p.text, harmony.Fault{Column: len([]rune(p.text[:min(offset, len(p.text))])) + 1, Found: found, Want: want})
}

func (p *parser) tempo(offset int, s string) (float64, error) {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || !(f >= tune.LowestTempo) || f > tune.HighestTempo {
		return 0, p.at(offset, s, "a tempo of 30 to 300, as in 60:120+4")
	}
	return f, nil
}

// Progress is a ramp and how far it has come. It is a value: After returns the
// next one.
type Progress struct {
	Ramp Ramp
	// Tempo is that of the pass to come.
	Tempo float64
	// Pass counts the passes done, Run the clean ones in a row since the tempo last
	// moved; below 0 it counts those that failed, in a ramp that climbs after each pass.
	Pass, Run int
	// Most is the tempo that it climbs to for now, 0 for none below the target: that of a
	// day. It is not written.
	Most float64
}

// dayRises is how many steps a ramp climbs on one day, where that is asked for. Common
// practice, no source: what was reached is slept on before more is asked.
const dayRises = 3

// ForADay returns the progress as it goes on on another day, after a last pass at a tempo,
// which was clean, failed, or had no word: after one that failed a step below it, and by so
// many steps at most.
func (p Progress) ForADay(last float64, failed bool) Progress {
	r := p.Ramp
	if r.Mode != Up && r.Mode != Ladder {
		return p
	}
	if failed && r.Mode == Up {
		p.Tempo = min(max(r.Floor, last-r.Step), p.Tempo)
	}
	if most := p.Tempo + dayRises*r.Step; most < r.Target {
		p.Most = most
	}
	return p
}

// Top is the tempo that it climbs to for now.
func (p Progress) Top() float64 {
	if p.Most > 0 {
		return min(p.Most, p.Ramp.Target)
	}
	return p.Ramp.Target
}

// Start returns the ramp before its first pass.
func (r Ramp) Start() Progress {
	p := Progress{Ramp: r, Tempo: r.Floor}
	if r.Mode == Target {
		p.Tempo = r.Target
	}
	return p
}

// fallsAfter is after how many passes that failed in a row a ramp that climbs after each
// pass goes down a step; until then it stays. Common practice, no source.
const fallsAfter = 2

// After returns the progress after one more pass. Only ramps that climb mind whether it
// was clean.
func (p Progress) After(clean bool) Progress {
	r := p.Ramp
	p.Pass++
	switch {
	case clean:
		p.Run = max(p.Run, 0) + 1
	case r.Mode == Up:
		p.Run = min(p.Run, 0) - 1
	default:
		p.Run = 0
	}
	before := p.Tempo
	switch r.Mode {
	case Up:
		if clean {
			p.Tempo += r.Step
		} else if p.Run <= -fallsAfter {
			p.Tempo -= r.Step
		}
	case Ladder:
		if !clean {
			p.Tempo -= r.Step
		} else if p.Run >= r.Rungs {
			p.Tempo += r.Step
			p.Run = 0
		}
	case Alternate:
		p.Tempo = r.Floor
		if p.Pass%2 == 1 {
			p.Tempo = r.Target
		}
	case Target:
		p.Tempo = r.Target
	}
	p.Tempo = min(max(p.Tempo, r.Floor), p.Top())
	if p.Tempo != before {
		p.Run = 0
	}
	return p
}

// Unjudged returns the progress after one more pass of which nobody has said yet
// whether it was clean: a ladder stays where it is.
func (p Progress) Unjudged() Progress {
	if p.Ramp.Mode != Ladder {
		return p.After(true)
	}
	p.Pass++
	return p
}

// Said returns the progress once it is said of a pass after which Unjudged went on: one
// that failed takes the step back that it was given.
func (p Progress) Said(clean bool) Progress {
	switch p.Ramp.Mode {
	case Ladder:
		p.Pass--
		return p.After(clean)
	case Up:
		if !clean && p.Run == 0 {
			p.Tempo = max(p.Tempo-p.Ramp.Step, p.Ramp.Floor)
		}
		if !clean {
			p.Run = -1
		}
	}
	return p
}

// Rest returns the ramp that is left to climb: from the present tempo on, where
// the ramp climbs.
func (p Progress) Rest() Ramp {
	r := p.Ramp
	if r.Mode == Up || r.Mode == Ladder {
		r.Floor = p.Tempo
	}
	return r
}

// Plan returns the tempos of the next n passes if all of them are clean.
func (p Progress) Plan(n int) []float64 {
	tempos := make([]float64, n)
	for i := range tempos {
		tempos[i] = p.Tempo
		p = p.After(true)
	}
	return tempos
}

// Passes returns how many passes it takes to play at the target, if all of them are
// clean: as often as a ladder asks for, else once.
func (r Ramp) Passes() int {
	if r.Mode == Target {
		return 1
	}
	n, p := 1, r.Start()
	for p.Tempo < r.Target {
		p, n = p.After(true), n+1
	}
	if r.Mode == Ladder {
		n += r.Rungs - 1
	}
	return n
}

// String writes the progress as ParseProgress reads it.
func (p Progress) String() string {
	return fmt.Sprintf("%s at %s pass %d run %d", p.Ramp, number(p.Tempo), p.Pass, p.Run)
}

// ParseProgress reads what Progress.String writes.
func ParseProgress(text string) (Progress, error) {
	bad := fmt.Errorf("ramp progress %q; it is written like %q", text, "60:120+4 at 72 pass 3 run 0")
	f := strings.Fields(text)
	if len(f) != 7 || f[1] != "at" || f[3] != "pass" || f[5] != "run" {
		return Progress{}, bad
	}
	r, err := Parse(f[0])
	if err != nil {
		return Progress{}, err
	}
	p := Progress{Ramp: r}
	tempo, err := strconv.ParseFloat(f[2], 64)
	if err != nil || math.IsNaN(tempo) || tempo < r.Floor || tempo > r.Target {
		return Progress{}, bad
	}
	p.Tempo = tempo
	for i, n := range map[int]*int{4: &p.Pass, 6: &p.Run} {
		if *n, err = strconv.Atoi(f[i]); err != nil || *n < 0 && n == &p.Pass {
			return Progress{}, bad
		}
	}
	return p, nil
}

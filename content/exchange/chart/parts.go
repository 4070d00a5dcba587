package chart

import (
	"fmt"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// section closes the part before and starts another.
func (r *reader) section(name string, times int) {
	r.closePart()
	name, _, _ = strings.Cut(name, "(")
	r.starts, r.name = true, strings.Trim(name, " :*_")
	if pickup.MatchString(r.name) {
		r.doubt("line %d: the pickup is played as a whole bar", r.number)
	}
	r.part = part{name: r.name, from: len(r.bars), times: max(times, 1), said: times > 0, line: r.number}
	r.from, r.perBar, r.barsEach = len(r.bars), r.allPerBar, r.allBarsEach
	r.newBlock()
	if r.marked && strings.EqualFold(r.name, "coda") && r.coda < 0 && (r.toCoda >= 0 || r.jumpAt >= 0) {
		r.coda = len(r.bars)
	}
}

// closePart ends a part: it plays it as often as its mark says, or, where the mark
// of a known section has no bars, that section's again.
func (r *reader) closePart() {
	r.closeRepeat()
	p := r.part
	if p.times > 1 && p.times == len(p.passes)+1 && (p.ended || p.signs) {
		p.times = 1 // its endings or its signs are what is said to be repeated
	}
	if len(r.bars) == p.from {
		if p.name == "" {
			return
		}
		i := r.known(p.name)
		if i < 0 && p.name == "A" && len(r.parts) > 0 && r.parts[0].name == "" {
			i = 0
		}
		if i < 0 && p.like != "" {
			if i = r.known(p.like); i < 0 {
				i = slices.IndexFunc(r.parts, func(s span) bool { return strings.EqualFold(unnumberedName(s.name), p.like) })
			}
		}
		if i < 0 && (len(p.name) > 2 || p.name[0] == 'V') {
			i = slices.IndexFunc(r.parts, func(s span) bool {
				return s.name != "" && strings.EqualFold(unnumberedName(s.name), unnumberedName(p.name))
			})
			if i >= 0 {
				r.told = append(r.told, told(0, true, "line %d: %s has no bars of its own and is played as %s", p.line, clipped(p.name), clipped(r.parts[i].name)))
			}
		}
		if i < 0 {
			r.told = append(r.told, told(0, true, "line %d: %s has no bars and is left out", p.line, clipped(p.name)))
			return
		}
		to := r.parts[i].to
		if p.said {
			to = r.parts[i].first
		} else if once := r.parts[i].once; once < to {
			n := (to - r.parts[i].from) / (once - r.parts[i].from)
			r.told = append(r.told, told(len(r.bars), true, "line %d: %s is played once here, though %d times before", p.line, clipped(p.name), n))
			to = once
		}
		for range p.times {
			r.again(r.parts[i].from, to)
		}
		r.told = append(r.told, told(0, r.parts[i].counted, "line %d: %s has no bars of its own and is played as before", p.line, clipped(p.name)))
		once := p.from + to - r.parts[i].from
		r.parts = append(r.parts, span{name: p.name, from: p.from, to: len(r.bars), once: once, first: once, counted: r.parts[i].counted, line: p.line})
	} else {
		if n := len(r.bars) - p.from; p.length > n && n == 1 {
			r.doubt("line %d: the bar is played %d times, as many as %s has", p.line, p.length, clipped(p.name))
			for range p.length - 1 {
				r.again(p.from, p.from+1)
			}
		} else if p.length > 0 && p.length != n && p.length != n*p.times {
			r.doubt("line %d: %s is said to have %d bars and has %d", p.line, clipped(p.name), p.length, n)
		}
		to := len(r.bars)
		if p.times > 1 && p.signs {
			r.doubt("line %d: %s is played %d times, its repeats each time", p.line, clipped(p.name), p.times)
		}
		passes := p.passes
		for range p.times - 1 {
			passes = append(passes, len(r.bars))
			r.again(p.from, to)
		}
		first := to
		if p.first > p.from && p.times == 1 {
			first = p.first
		}
		r.parts = append(r.parts, span{p.name, p.from, len(r.bars), to, first, p.counted, p.line, passes})
	}
	r.part = part{from: len(r.bars), times: 1}
	r.starts, r.name = true, ""
}

// newBlock notes that lines up to an empty one or a mark end here.
func (r *reader) newBlock() {
	r.block = len(r.bars)
	if len(r.blocks) == 0 {
		r.blocks = []int{0}
	}
	if r.blocks[len(r.blocks)-1] < r.block {
		r.blocks = append(r.blocks, r.block)
	}
}

// known returns the first part of that name, -1 if there is none.
func (r *reader) known(name string) int {
	if i := slices.IndexFunc(r.parts, func(s span) bool { return strings.EqualFold(s.name, name) }); i >= 0 {
		return i
	}
	return slices.IndexFunc(r.parts, func(s span) bool { return inFull(s.name) == inFull(name) })
}

// briefs are names of sections as they are cut short.
var briefs = map[string]string{"v": "verse", "vs": "verse", "vrs": "verse", "ver": "verse", "ch": "chorus", "cho": "chorus", "br": "bridge", "int": "intro", "out": "outro", "sol": "solo", "ref": "refrain", "inst": "instrumental"}

// inFull is the name of a section in small letters, and not cut short.
func inFull(name string) string {
	name = strings.ToLower(name)
	word := strings.TrimRight(name, ". 0123456789")
	if full, ok := briefs[word]; ok {
		return full + name[len(word):]
	}
	return name
}

// unnumberedName is the name of a section without its number: Verse of Verse 2.
func unnumberedName(name string) string {
	return strings.TrimRight(numberWords.ReplaceAllString(name, ""), " -0123456789")
}

// again plays the bars from up to to once more.
func (r *reader) again(from, to int) bool {
	if from >= to || len(r.bars)+to-from > tune.MaxBars {
		r.fault(1, "a repeat of nothing, or of too much", fmt.Sprintf("bars to repeat, at most %d in all", tune.MaxBars))
		return false
	}
	copied := slices.Clone(r.bars[from:to])
	for i := from; i < to; i++ {
		r.bars[i].once = true
	}
	r.bars[from].Starts, copied[0].Starts = true, true
	r.bars = append(r.bars, copied...)
	return true
}

// repeat is where the chart stands between repeat marks and endings.
type repeat struct {
	// from is the first bar that :| repeats, common the end of what all endings share,
	// -1 where there are none; ending the bars of this ending begin.
	from, common, ending int
	// times is how often the present ending is played, closed that it has its :|.
	times int
	// nth counts the endings so far.
	nth     int
	endings bool
	closed  bool
}

// openEnding starts an ending that is played so many times.
func (r *reader) openEnding(times int) {
	if !r.endings {
		r.endings, r.common = true, len(r.bars)
	} else if r.closed {
		r.passes(len(r.bars))
		if !r.again(r.from, r.common) {
			return
		}
	}
	r.ending, r.times, r.closed = len(r.bars), times, false
	r.nth++
}

// repeatHere takes a :|, with how often the bars are played in all, 0 for twice.
func (r *reader) repeatHere(column, times int) {
	if r.endings {
		end := len(r.bars)
		for range r.times - 1 {
			r.passes(len(r.bars))
			r.again(r.from, r.common)
			r.again(r.ending, end)
		}
		r.closed = true
		return
	}
	r.part.signs = true
	if r.from >= len(r.bars) {
		r.fault(column, "a repeat of nothing", "|: and then bars")
		return
	}
	to := len(r.bars)
	for range max(times, 2) - 1 {
		r.passes(len(r.bars))
		if !r.again(r.from, to) {
			return
		}
	}
	r.from, r.starts = len(r.bars), true
}

// closeRepeat ends a repeat with endings; a last one that is not written is none.
func (r *reader) closeRepeat() {
	if r.endings && r.closed && r.nth == 1 {
		r.doubt("after the last ending with a repeat there is none to go on with: the bars before it are played once more")
		r.again(r.from, r.common)
	}
	r.endings, r.closed, r.times, r.nth = false, false, 0, 0
	if len(r.bars) > r.from {
		r.from = len(r.bars)
	}
}

// passes notes that the bars of the part are played from its beginning once more.
func (r *reader) passes(at int) {
	if r.from == r.part.from {
		r.part.passes = append(r.part.passes, at)
	}
}

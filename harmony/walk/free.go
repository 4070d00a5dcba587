package walk

import (
	"cmp"
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Verdict is how a freely walked bar stands to its chords.
type Verdict uint8

// The verdicts on a bar.
const (
	Silent Verdict = iota // no note of the bass
	Lost                  // notes of other chords
	Thin                  // nothing wrong, but a chord that is not made clear
	Clear                 // each chord is to be heard
)

// String returns the verdict's name.
func (v Verdict) String() string { return [...]string{"silent", "lost", "thin", "clear"}[v] }

// Walked is a bass note that was played, at the nearest half beat of a pass.
type Walked struct {
	At   tune.Position
	MIDI int
}

// FreeBar is a bar as it was walked.
type FreeBar struct {
	Bar     tune.FormBar
	Verdict Verdict
	// Says gives the one reason that counts most.
	Says string
}

// FreeWalk is a pass in which the player made the line up.
type FreeWalk struct {
	Bars []FreeBar
	// Clear counts the clear bars.
	Clear int
	// Used and Unused are the degrees of the chords that were played, with how
	// often, and those that no chord ever got, in the order of the degrees.
	Used   []DegreeCount
	Unused []harmony.Degree
	// Led counts the changes that a note came into, and Resolved those of them that
	// came by a step.
	Led, Resolved int
}

// DegreeCount says how often a degree was played.
type DegreeCount struct {
	Degree harmony.Degree
	Count  int
}

// JudgeFree judges a pass that the player walked as they liked, bar by bar and
// without asking for any one line. Notes are the bass's, in order of time. What a
// bar lacks costs the bars after it nothing.
func JudgeFree(t *tune.Tune, notes []Walked) *FreeWalk {
	bars := t.Unroll()
	f := follower{layout: layOut(t, bars), notes: notes, roles: rolesCache{key: t.Key}}
	for _, n := range notes {
		f.at = append(f.at, f.Half(n.At))
	}
	out := &FreeWalk{}
	for i, fb := range bars {
		v, says := f.bar(i)
		if v == Clear {
			out.Clear++
		}
		out.Bars = append(out.Bars, FreeBar{Bar: fb, Verdict: v, Says: says})
	}
	f.count(out)
	return out
}

// follower is a pass with the notes that were walked over it.
type follower struct {
	layout
	notes []Walked
	at    []int // their half beats
	roles rolesCache
}

// stay is what was played over one chord inside a bar: the notes first to end.
type stay struct {
	span
	first, end int
	// comes is set where the chord comes in there.
	comes bool
}

// stays cuts a bar at its changes; N.C. is left out.
func (f *follower) stays(bar int) []stay {
	var all []stay
	for at := f.Start(bar + 1); at < f.Start(bar+2); at++ {
		c, ok := f.chordAt(at)
		if !ok {
			continue
		}
		if n := len(all); n > 0 && all[n-1].span.end == at && f.chords[at] == f.chords[at-1] {
			all[n-1].span.end++
			continue
		}
		first, _ := slices.BinarySearch(f.at, at)
		all = append(all, stay{
			span: span{chord: c, roles: f.roles.of(c), tones: tonesOf(c), start: at, end: at + 1}, first: first,
			comes: at == 0 || f.chords[at] != f.chords[at-1],
		})
	}
	for i := range all {
		all[i].end, _ = slices.BinarySearch(f.at, all[i].span.end)
		all[i].end = max(all[i].end, all[i].first)
	}
	return all
}

// bar judges a bar by the worst of its chords.
func (f *follower) bar(bar int) (Verdict, string) {
	first, _ := slices.BinarySearch(f.at, f.Start(bar+1))
	end, _ := slices.BinarySearch(f.at, f.Start(bar+2))
	stays := f.stays(bar)
	switch {
	case first == end:
		return Silent, "no bass note"
	case len(stays) == 0:
		return Clear, "no chord to make clear"
	}
	worst, says := Clear, ""
	for i := range stays {
		v, reason := f.judge(&stays[i])
		if says == "" || v < worst {
			worst, says = v, reason
		}
	}
	return worst, says
}

// judge judges what was played over one chord.
func (f *follower) judge(s *stay) (Verdict, string) {
	if s.first == s.end {
		return Thin, fmt.Sprintf("%s went by without a note of its own", s.chord)
	}
	n, tones, strays, worst := s.end-s.first, 0, 0, -1
	var seen [12]bool
	for i := s.first; i < s.end; i++ {
		class := mod12(f.notes[i].MIDI)
		if s.tones[class] {
			tones++
			seen[class] = true
		} else if !f.explained(s, i) {
			strays++ // a note of the chord's scale is half as bad as one of none
			if s.roles[class] == chrome {
				strays++
			}
			if worst < 0 {
				worst = i
			}
		}
	}
	arrival := s.roles[mod12(f.notes[s.first].MIDI)]
	onTone := s.tones[mod12(f.notes[s.first].MIDI)]
	root3 := f.heardRole(s, root) || f.heardRole(s, third)
	kinds := 0
	for _, has := range seen {
		if has {
			kinds++
		}
	}
	switch {
	case s.comes && !onTone && 2*tones <= n:
		return Lost, fmt.Sprintf("beat %s was %s of %s", f.beat(s.first), f.the(s, s.first), s.chord)
	case 3*tones < n && !(s.comes && arrival == root) || strays > n:
		i := max(worst, s.first)
		return Lost, fmt.Sprintf("beat %s was %s of %s, and too little of %s came", f.beat(i), f.the(s, i), s.chord, s.chord)
	case !root3 && kinds < 2:
		return Thin, fmt.Sprintf("%s's %s never came%s", s.chord, s.rootAnd3(), f.astray(s, worst))
	case s.comes && (s.sparse() || n > 2 && kinds < 2) && !f.heardRole(s, root):
		return Thin, fmt.Sprintf("%s's %s never came, and so few notes without it may be another chord's", s.chord, s.rootDegree())
	case s.comes && !onTone:
		return Thin, fmt.Sprintf("%s came in over %s", s.chord, f.the(s, s.first))
	case strays > 0 && 2*strays >= n && (strays > 1 || arrival != root):
		return Thin, fmt.Sprintf("beat %s was %s of %s, and nothing resolved it", f.beat(worst), f.the(s, worst), s.chord)
	case !root3 && tones < n:
		return Thin, fmt.Sprintf("%s's %s never came", s.chord, s.rootAnd3())
	case s.comes && arrival != root && (arrival != third || !f.onStrong(s)) && n > 2 && 4*tones < 3*n, 2*tones < n && !(s.comes && arrival == root):
		return Thin, fmt.Sprintf("%d of %d notes were tones of %s", tones, n, s.chord)
	}
	return Clear, f.praise(s, seen)
}

// sparse reports whether the chord has a note every two beats, or fewer.
func (s *stay) sparse() bool { return 4*(s.end-s.first) <= s.span.end-s.start }

// heardRole reports whether a role of the chord was played.
func (f *follower) heardRole(s *stay, r role) bool {
	for _, n := range f.notes[s.first:s.end] {
		if s.roles[mod12(n.MIDI)] == r {
			return true
		}
	}
	return false
}

// onStrong reports whether the middle of the bar, where the chord still sounds,
// has a tone of it too.
func (f *follower) onStrong(s *stay) bool {
	for i := s.first; i < s.end; i++ {
		if at := f.notes[i].At; !at.Off && at.Beat == middle(f.meter(f.layout.bar(s.start))) {
			return s.tones[mod12(f.notes[i].MIDI)]
		}
	}
	return true
}

// explained reports whether a note that is no tone of its chord goes on by a step,
// or leads by a half step to the root, third or fifth of the chord that comes.
func (f *follower) explained(s *stay, i int) bool {
	midi := f.notes[i].MIDI
	if i+1 < len(f.notes) && f.at[i+1]-f.at[i] <= 4 {
		if by := abs(f.notes[i+1].MIDI - midi); by > 0 && by <= 2 {
			return true
		}
	}
	if i+1 < s.end || s.span.end >= len(f.chords) && len(f.chords) == 0 {
		return false
	}
	next, ok := f.chordAt(s.span.end % len(f.chords))
	if !ok {
		return false
	}
	roles := f.roles.of(next)
	for _, by := range []int{-1, 1} {
		if roles[mod12(midi+by)] <= third {
			return true
		}
	}
	return false
}

// the names a note as a degree of the chord: "the b2".
func (f *follower) the(s *stay, i int) string { return "the " + s.name(f.notes[i].MIDI) }

// beat counts a note's beat as a player does: "3", "3 and".
func (f *follower) beat(i int) string {
	at := f.notes[i].At
	if at.Off {
		return fmt.Sprintf("%d and", at.Beat)
	}
	return fmt.Sprint(at.Beat)
}

// astray adds what one note was instead.
func (f *follower) astray(s *stay, worst int) string {
	if worst < 0 {
		return ""
	}
	return fmt.Sprintf("; beat %s was %s", f.beat(worst), f.the(s, worst))
}

func (s *stay) rootDegree() string {
	if s.chord.Bass != s.chord.Root {
		return s.name(s.chord.Bass.Semitone())
	}
	return "1"
}

// praise says which tones of the chord were heard.
func (f *follower) praise(s *stay, seen [12]bool) string {
	var degrees []string
	for _, d := range s.chord.Degrees {
		if seen[s.chord.Note(d).Semitone()] {
			degrees = append(degrees, d.String())
		}
	}
	return fmt.Sprintf("%s by its %s", s.chord, cmp.Or(harmony.Listed(degrees), "bass note"))
}

// rootAnd3 names the bass note and the third of the chord, or what stands for one.
func (s *stay) rootAnd3() string {
	all := []string{s.rootDegree()}
	for _, d := range s.chord.Degrees {
		if s.roles[s.chord.Note(d).Semitone()] == third {
			all = append(all, d.String())
		}
	}
	return harmony.Listed(all)
}

// count adds up degrees and approaches.
func (f *follower) count(out *FreeWalk) {
	used := map[harmony.Degree]int{}
	asked := map[harmony.Degree]bool{}
	for bar := range f.bars {
		for _, s := range f.stays(bar) {
			for _, d := range s.chord.Degrees {
				asked[d] = true
			}
			for i := s.first; i < s.end; i++ {
				used[lineDegree(&slot{chord: s.chord}, f.notes[i].MIDI)]++
			}
			if s.comes && s.first < s.end && s.first > 0 && f.at[s.first] == s.start {
				out.Led++
				if by := abs(f.notes[s.first].MIDI - f.notes[s.first-1].MIDI); by == 1 || by == 2 {
					out.Resolved++
				}
			}
		}
	}
	for d, n := range used {
		out.Used = append(out.Used, DegreeCount{d, n})
	}
	for d := range asked {
		if within := (harmony.Degree{Number: (d.Number-1)%7 + 1, Alter: d.Alter}); used[within] == 0 {
			out.Unused = append(out.Unused, d)
		}
	}
	byDegree := func(a, b harmony.Degree) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Alter, b.Alter))
	}
	slices.SortFunc(out.Used, func(a, b DegreeCount) int { return byDegree(a.Degree, b.Degree) })
	slices.SortFunc(out.Unused, byDegree)
}

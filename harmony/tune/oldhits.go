package tune

import (
	"regexp"
	"strings"
)

// ReadOldHits reads a tune of the program's first build, where a . in the hits row
// left a beat to the layer, and a shapes row struck the beats on which it had
// anything. The tune is struck as it was: a * stands for each such ., and a hit
// where the shapes row struck.
func ReadOldHits(text string) (*Tune, Faults) {
	r := newReader()
	r.oldHits = true
	r.read(text)
	if len(r.faults) > 0 {
		return nil, r.faults.Sort()
	}
	for i := range r.tune.Sections {
		s := &r.tune.Sections[i]
		own := s.has(HitsRow)
		rows := make([][]HitToken, len(s.Bars))
		for j := range s.Bars {
			rows[j] = make([]HitToken, r.tune.MeterOf(s).Beats())
			for beat := range rows[j] {
				rows[j][beat] = s.Bars[j].oldHit(beat, r.tune.MeterOf(s))
				own = own || rows[j][beat].Hit != HitLayer
			}
		}
		for j := range s.Bars {
			if own {
				s.Bars[j].Hits = rows[j]
			}
		}
	}
	return r.tune, nil
}

// oldHit is what a beat of the first build, from 0, has in today's hits row.
func (b *Bar) oldHit(beat int, m Meter) HitToken {
	tok := at(b.Hits, beat)
	if b.Hits == nil {
		tok.Hit = HitLayer
	}
	if tok.Hit == HitLayer && !at(b.Shapes, beat).None() {
		tok.Hit = HitOn
	}
	if tok.Hit == HitOn {
		// A chord that came in the middle of the beat was struck there too.
		on, _ := b.ChordAt(m, beat+1, false)
		if off, _ := b.ChordAt(m, beat+1, true); !off.SoundsAs(on) {
			tok.Hit = HitBoth
		}
	}
	return tok
}

var (
	oldHitsRow  = regexp.MustCompile(`^\s*hits\s*\|`)
	oldHitsRest = regexp.MustCompile(`(^|[\s|])\.(?:$|[\s|])`)
)

// ConvertOldHits returns the text of a tune of the first build with today's hits.
// One that is no tune as it stands keeps its text but for the hits rows.
func ConvertOldHits(text string) string {
	if t, faults := ReadOldHits(text); len(faults) == 0 {
		return Write(t)
	}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if !oldHitsRow.MatchString(line) {
			continue
		}
		for at := oldHitsRest.FindStringIndex(line); at != nil; at = oldHitsRest.FindStringIndex(line) {
			line = line[:at[0]] + strings.Replace(line[at[0]:at[1]], ".", "*", 1) + line[at[1]:]
		}
		lines[i] = line
	}
	return strings.Join(lines, "\n")
}

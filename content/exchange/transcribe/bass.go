package transcribe

import (
	"math"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// bass puts the notes of a bar on half beats.
func (b *builder) bass(to *tune.Bar, n int) {
	halves := b.meter.Halves()
	tokens := make([]tune.BassToken, halves)
	hold := func(from, to int) {
		for i := range tokens[min(from, halves):] {
			tokens[from+i] = tune.BassToken{}
			if from+i < to {
				tokens[from+i].Kind = tune.BassHold
			}
		}
		b.until = max(0, to-halves)
	}
	hold(0, b.until)
	notes := b.score.Bars[n].Notes
	if b.high-b.low < 11 {
		notes = nil
	}
	for _, note := range notes {
		half, off := halfOf(note.At)
		if off {
			b.moved.add(n + 1)
		}
		if half >= halves {
			b.late.add(n + 1)
			continue
		}
		if tokens[half].Kind == tune.BassNote {
			b.crowded.add(n + 1)
			continue
		}
		tok, ok := b.token(to, note, half, n)
		if !ok {
			continue
		}
		end, _ := halfOf(note.At + note.Length)
		hold(half, max(half+1, end))
		tokens[half] = tok
	}
	for beat := 0; beat < halves; beat += 2 {
		to.Bass = append(to.Bass, tune.JoinHalves(tokens[beat], tokens[beat+1]))
	}
}

// halfOf returns the half beat that a place falls on, and whether it stands off
// it. The second half reaches from a quarter to five sixths of the beat, so that
// swung notes fall on it.
func halfOf(at float64) (half int, off bool) {
	beat := math.Floor(at + 1e-6)
	half = int(2 * beat)
	switch part := at - beat; {
	case part < 0.25:
		return half, part > 0.1
	case part < 0.84:
		return half + 1, part < 0.45 || part > 0.72
	default:
		return half + 2, true
	}
}

// token names a note against its chord and folds it into the range.
func (b *builder) token(bar *tune.Bar, note Note, half, n int) (tune.BassToken, bool) {
	beat, offbeat := harmony.BeatOf(half)
	c, ok := bar.ChordAt(b.meter, beat, offbeat)
	if !ok || c.None {
		b.bare.add(n + 1)
		return tune.BassToken{}, false
	}
	class := ((note.MIDI % 12) + 12) % 12
	tok := tune.BassToken{Kind: tune.BassNote, Degree: c.DegreeOf(class)}
	named := note.Token.Kind == tune.BassNote && note.Token.Degree.Of(c.Root).Semitone() == class
	if named {
		tok = note.Token
	}
	at := 0
	if !b.started {
		at = tune.LowestFrom(b.low, class)
	} else {
		at = b.fold(note.MIDI, class)
		if !named || tune.Move(b.prev, class, tok.Direction) != at {
			tok.Direction = tune.DirectionTo(b.prev, at)
		}
	}
	if !b.started && at != note.MIDI {
		b.octaves = at - note.MIDI
	}
	if at-note.MIDI != b.octaves {
		b.folded++
	}
	b.started = true
	b.prev, b.prevFile = at, note.MIDI
	return tok, true
}

// fold returns the pitch in the range that keeps nearest to the step the score
// takes from the note before, among those a direction leads to.
func (b *builder) fold(midi, class int) int {
	want := b.prev + midi - b.prevFile
	best, found := 0, false
	for _, d := range []tune.Direction{tune.Nearest, tune.Rise, tune.Fall} {
		at := tune.Move(b.prev, class, d)
		if at < b.low || at > b.high {
			continue
		}
		if !found || abs(at-want) < abs(best-want) {
			best, found = at, true
		}
	}
	return best
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

package transcribe

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"footfall/harmony"
)

// Sound is a note of any part, in beats from its bar's start. Its Length is in beats.
type Sound struct {
	At, Length float64
	MIDI       int
}

// proposed are the qualities that chords are proposed of, each with what it takes to be
// preferred to those before it. Common practice, no source.
var proposed = []struct {
	name string
	cost float64
}{{"", 0}, {"m", 0}, {"7", 0.1}, {"m7", 0.1}, {"maj7", 0.13}, {"m7b5", 0.13}, {"dim7", 0.14}, {"6", 0.2}, {"m6", 0.2}, {"sus4", 0.2}, {"7sus4", 0.22}, {"aug", 0.2}}

// How a proposal weighs what sounds. Common practice, no source.
const (
	foreignTone = 0.9  // what a note outside the chord costs, against one inside
	missingTone = 0.12 // a third or a root that does not sound
	rootInBass  = 0.25 // the root lies lowest on the first beat
	toneInBass  = 0.08 // another tone of the chord does
	inTheKey    = 0.05 // all of the chord belongs to the key
	surelyApart = 0.15 // between the best and the next: below it the choice is in doubt
)

// proposal is a chord and how well it fits.
type proposal struct {
	chord harmony.Chord
	fit   float64
}

// Propose gives the bars of a score that has no chord symbols chords that fit the notes
// that sound in them, one a bar, or one each half where those are much surer. The losses
// name each with what fits nearly as well, the least sure first: all are to be confirmed.
func (s *Score) Propose(sounds [][]Sound) (losses []Loss) {
	key := harmony.Key{}
	if s.Key != nil {
		key = *s.Key
	} else {
		key = keyOfSounds(sounds)
		s.Key = &key
	}
	margins := map[int]float64{}
	var last *harmony.Chord
	for i := range s.Bars {
		if i >= len(sounds) {
			continue
		}
		beats := float64(s.MeterOf(i).Beats())
		best := fits(sounds[i], 0, beats, key)
		if len(best) == 0 {
			continue
		}
		chords, margin, next := []Chord{{Chord: best[0].chord}}, best[0].fit-best[1].fit, best[1].chord
		if half := math.Floor(beats / 2); beats >= 4 {
			a, b := fits(sounds[i], 0, half, key), fits(sounds[i], half, beats, key)
			if len(a) > 0 && len(b) > 0 && a[0].chord.Identity() != b[0].chord.Identity() && (a[0].fit*half+b[0].fit*(beats-half))/beats > best[0].fit+0.3 {
				chords = []Chord{{Chord: a[0].chord}, {At: half, Chord: b[0].chord}}
				margin, next = a[0].fit-a[1].fit, a[1].chord
				if other := b[0].fit - b[1].fit; other < margin {
					margin, next = other, b[1].chord
				}
			}
		}
		s.Bars[i].Chords = chords
		said := chords[0].Chord.String()
		if len(chords) > 1 {
			said += " " + chords[1].Chord.String()
		}
		what := said + " is proposed from the notes"
		if margin < surelyApart {
			what += fmt.Sprintf("; %s fits nearly as well", next)
		}
		if last == nil || last.Identity() != chords[0].Chord.Identity() || len(chords) > 1 || margin < surelyApart {
			losses = append(losses, Loss{Bar: i + 1, What: what, Doubt: true})
			margins[i+1] = margin
		}
		last = &chords[len(chords)-1].Chord
	}
	slices.SortStableFunc(losses, func(a, b Loss) int { return cmp.Compare(margins[a.Bar], margins[b.Bar]) })
	return losses
}

// fits ranks the chords for what sounds between two beats, the best first; none where
// nothing does.
func fits(sounds []Sound, from, to float64, key harmony.Key) []proposal {
	var weight [12]float64
	total, bass, lowest := 0.0, -1, 1000
	for _, n := range sounds {
		length := min(n.At+n.Length, to) - max(n.At, from)
		if length <= 1e-6 {
			continue
		}
		weight[n.MIDI%12] += length
		total += length
		if n.At < from+0.5 && n.MIDI < lowest {
			lowest, bass = n.MIDI, n.MIDI%12
		}
	}
	if total == 0 {
		return nil
	}
	var out []proposal
	for pitch := range 12 {
		for _, q := range proposed {
			root := spelledIn(key, pitch)
			if q.name == "dim7" && root.Alter < 0 && key.Alter(root.Letter) == 0 { // it leads upward
				root = harmony.Note{Letter: (root.Letter + 6) % 7, Alter: 1}
			}
			c, err := harmony.ParseChord(root.String() + q.name)
			if err != nil {
				continue
			}
			var in [12]bool
			diatonic := true
			for _, n := range c.Notes() {
				in[n.Semitone()] = true
				diatonic = diatonic && key.Alter(n.Letter) == n.Alter
			}
			p := proposal{chord: c, fit: -q.cost}
			for class, w := range weight {
				if in[class] {
					p.fit += w / total
				} else {
					p.fit -= foreignTone * w / total
				}
			}
			for k, n := range c.Notes() {
				if k < 2 && weight[n.Semitone()] == 0 {
					p.fit -= missingTone
				}
			}
			switch {
			case bass == pitch:
				p.fit += rootInBass
			case bass >= 0 && in[bass]:
				p.fit += toneInBass
			}
			if diatonic {
				p.fit += inTheKey
			}
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b proposal) int { return cmp.Compare(b.fit, a.fit) })
	return out
}

// spelledIn names one of the twelve pitches as a key spells it, what is outside of it with
// a flat, in keys with sharps with a sharp.
func spelledIn(key harmony.Key, pitch int) harmony.Note {
	ways := []func(harmony.Letter) int8{key.Alter, func(harmony.Letter) int8 { return 0 }}
	if key.Signature() > 1 {
		ways = append(ways, func(harmony.Letter) int8 { return 1 })
	}
	for _, alter := range ways {
		for letter := range harmony.Letter(7) {
			if n := (harmony.Note{Letter: letter, Alter: alter(letter)}); n.Semitone() == pitch {
				return n
			}
		}
	}
	n, _ := harmony.ParsePitch(harmony.FlatName(60 + pitch))
	return n.Note
}

// keyOfSounds is the key whose scale most of the notes belong to.
func keyOfSounds(sounds [][]Sound) (best harmony.Key) {
	var weight [12]float64
	for _, bar := range sounds {
		for _, n := range bar {
			weight[n.MIDI%12] += n.Length
		}
	}
	most := -1.0
	for fifths := -6; fifths <= 6; fifths++ {
		k := harmony.KeyOf(fifths, false)
		in := -0.001 * math.Abs(float64(fifths))
		for _, step := range []int{0, 2, 4, 5, 7, 9, 11} {
			in += weight[(k.Tonic.Semitone()+step)%12]
		}
		if in > most {
			best, most = k, in
		}
	}
	return best
}

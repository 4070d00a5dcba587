package walk

// plan says where a line is to go, bar by bar, so that it leads somewhere for two
// bars and then turns: which way it heads, and the note that it has in sight two
// bars ahead. It is drawn from the seed.
type plan struct {
	// goals are notes for the first beat of each bar, headings the way to the next.
	goals, headings []int
	// pedals are the pitch classes that a pedal style comes back to, −1 for none.
	pedals []int
}

// stretch is how many bars a line heads one way.
const stretch = 2

func planOf(l *layout, o Options) plan {
	p := plan{}
	// Every other stretch begins low, the others high; now and then one stays.
	sight := func(n int) int {
		chance := mix(o.Seed, uint64(n), 1)
		high := (n+int(mix(o.Seed, 0, 2)%2))%2 == 1
		if chance%7 == 0 {
			high = !high
		}
		span := max(1, (o.High-o.Low)/3)
		at := o.Low + 1 + int(chance>>8)%span
		if high {
			at += span + span/3
		}
		return min(at, o.High)
	}
	for i := range l.bars {
		from, to := sight(i/stretch), sight(i/stretch+1)
		p.goals = append(p.goals, from+(to-from)*(i%stretch)/stretch)
		switch {
		case to > from:
			p.headings = append(p.headings, 1)
		case to < from:
			p.headings = append(p.headings, -1)
		default:
			p.headings = append(p.headings, 0)
		}
		p.pedals = append(p.pedals, -1)
		if o.Style == Pedal {
			p.pedals[i] = pedal(l, i/stretch*stretch)
		}
	}
	return p
}

// pedal is the pitch class that sounds longest in the chords of two bars, of
// equals the root of the first chord, then its fifth; −1 where no chord sounds.
func pedal(l *layout, bar int) int {
	var lasts [12]int
	first := -1
	for at := l.Start(bar + 1); at < l.Start(min(bar+stretch, len(l.bars))+1); at++ {
		c, ok := l.chordAt(at)
		if !ok {
			continue
		}
		if first < 0 {
			first = c.Root.Semitone()
		}
		for class, tone := range tonesOf(c) {
			if tone {
				lasts[class]++
			}
		}
	}
	if first < 0 {
		return -1
	}
	best := first
	for _, above := range []int{7, 10, 3, 4, 5, 9, 11} {
		if class := mod12(first + above); lasts[class] > lasts[best] {
			best = class
		}
	}
	return best
}

// mix draws a number from three: SplitMix64 (Steele, Lea and Flood 2014), from
// memory.
func mix(seed, a, b uint64) uint64 {
	x := (seed+1)*0x9E3779B97F4A7C15 + a*0xBF58476D1CE4E5B9 + b*0x94D049BB133111EB
	x ^= x >> 30
	x *= 0xBF58476D1CE4E5B9
	x ^= x >> 27
	x *= 0x94D049BB133111EB
	return x ^ x>>31
}

// chanceOf draws a number from −1 to 1.
func chanceOf(seed, a, b uint64) float64 { return 2*float64(mix(seed, a, b)>>11)/(1<<53) - 1 }

package plain

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// Play plays along: each bar is said while the one before it sounds, the first while it
// is counted in, and each pass is summed up. Lines of the player: pause, go, quit, yes or
// no to the question whether a pass was clean, which is asked between passes alone and
// may be answered at any time (yes 3 is a word on the last three), and keep, or an empty
// one, where the input seems to be late. It ends with the last pass or the word quit; the
// end of the input changes nothing, but that nobody judges.
func (f *Face) Play(s *session.PlayAlong) {
	defer s.Close()
	f.say("%s. Words: pause, go, %s.", s.Arrangement().Tune.Title, Quit)
	p := &played{Face: f, along: s, form: s.Arrangement().Tune.Unroll(), strikes: struckIn(s.Arrangement())}
	if says := leftOut(p.form, p.strikes, s.Bars(), s.Tempo()); says != "" {
		f.say("%s", says)
	}
	if err := s.Play(); err != nil {
		f.say("%s", err)
		return
	}
	lines := f.lines
	for {
		select {
		case e, more := <-s.Events():
			if !more || p.show(e, lines != nil) {
				p.lastWord(lines)
				p.sum()
				return
			}
		case line, ok := <-lines:
			if !ok {
				lines = nil
				s.NoWord()
			} else if p.word(line) {
				p.sum()
				return
			}
		}
	}
}

// played is a play-along as it is said.
type played struct {
	*Face
	along *session.PlayAlong
	form  []tune.FormBar
	seen  sound.Now
	// strikes tells what is struck in a bar.
	strikes struck
	// said is the bar said last, 0 for none, and spoken when it has been said, by the music.
	said   int
	spoken time.Duration
}

// show says an event; true ends. judged is set where somebody may still judge.
func (p *played) show(e session.Event, judged bool) (over bool) {
	switch e := e.(type) {
	case session.Over:
		return true
	case session.Beat:
		p.call(e.Now)
		p.count(e)
	case session.Walked:
		p.say("Bar %d %s: %s", e.Bar, e.Verdict, spoken(e.Says))
	case session.Said:
		p.result(p.along.Results()[e.Pass-1])
	case session.Notice:
		if e.Says != "" {
			p.say("%s", e.Says)
		}
	case session.Pass:
		switch {
		case e.Clean != nil:
			p.result(e.Result)
			if _, late := p.along.Delay(); late {
				p.say("Enter, or keep, takes that off what is heard from now on.")
			}
		case !judged:
			p.along.NoWord()
			p.result(e.Result)
		case e.Last || p.along.Judging() && p.along.Rests() || !p.along.GoesOn():
			p.say("Was pass %d clean? yes or no.", e.N)
		}
	}
	return false
}

// lastWord waits, where the last pass says that the input is late, for whether that is to
// be kept.
func (p *played) lastWord(lines <-chan string) {
	if _, late := p.along.Delay(); late && lines != nil {
		if line, ok := <-lines; ok {
			p.word(line)
		}
	}
}

// sum sums up what was played.
func (p *played) sum() {
	if sum := p.along.Sum(); sum.Passes > 1 {
		for _, l := range sum.Lines() {
			p.say("%s", l)
		}
	}
}

// call says the bar to come when the one before begins.
func (p *played) call(now sound.Now) {
	before := p.seen
	p.seen = now
	if now.State != sound.Counting && now.State != sound.Playing {
		p.said = 0
		return
	}
	begins := before.State != now.State || before.Point.Bar != now.Point.Bar || before.Pass != now.Pass || now.State == sound.Counting && before.Beat > now.Beat
	bar, more := p.along.Coming()
	if !begins || !more || bar < 1 || bar > len(p.form) {
		return
	}
	if now.State == sound.Playing && bar <= now.Point.Bar && p.along.Rests() {
		p.said = 0
		p.say("Then rest.")
		return
	}
	length := harmony.Place(now.Bar, 0).End().Duration()
	if now.State == sound.Counting && p.along.Silent() {
		length /= 2 // the count is said behind it
	}
	words, _ := callOf(p.form, p.strikes, bar, p.said, length)
	p.say("%s", words)
	p.said = bar
	p.spoken = now.At.Duration() + time.Duration(len(strings.Fields(words)))*time.Second/wordsPerSecond
}

// count says the beats of the count-in where nobody hears them, once the bar has been said.
func (p *played) count(e session.Beat) {
	if e.Now.State == sound.Counting && !e.Off && p.along.Silent() && e.Now.At.Duration() >= p.spoken {
		p.say("%d", e.Now.Beat)
	}
}

// barWords calls a bar out: its number, its chords, and under each the degrees of
// the bass with their direction in words.
func barWords(fb tune.FormBar) string {
	var b strings.Builder
	fmt.Fprintf(&b, "bar %d:", fb.Number)
	bar := fb.Bar
	token := func(t tune.BassToken) {
		if t.Kind == tune.BassNote {
			b.WriteString([...]string{" ", " up ", " down "}[t.Direction] + t.Degree.Spoken())
		}
	}
	if len(bar.Bass) == 0 {
		for _, c := range bar.Chords {
			b.WriteString(" " + c.Chord.Spoken())
		}
		return b.String()
	}
	for i, beat := range bar.Bass {
		for _, off := range []bool{false, true} {
			if bar.ChangesAt(fb.Meter, i+1, off) {
				c, _ := bar.ChordAt(fb.Meter, i+1, off)
				if i > 0 || off {
					b.WriteString(",")
				}
				b.WriteString(" " + c.Spoken() + ",")
			}
			if !off {
				token(beat.First)
			} else if beat.Split {
				token(beat.Second)
			}
		}
	}
	return b.String()
}

// word does what a line of the player asks; true ends.
func (p *played) word(line string) (ends bool) {
	s := p.along
	switch strings.ToLower(line) {
	case Quit:
		return true
	case "pause":
		if !s.Running() {
			p.say("It is not playing: go begins.")
			return false
		}
		if err := s.Pause(); err != nil {
			p.say("%s", err)
			return false
		}
		p.said = 0
		p.say("Paused. go counts in and goes on.")
	case "keep":
		s.KeepDelay()
	case "go", "":
		if _, late := s.Delay(); late && line == "" {
			s.KeepDelay()
			return false
		}
		if s.Running() {
			p.say("It is playing.")
			return false
		}
		p.said = 0
		if err := s.Play(); err != nil {
			p.say("%s", err)
			return false
		}
		p.say("It goes on: a bar is counted in.")
	default:
		p.judge(line)
	}
	return false
}

// judge takes a line as a word on passes.
func (p *played) judge(line string) {
	said, bar := barIn(line)
	clean, n, ok := verdictIn(said)
	if !ok || bar > 0 && (clean || n > 0) {
		p.say("Say pause, go, yes, no, no bar 7 for the bar that held it back, yes 3 for the last three passes, or %s.", Quit)
		return
	}
	results := p.along.Results()
	switch {
	case len(results) == 0:
		p.say("No pass is over yet.")
	case n == 0:
		if n = p.along.Judge(clean); n == 0 {
			n = len(results) // each has its word: it is another one on the last
			p.along.JudgePass(n, clean)
		}
		if r := p.along.Results()[n-1]; bar > 0 && !p.along.NameBar(n, bar) {
			p.say("The pass has no bar %d: its bars are %d to %d.", bar, r.Bars.First, r.Bars.Last)
		}
		p.result(p.along.Results()[n-1])
	default:
		n = p.along.JudgeLast(n, clean)
		for _, r := range p.along.Results()[len(results)-n:] {
			p.result(r)
		}
	}
}

// barIn takes a bar that is named at the end of a line off it: "no, bar 7"; 0 where there is none.
func barIn(line string) (rest string, bar int) {
	if rest, number, found := strings.Cut(strings.ToLower(line), "bar "); found {
		if n, err := strconv.Atoi(strings.Trim(number, " .!")); err == nil && n > 0 {
			return strings.TrimRight(rest, " ,"), n
		}
	}
	return line, 0
}

// counts are the numbers of passes that a word may be on.
var counts = []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// verdictIn reads a word on passes: "yes", "no", "yes 3", "the last three were not
// clean". n is on how many, 0 where it does not say.
func verdictIn(line string) (clean bool, n int, ok bool) {
	clean = true
	for _, w := range strings.Fields(strings.ToLower(strings.Trim(line, " .!"))) {
		count := slices.Index(counts, w) + 1
		if number, err := strconv.Atoi(w); err == nil && number > 0 {
			count = number
		}
		switch w {
		case "yes", "y", "clean":
			ok = true
		case "no", "n", "not":
			clean, ok = false, true
		case "the", "last", "pass", "passes", "was", "were", "all":
		default:
			if count == 0 {
				return false, 0, false
			}
			n = count
		}
	}
	return clean, n, ok
}

func (f *Face) result(r session.Result) {
	line := fmt.Sprintf("Pass %d at %g BPM", r.Pass, r.Tempo)
	switch {
	case !r.Judged:
	case r.Clean:
		line += ": clean"
	case r.Bar > 0:
		line += fmt.Sprintf(": not clean, bar %d", r.Bar)
	case r.Why != "":
		line += ": not clean, " + r.Why
	default:
		line += ": not clean"
	}
	f.say("%s.", spoken(strings.TrimSuffix(line, ".")))
	if r.Free != nil {
		for _, l := range r.Free.Report() {
			f.say("%s", spoken(l))
		}
	}
	if r.Score != nil {
		for _, l := range r.Score.Report() {
			f.say("%s", spoken(l))
		}
	}
}

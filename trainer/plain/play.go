package plain

import (
	"fmt"
	"strings"
	"time"

	"footfall/harmony/tune"
	"footfall/trainer/playalong"
	"footfall/trainer/sound"
)

// look is how often a play-along is looked at: a line comes within this time of
// its beat.
const look = 2 * time.Millisecond

// Play plays along: each bar is called out on its first beat, each pass summed
// up. Lines of the player: pause, go, quit, and yes or no to the question whether
// a pass was clean. It ends with the last pass or the word quit; the end of the
// input changes nothing, but that a ladder takes a pass nobody judges as not clean.
func (f *Face) Play(s *playalong.Session) { f.play(s, 0) }

// passage opens a passage and plays it along, to the end of the first pass after
// the length is over where one is given. What is wrong with it is said.
func (f *Face) passage(p Passage, length time.Duration) {
	s, done, err := f.along(p)
	if err != nil {
		f.sayError(err)
		return
	}
	defer done()
	defer s.Close()
	f.play(s, length)
}

func (f *Face) play(s *playalong.Session, length time.Duration) {
	began := f.now()
	f.say("%s. Words: pause, go, %s.", s.Arrangement().Tune.Title, Quit)
	form := s.Arrangement().Tune.Unroll()
	lines := f.lines
	shown, asked, open := 0, 0, true
	notice := ""
	var beat beatSeen
	if err := s.Play(); err != nil {
		f.say("%s", err)
		return
	}
	ticker := time.NewTicker(look)
	defer ticker.Stop()
	for !s.Over() {
		select {
		case n := <-s.News():
			s.Tell(n)
		case line, ok := <-lines:
			if !ok {
				lines, open = nil, false
			} else if f.playWord(s, line) {
				return
			}
		case <-ticker.C:
			s.Poll()
		}
		if now := s.Notice(); now != notice {
			if notice = now; now != "" {
				f.say("%s", now)
			}
		}
		f.call(s.Now(), form, &beat)
		for ; shown < len(s.Results()) && s.Results()[shown].Judged; shown++ {
			f.result(s.Results()[shown])
		}
		if s.Judging() && asked < len(s.Results()) {
			asked = len(s.Results())
			if !open {
				s.Unjudged()
				continue
			}
			f.say("Was pass %d clean? yes or no.", asked)
		}
		if length > 0 && shown > 0 && shown == len(s.Results()) && f.now().Sub(began) >= length {
			return
		}
	}
	for ; shown < len(s.Results()); shown++ {
		f.result(s.Results()[shown])
	}
}

// beatSeen is the beat that was called out last.
type beatSeen struct {
	state           sound.State
	pass, bar, beat int
}

// call says the count-in beat by beat and each bar on its first beat.
func (f *Face) call(now sound.Now, form []tune.FormBar, seen *beatSeen) {
	at := beatSeen{now.State, now.Pass, now.Point.Bar, now.Beat}
	if at == *seen {
		return
	}
	before := *seen
	*seen = at
	switch now.State {
	case sound.Counting:
		f.say("count %d", now.Beat)
	case sound.Playing:
		if before.state == sound.Playing && before.bar == at.bar && before.pass == at.pass || at.bar < 1 || at.bar > len(form) {
			return
		}
		f.say("%s", barWords(form[at.bar-1]))
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
			b.WriteString([...]string{" ", " up ", " down "}[t.Direction] + t.Degree.String())
		}
	}
	if len(bar.Bass) == 0 {
		for _, c := range bar.Chords {
			b.WriteString(" " + c.Chord.String())
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
				b.WriteString(" " + c.String())
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

// playWord does what a line of the player asks; true ends.
func (f *Face) playWord(s *playalong.Session, line string) bool {
	switch strings.ToLower(line) {
	case Quit:
		return true
	case "pause":
		if err := s.Pause(); err != nil {
			f.say("%s", err)
		}
	case "go", "":
		if !s.Running() {
			if err := s.Play(); err != nil {
				f.say("%s", err)
			}
		}
	case "yes", "y":
		s.Judge(true)
	case "no", "n":
		s.Judge(false)
	default:
		f.say("Say pause, go, yes, no or %s.", Quit)
	}
	return false
}

func (f *Face) result(r playalong.Result) {
	line := fmt.Sprintf("Pass %d at %g", r.Pass, r.Tempo)
	switch {
	case !r.Judged:
	case r.Clean:
		line += ": clean"
	case r.Why != "":
		line += ": not clean, " + r.Why
	default:
		line += ": not clean"
	}
	f.say("%s.", strings.TrimSuffix(line, "."))
	if r.Score != nil {
		for _, l := range r.Score.Report() {
			f.say("%s", l)
		}
	}
}

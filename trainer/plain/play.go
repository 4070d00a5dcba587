package plain

import (
	"fmt"
	"strings"

	"footfall/harmony/tune"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// Play plays along: each bar is called out on its first beat, each pass summed
// up. Lines of the player: pause, go, quit, yes or no to the question whether
// a pass was clean, and keep, or an empty one, where the input seems to be late. It
// ends with the last pass or the word quit; the end of the input changes nothing, but
// that nobody judges.
func (f *Face) Play(s *session.PlayAlong) {
	defer s.Close()
	f.say("%s. Words: pause, go, %s.", s.Arrangement().Tune.Title, Quit)
	form := s.Arrangement().Tune.Unroll()
	lines := f.lines
	var seen sound.Now
	judge := 0 // the pass that waits for a word
	if err := s.Play(); err != nil {
		f.say("%s", err)
		return
	}
	for {
		select {
		case e, more := <-s.Events():
			if !more {
				return
			}
			switch e := e.(type) {
			case session.Over:
				f.lastWord(s, lines)
				return
			case session.Beat:
				f.call(e.Now, form, &seen)
			case session.Walked:
				f.say("bar %d %s: %s", e.Bar, e.Verdict, e.Says)
			case session.Notice:
				if e.Says != "" {
					f.say("%s", e.Says)
				}
			case session.Pass:
				switch {
				case e.Clean != nil:
					f.result(e.Result)
					if _, late := s.Delay(); late {
						f.say("Enter, or keep, takes that off what is heard from now on.")
					}
				case lines == nil:
					s.NoWord()
					f.result(e.Result)
				default:
					judge = e.N
					f.say("Was pass %d clean? yes or no.", e.N)
				}
			}
		case line, ok := <-lines:
			if !ok {
				lines = nil
				s.NoWord()
			} else if f.playWord(s, line) {
				return
			}
			f.judged(s, &judge)
		}
	}
}

// lastWord waits, where the last pass says that the input is late, for whether that is to
// be kept.
func (f *Face) lastWord(s *session.PlayAlong, lines <-chan string) {
	if _, late := s.Delay(); late && lines != nil {
		if line, ok := <-lines; ok {
			f.playWord(s, line)
		}
	}
}

// judged sums up the pass that waited for a word, once it has one.
func (f *Face) judged(s *session.PlayAlong, pass *int) {
	if *pass > 0 && !s.Judging() {
		f.result(s.Results()[*pass-1])
		*pass = 0
	}
}

// call says the count-in beat by beat and each bar on its first beat.
func (f *Face) call(now sound.Now, form []tune.FormBar, seen *sound.Now) {
	before := *seen
	*seen = now
	switch now.State {
	case sound.Counting:
		if before.State != now.State || before.Beat != now.Beat {
			f.say("count %d", now.Beat)
		}
	case sound.Playing:
		bar := now.Point.Bar
		if before.State == sound.Playing && before.Point.Bar == bar && before.Pass == now.Pass || bar < 1 || bar > len(form) {
			return
		}
		f.say("%s", barWords(form[bar-1]))
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
func (f *Face) playWord(s *session.PlayAlong, line string) bool {
	switch strings.ToLower(line) {
	case Quit:
		return true
	case "pause":
		if err := s.Pause(); err != nil {
			f.say("%s", err)
		}
	case "keep":
		s.KeepDelay()
	case "go", "":
		if _, late := s.Delay(); late && line == "" {
			s.KeepDelay()
			return false
		}
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

func (f *Face) result(r session.Result) {
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
	if r.Free != nil {
		for _, l := range r.Free.Report() {
			f.say("%s", l)
		}
	}
	if r.Score != nil {
		for _, l := range r.Score.Report() {
			f.say("%s", l)
		}
	}
}

// Package plain is the face of the program in whole lines of text, for screen
// readers, scripts and pipes: a question is a line, the answer is a line, the
// verdict is a line. It never writes an escape code and never waits for more
// than the next line.
//
// It knows no question: what is asked and what counts is the drill engine's.
package plain

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/trainer/practice"
)

// Quit is the word that ends a sitting.
const Quit = "quit"

// Face reads lines from one place and writes them to another.
type Face struct {
	in  *bufio.Reader
	out io.Writer
	now func() time.Time
}

// New makes a face. now tells the time.
func New(in io.Reader, out io.Writer, now func() time.Time) *Face {
	return &Face{in: bufio.NewReader(in), out: out, now: now}
}

func (f *Face) say(format string, args ...any) { fmt.Fprintf(f.out, format+"\n", args...) }

// line reads the next line without the white space around it; false at the end
// of the input.
func (f *Face) line() (string, bool) {
	s, err := f.in.ReadString('\n')
	s = strings.TrimSpace(s)
	return s, err == nil || s != ""
}

// Drill holds a sitting to its end, to the word quit, or to the end of the
// input, and prints and returns its summary. Nothing answered is lost.
func (f *Face) Drill(s *practice.Sitting) drills.Summary {
	f.say("%s, %s. Answer each question with a line; %s ends.", s.Plan().Name, s.Plan().Material.Title, Quit)
	notice := ""
	for n := 1; ; n++ {
		q, err := s.Next(f.now())
		if err != nil {
			if !errors.Is(err, drills.ErrOver) {
				f.say("%s", err)
			}
			break
		}
		ask := q.Ask()
		f.say("%d. %s", n, ask.Prompt)
		for i, c := range ask.Choices {
			f.say("   %d: %s", i+1, c)
		}
		j, a, ok := f.answer(s, ask)
		if !ok {
			break
		}
		// The verdict shows when the answer is kept, not before.
		s.Kept(s.Keep(a))
		f.say("%s %s", words[a.Verdict], j.Reason)
		if now := s.Notice(); now != notice {
			if notice = now; now != "" {
				f.say("%s", now)
			}
		}
	}
	sum := s.Summary(f.now())
	f.say("")
	for _, l := range sum.Lines() {
		f.say("%s", l)
	}
	return sum
}

var words = map[memory.Verdict]string{memory.Sure: "Right.", memory.Slow: "Right, but slow.", memory.Missed: "Missed."}

// answer reads lines until one is an answer; false where the player is done.
func (f *Face) answer(s *practice.Sitting, ask drills.Ask) (drills.Judgement, drills.Answer, bool) {
	for {
		text, ok := f.line()
		if !ok || strings.EqualFold(text, Quit) {
			return drills.Judgement{}, drills.Answer{}, false
		}
		if text == "" || text == "?" {
			f.say("%s Type %s, or %s.", ask.Prompt, ask.Hint, Quit)
			continue
		}
		j, a := s.Answer(drills.Typed(memory.Lines, text), f.now())
		if j.Result == drills.Unread {
			f.say("%s.", strings.TrimSuffix(j.Reason, "."))
			continue
		}
		return j, a, true
	}
}

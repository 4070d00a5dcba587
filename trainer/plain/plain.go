// Package plain is the face of the program in whole lines of text, for screen
// readers, scripts and pipes: a question is a line, the answer is a line or a
// played note, the verdict is a line. It never writes an escape code and never waits for more
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
	"footfall/trainer/listen"
	"footfall/trainer/playalong"
	"footfall/trainer/session"
)

// Quit is the word that ends a sitting.
const Quit = "quit"

// Face reads lines from one place and writes them to another.
type Face struct {
	lines <-chan string
	notes <-chan listen.Note
	out   io.Writer
	now   func() time.Time
	along Along
	told  map[string][]string
}

// New makes a face. now tells the time.
func New(in io.Reader, out io.Writer, now func() time.Time) *Face {
	lines := make(chan string)
	go func() {
		defer close(lines)
		r := bufio.NewReader(in)
		for {
			s, err := r.ReadString('\n')
			if err == nil || s != "" {
				lines <- strings.TrimSpace(s)
			}
			if err != nil {
				return
			}
		}
	}()
	return &Face{lines: lines, out: out, now: now}
}

// Listen takes the notes of an input as answers too.
func (f *Face) Listen(in listen.Input) { f.notes = in.Notes() }

// Passage is what is to be played along.
type Passage struct {
	Tune session.Tune
	// Section is empty for the whole form, Layer for all of the arrangement.
	Section, Layer string
	// Ramp is the tempo plan, the tune's own tempo where it is empty.
	Ramp string
	// Passes is after how many passes it ends, 0 for no end.
	Passes int
}

// Along opens a play-along; done lets its input go when it is closed.
type Along func(Passage) (s *playalong.Session, done func(), err error)

// PlayWith makes the menu and the day play passages along.
func (f *Face) PlayWith(open Along) { f.along = open }

// Tell makes the menu answer a word with lines, the first of which sums them up.
func (f *Face) Tell(word string, lines ...string) {
	if f.told == nil {
		f.told = map[string][]string{}
	}
	f.told[word] = lines
}

func (f *Face) say(format string, args ...any) { fmt.Fprintf(f.out, format+"\n", args...) }

// sayError says what is wrong, as a sentence.
func (f *Face) sayError(err error) {
	says := err.Error()
	if !strings.HasSuffix(says, ".") && !strings.HasSuffix(says, "?") {
		says += "."
	}
	f.say("%s", says)
}

// line waits for the next line; false at the end of the input.
func (f *Face) line() (string, bool) {
	s, ok := <-f.lines
	return s, ok
}

// settle is how long after a question a note still belongs to the answer before:
// a string that rings on, the rest of a strum. Nobody reads and answers so fast
// (common practice, no source).
const settle = 300 * time.Millisecond

// reply waits for a line, or for a note where the question takes one; false at
// the end of the input or at the word quit.
func (f *Face) reply(ask drills.Ask) (drills.Reply, bool) {
	asked, unsure := f.now(), false
	for {
		select {
		case text, ok := <-f.lines:
			return drills.Typed(memory.Lines, text), ok && !strings.EqualFold(text, Quit)
		case n, ok := <-f.notes:
			if !ok {
				f.notes = nil
				continue
			}
			if !n.On || ask.Takes&drills.FormSound == 0 || f.now().Sub(asked) < settle {
				continue
			}
			if n.Unsure() {
				if !unsure {
					f.say("%s", drills.NotSure)
				}
				unsure = true
				continue
			}
			way := memory.MIDI
			if n.Channel == 0 {
				way = memory.Microphone
			}
			return drills.Played(way, n.MIDI, n.String), true
		}
	}
}

// Drill holds a sitting to its end, to the word quit, or to the end of the
// input, and prints and returns its summary. Nothing answered is lost.
func (f *Face) Drill(s *session.Sitting) drills.Summary {
	f.say("%s, %s. Answer each question with a line; %s ends.", s.Plan().Name, s.Plan().Material.Title, Quit)
	notice := ""
	for n := 1; ; n++ {
		q, err := s.Next(f.now())
		if err != nil {
			if !errors.Is(err, drills.ErrOver) {
				f.sayError(err)
			}
			break
		}
		ask := q.Ask()
		f.say("%d. %s", n, ask.Prompt)
		for i, c := range ask.Choices {
			f.say("   %d: %s", i+1, c)
		}
		for _, step := range s.Steps(q) {
			f.say("   %s", step)
		}
		j, a, ok := f.answer(s, ask)
		if !ok {
			break
		}
		// The verdict shows when the answer is kept, not before.
		err = s.Keep(a)
		s.Kept(err)
		f.say("%s %s", words[a.Verdict], j.Reason)
		now := s.Notice()
		if now == "" && err != nil {
			now = err.Error()
		}
		if now != notice && now != "" {
			f.say("%s", now)
		}
		notice = now
	}
	sum := s.Summary(f.now())
	f.say("")
	for _, l := range sum.Lines() {
		f.say("%s", l)
	}
	return sum
}

var words = map[memory.Verdict]string{memory.Sure: "Right.", memory.Slow: "Right, but slow.", memory.Missed: "Missed."}

// answer waits for replies until one is an answer; false where the player is
// done.
func (f *Face) answer(s *session.Sitting, ask drills.Ask) (drills.Judgement, drills.Answer, bool) {
	for {
		r, ok := f.reply(ask)
		if !ok {
			return drills.Judgement{}, drills.Answer{}, false
		}
		if r.Form == drills.FormText && (r.Text == "" || r.Text == "?") {
			f.say("%s Type %s, or %s.", ask.Prompt, ask.Hint, Quit)
			continue
		}
		j, a := s.Answer(r, f.now())
		if j.Result == drills.Unread {
			f.say("%s.", strings.TrimSuffix(j.Reason, "."))
			continue
		}
		return j, a, true
	}
}

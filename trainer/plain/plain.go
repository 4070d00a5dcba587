// Package plain is the face of the program in whole lines of text, for screen
// readers, scripts and pipes: a question is a line, the answer is a line or a
// played note, the verdict is a line. It never writes an escape code and never waits for more
// than the next line. A program that sits in for the player has lines of JSON.
//
// It shows what a session tells and hands on what the player says; what is asked,
// what counts and what is kept is the session's.
package plain

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/trainer/gate"
	"footfall/trainer/listen"
	"footfall/trainer/session"
)

// Quit is the word that ends a sitting.
const Quit = "quit"

// The words for who does not know, and for a slip of the finger.
const (
	helpWord = "help"
	slipWord = "slip"
)

// Face reads lines from one place and writes them to another.
type Face struct {
	lines <-chan string
	// notes and strums are what an input hears, its clock at 0 at epoch.
	notes  <-chan listen.Note
	strums <-chan listen.Strum
	epoch  time.Time
	out    io.Writer
	now    func() time.Time
	told   map[string][]string
	// waits asks the player for what the session waits for.
	waits func() session.Command
	// back is set where the last answer was taken back.
	back bool
	// again lets what waits be heard once more.
	again func()
	// tap begins the music that a question is tapped to.
	tap func() (*session.Tapping, error)
}

// New makes a face. now tells the time.
func New(in io.Reader, out io.Writer, now func() time.Time) *Face {
	lines := make(chan string)
	go func() {
		defer close(lines)
		r := bufio.NewReaderSize(in, longestLine)
		for {
			s, _, err := gate.Line(r)
			if err == nil || len(s) > 0 {
				lines <- string(bytes.TrimSpace(s))
			}
			if err != nil {
				return
			}
		}
	}()
	return &Face{again: func() {}, lines: lines, out: out, now: now}
}

// Listen takes the notes of an input, whose clock was at 0 at epoch, as answers too.
func (f *Face) Listen(in listen.Input, epoch time.Time) {
	f.notes, f.strums, f.epoch = in.Notes(), in.Strums(), epoch
}

// Tell makes the menu answer a word with lines, the first of which sums them up.
func (f *Face) Tell(word string, lines ...string) {
	if f.told == nil {
		f.told = map[string][]string{}
	}
	f.told[word] = lines
}

func (f *Face) say(format string, args ...any) { fmt.Fprintf(f.out, format+"\n", args...) }

// sentence says a text as a sentence.
func (f *Face) sentence(says string) {
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

// Sit shows a session to its end, and returns what it came to. The word quit leaves
// a drill, the end of the input ends all.
func (f *Face) Sit(s *session.Session) any {
	f.again, f.tap = s.Again, s.Tap
	told := s.Begin()
	for {
		var next func() session.Command
		for _, t := range told {
			if e, ok := t.Event.(session.End); ok {
				f.end(e)
				return e.Summary
			}
			if waits := f.show(t.Event); waits != nil {
				next = waits
			}
		}
		if next == nil { // a fault: what waited before waits still
			next = f.waits
		}
		f.waits = next
		c := next()
		told = s.Do(c)
		f.back = false
		if _, slip := c.(session.Slip); slip && len(told) > 0 {
			if _, f.back = told[0].Event.(session.Question); f.back {
				f.say("Taken back.")
			}
		}
	}
}

// show says an event, and returns what asks the player where it waits.
func (f *Face) show(e session.Event) (next func() session.Command) {
	switch e := e.(type) {
	case session.Plan:
		f.Plan(e.Plan)
	case session.Rest:
		f.say("")
		f.sentence(e.Step.Text)
	case session.Step:
		f.say("")
		f.say("%d. %s, %s. Enter starts, skip leaves it out, %s ends.", e.N, strings.TrimSuffix(e.Step.Text, "."), counted(e.Step.Minutes, "minute"), Quit)
		return func() session.Command { return f.start(e) }
	case session.Playing:
		return func() session.Command {
			f.Play(e.PlayAlong)
			return session.Next{}
		}
	case session.Question:
		f.question(e)
		asked := f.now()
		return func() session.Command { return f.answer(e.Ask, asked) }
	case session.Judged:
		word := words[e.Answer.Verdict]
		if e.Answer.Verdict == memory.Slow && e.Answer.Item.Kind.InTime() {
			word = "Nearly."
		}
		f.say("%s %s", word, spoken(e.Why))
	case session.StepEnd:
		f.stepEnd(e)
	case session.Fault:
		f.sentence(e.Says)
	case session.Notice:
		if e.Says != "" {
			f.say("%s", e.Says)
		}
	}
	return nil
}

func (f *Face) question(q session.Question) {
	if q.N == 1 && !f.back {
		f.say("%s, %s. Answer each question with a line. %s shows the way, %s takes the last answer back, %s ends.",
			drills.TitleOf(q.Plan.Name), q.Plan.Material.Title, capital(helpWord), slipWord, Quit)
	}
	f.say("%d. %s", q.N, spoken(q.Prompt))
	for i, c := range q.Choices {
		f.say("   %d: %s", i+1, spoken(c))
	}
	for _, step := range q.Steps {
		f.say("   %s", spoken(step))
	}
	if q.Ask.Takes&drills.FormTaps != 0 {
		f.say("   Enter begins: a bar is counted in. Then tap with enter, or play. Or type %s.", q.Ask.Hint)
	}
}

var words = map[memory.Verdict]string{memory.Sure: "Correct.", memory.Slow: "Correct, but slow.", memory.Missed: "Wrong."}

// answer waits for a line that is an answer, or for a note where the question takes
// one.
func (f *Face) answer(ask drills.Ask, asked time.Time) session.Command {
	unsure := false
	for {
		select {
		case text, ok := <-f.lines:
			switch {
			case !ok:
				return session.Quit{}
			case strings.EqualFold(text, Quit):
				return session.Leave{}
			case strings.EqualFold(text, helpWord):
				return session.Help{}
			case strings.EqualFold(text, slipWord):
				return session.Slip{}
			case text != "" && text != "?":
				return session.Answer{Reply: drills.Typed(memory.Lines, text)}
			case text == "" && ask.Takes&drills.FormTaps != 0:
				if c := f.taps(); c != nil {
					return c
				}
				continue
			}
			f.again() // a line without an answer hears it once more
			prompt := spoken(ask.Prompt)
			if ask.Unheard != "" && !strings.Contains(prompt, ask.Unheard) {
				prompt += " " + ask.Unheard
			}
			f.say("%s Type %s, or %s.", prompt, strings.ReplaceAll(ask.Hint, "–", " to "), Quit)
		case n, ok := <-f.notes:
			if !ok {
				f.notes = nil
				continue
			}
			if !n.On && !n.Rang || ask.Takes&drills.FormSound == 0 || n.On && f.now().Sub(asked) < settle {
				continue
			}
			if n.Unsure() {
				if !unsure && n.On {
					f.say("%s", drills.NotSure)
				}
				unsure = true
				continue
			}
			return session.Answer{Reply: session.ReplyOf(n)}
		}
	}
}

// taps plays the music of a rhythm and takes each empty line and each note as a tap. It
// returns nil where nothing could be tapped.
func (f *Face) taps() session.Command {
	t, err := f.tap()
	if err != nil {
		f.sentence(err.Error())
		return nil
	}
	defer t.Close()
	told := ""
	for {
		select {
		case text, ok := <-f.lines:
			switch {
			case !ok:
				return session.Quit{}
			case strings.EqualFold(text, Quit):
				return session.Leave{}
			}
			t.Strike(memory.Lines)
		case n, ok := <-f.notes:
			if !ok {
				f.notes = nil
			} else if n.On && !n.Unsure() {
				t.Heard(f.epoch.Add(n.At), n.MIDI, n.Channel == 0)
			}
		case st := <-f.strums:
			t.Heard(f.epoch.Add(st.At), 0, true)
		case _, on := <-t.Beats():
			if !on {
				return session.Answer{Reply: t.Reply()}
			}
			if says := t.Status(); says != told {
				told = says
				f.sentence(says)
			}
		}
	}
}

// settle is how long after a question a note still belongs to the answer before:
// a string that rings on, the rest of a strum. Nobody reads and answers so fast
// (common practice, no source).
const settle = 300 * time.Millisecond

// end sums the session up.
func (f *Face) end(e session.End) {
	f.say("")
	switch sum := e.Summary.(type) {
	case session.SittingSummary:
		f.summary(sum.Summary)
	case session.DaySummary:
		if sum.Over() {
			f.say("That is all for today.")
		}
		f.say("%s", sum.Says)
	}
}

func (f *Face) summary(sum drills.Summary) {
	for _, l := range sum.Lines() {
		f.say("%s", l)
	}
}

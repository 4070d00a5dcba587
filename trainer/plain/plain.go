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
	"slices"
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

// The words that say once more what is asked, and where the player is.
const (
	againWord = "again"
	whereWord = "where"
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
	// run does what some words of the menu ask, nil for none.
	run   func(words []string)
	words []string
	// waits asks the player for what the session waits for.
	waits func() session.Command
	// back is set where the last answer was taken back.
	back bool
	// asked is the question that waits, step the step of the day that is under way, of so
	// many, and right says of each answer of the sitting whether it was right.
	asked session.Question
	step  session.Step
	steps int
	right []bool
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
				f.right = f.right[:max(0, len(f.right)-1)]
			}
		}
	}
}

// show says an event, and returns what asks the player where it waits.
func (f *Face) show(e session.Event) (next func() session.Command) {
	switch e := e.(type) {
	case session.Plan:
		f.steps = len(e.Steps)
		f.Plan(e.Plan)
	case session.Rest:
		f.say("")
		f.sentence(e.Step.Text)
	case session.Step:
		f.step = e
		f.say("")
		f.offer()
		return f.start
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
		f.verdict(e)
	case session.StepEnd:
		f.stepEnd(e)
	case session.Fault:
		f.sentence(spoken(e.Says))
	case session.Notice:
		if e.Says != "" {
			f.say("%s", e.Says)
		}
	}
	return nil
}

func (f *Face) question(q session.Question) {
	if q.N == 1 && !f.back {
		f.right = nil
		f.say("%s, %s. Answer each question with a line. %s shows the way, %s says the question once more, %s tells how far you are, %s takes the last answer back, %s ends.",
			drills.TitleOf(q.Plan.Name), spoken(q.Plan.Material.Title), capital(helpWord), againWord, whereWord, slipWord, Quit)
	}
	f.asked = q
	f.say("%d. %s", q.N, spoken(q.Prompt))
	f.choices()
	for _, step := range q.Steps {
		f.say("   %s", spoken(step))
	}
	if q.Ask.Takes&drills.FormTaps != 0 {
		f.say("   Enter begins: a bar is counted in. Then tap with enter, or play. Or type %s.", q.Ask.Hint)
	}
}

func (f *Face) choices() {
	for i, c := range f.asked.Choices {
		f.say("   %d: %s", i+1, spoken(c))
	}
}

// repeat says the question that waits once more, with its choices and what to type.
func (f *Face) repeat() {
	f.again()
	prompt, unheard := spoken(f.asked.Prompt), spoken(f.asked.Ask.Unheard)
	if !strings.Contains(prompt, unheard) {
		prompt += " " + unheard
	}
	f.say("%d. %s Type %s, or %s.", f.asked.N, prompt, spoken(strings.ReplaceAll(f.asked.Ask.Hint, "–", " to ")), Quit)
	f.choices()
}

// where says which step and question it is, and how many were right.
func (f *Face) where() {
	says := ""
	if f.step.N > 0 && f.steps > 0 {
		says = fmt.Sprintf("Step %d of %d: %s. ", f.step.N, f.steps, spoken(strings.TrimSuffix(f.step.Step.Text, ".")))
	}
	says += fmt.Sprintf("Question %d", f.asked.N)
	if of := f.asked.Plan.Questions; of > 0 {
		says += fmt.Sprintf(" of %d", of)
	}
	right := 0
	for _, r := range f.right {
		if r {
			right++
		}
	}
	f.say("%s: %d right of %d so far.", says, right, len(f.right))
}

// verdict says how an answer was, with the number of the right one where there were
// several to pick from.
func (f *Face) verdict(e session.Judged) {
	f.right = append(f.right, e.Answer.Right())
	word := e.Answer.Says() + "."
	switch pace := e.Answer.Pace(); {
	case e.Answer.Unknown:
		word = "The way, and it counts as missed:"
	case strings.Contains(pace, ";"):
		word = fmt.Sprintf("%s: %s.", strings.TrimSuffix(word, "."), strings.Replace(pace, " s;", " seconds;", 1))
	}
	why := spoken(e.Why)
	if n := slices.Index(f.asked.Choices, e.Right[0]) + 1; n > 0 && !e.Answer.Right() {
		why = fmt.Sprintf("It is answer %d. %s", n, why)
	}
	f.say("%s %s", word, why)
}

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
			case strings.EqualFold(text, whereWord):
				f.where()
				continue
			case text != "" && text != "?" && !strings.EqualFold(text, againWord):
				return session.Answer{Reply: drills.Typed(memory.Lines, written(ask.Choices, text))}
			case text == "" && ask.Takes&drills.FormTaps != 0:
				if c := f.taps(); c != nil {
					return c
				}
				continue
			}
			f.repeat() // a line without an answer
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
		case b, on := <-t.Beats():
			if !on {
				return session.Answer{Reply: t.Reply()}
			}
			if says := t.Status(); says != told {
				told = says
				f.sentence(says)
			}
			if told == "" || b.Off { // it is heard
				continue
			}
			if b.Bar < 1 {
				f.say("%d", b.Beat)
			} else if b.Beat == 1 {
				f.say("Bar %d", b.Bar)
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
		f.say("%s", spoken(sum.Says))
	}
}

func (f *Face) summary(sum drills.Summary) {
	for _, l := range sum.Lines() {
		f.say("%s", spoken(l))
	}
}

package session

import (
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/trainer/sound"
)

// questions asks the questions of a sitting.
type questions struct {
	sitting *Sitting
	// held waits for Next after a verdict.
	held bool
	// waiting is the question that waits, nil for none; last the one before.
	waiting, last drills.Question
	id            int
	// early is the note that an ear told of for the waiting question, 0 for none.
	early int
	// tapping is the music that plays to be tapped to, nil for none.
	tapping     *Tapping
	ended, done bool
	// agenda is the day that they are step n of, nil for none; before is how that step
	// stood when they began.
	agenda *Agenda
	n      int
	before today.Step
	// course is where the lessons stood then.
	course today.Course
	// met is set once what the step's lesson asks for is met.
	met bool
}

// Drill makes a session of a sitting's questions. With held it waits for Next after
// each verdict.
func (d *Desk) Drill(c Choice, held bool) (*Session, error) {
	sitting, err := d.Begin(c)
	if err != nil {
		return nil, err
	}
	return d.session(&questions{sitting: sitting, held: held}), nil
}

func (q *questions) begin(s *Session) { q.next(s) }

func (q *questions) over() (over, done bool) { return q.ended, q.done }

func (q *questions) stop(s *Session) {
	q.ended = true
	q.hush()
	s.desk.silence()
}

func (q *questions) summary(s *Session) any {
	sum := q.sitting.Sum()
	if q.agenda != nil {
		sum.Found = q.agenda.found(sum.Summary)
	}
	return sum
}

// next asks the next question, or ends the sitting.
func (q *questions) next(s *Session) {
	if q.met {
		q.ended, q.done = true, true
		return
	}
	asked, err := q.sitting.Next(s.now())
	if err != nil {
		q.ended, q.done, q.waiting = true, errors.Is(err, drills.ErrOver), nil
		if !q.done {
			s.fault(err.Error())
		}
		return
	}
	q.ask(s, asked)
}

func (q *questions) ask(s *Session, asked drills.Question) {
	s.asked++
	q.hush()
	q.waiting, q.id, q.early = asked, s.asked, 0
	ask, item := s.desk.letHear(asked.Ask(), q.held), asked.Item()
	e := Question{
		ID: q.id, Item: item.Key(), Kind: item.Kind, New: q.sitting.New(item), Prompt: ask.Prompt,
		Chord: given(ask.Chord), Degree: given(ask.Degree), Choices: ask.Choices, Right: asked.Right(),
		Ask: ask, Story: progress.Story(q.sitting.known[item], memory.DayOf(s.now())), Steps: q.sitting.way(asked), N: len(q.sitting.Answers()) + 1, Plan: q.sitting.Plan(),
		Left: max(0, q.sitting.Plan().Length-q.sitting.Elapsed(s.now())),
	}
	if e.Way = e.Steps; e.Way == nil {
		e.Way = []string{}
	}
	if len(e.Steps) > 0 && q.sitting.shown(item) {
		s.desk.hearAnswer(asked, sound.NoCue)
	}
	if ask.String != 0 {
		e.String = &ask.String
	}
	if ask.Frets != nil {
		e.Frets = given(fretboard.FormatFrets(ask.Frets))
	}
	if e.Choices == nil {
		e.Choices = []string{}
	}
	s.tell(e)
}

// given is a text, nil for none.
func given(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

func (q *questions) do(s *Session, c Command) {
	switch c := c.(type) {
	case Answer:
		if q.waiting == nil {
			s.fault("no question waits for an answer")
			return
		}
		s.advance(c.After)
		q.answer(s, c.Reply)
	case Help:
		if q.waiting == nil {
			s.fault("no question waits for help")
			return
		}
		s.advance(c.After)
		q.answer(s, drills.Reply{Way: memory.Lines, Form: drills.FormText, Final: true, Unknown: true})
	case Slip:
		q.slip(s)
	case Next:
		if q.waiting == nil {
			q.next(s)
		}
	case Leave:
		q.hush()
		q.ended = true
	default:
		s.fault("a question waits: answer it, ask for help, take a slip back, leave or quit")
	}
}

// answer judges a reply and keeps it. A reply that cannot be read, where another
// may be given, is a fault and the question waits on. Who does not know is told the way
// to the answer.
func (q *questions) answer(s *Session, r drills.Reply) {
	asked := q.waiting
	result := asked.Judge(r).Result
	switch {
	case r.Proof == drills.Early && result != drills.Hit:
		q.early = r.MIDI
		return
	case r.Proof == drills.Rang && r.MIDI != q.early:
		return // of a note that answered before, or came too soon
	}
	q.hush()
	readable := result != drills.Unread
	r.Led = q.sitting.led(asked.Item())
	j, a := q.sitting.Answer(r, s.now())
	if j.Result == drills.Unread {
		s.fault(j.Reason)
		return
	}
	right := asked.Right()
	if !readable {
		told := asked.Judge(drills.Typed(r.Way, right[0]))
		j.Marks = told.Marks
		why := []string{strings.TrimSuffix(j.Reason, ".") + ".", told.Reason}
		if r.Unknown {
			why = why[1:]
			if w, ok := asked.(drills.Worked); ok {
				why = w.Steps()
			} else if asked.Ask().Choices == nil && !holds(told.Reason, right[0]) {
				why = []string{"It can be " + right[0] + ".", told.Reason}
			}
		}
		j.Reason = strings.Join(why, " ")
	}
	if j.Result != drills.Miss && a.Right() && r.Led {
		a.Grade = memory.Hard // it was found with help
	}
	// The verdict is told when the answer is kept, not before.
	err := q.sitting.Keep(a)
	q.sitting.Kept(err)
	q.waiting, q.last = nil, asked
	cue := sound.WrongCue
	if a.Right() {
		cue = sound.RightCue
	}
	s.desk.hearAnswer(asked, cue)
	told := Judged{ID: q.id, Result: a.Verdict.String(), Right: right, Why: j.Reason, Judgement: j, Answer: a}
	if a.SlowAfter > 0 {
		seconds := a.SlowAfter.Round(10 * time.Millisecond).Seconds()
		told.SlowAfter = &seconds
	}
	s.tell(told)
	if q.agenda != nil {
		met, unkept := q.agenda.answered(q, s.now())
		q.met, err = met, errors.Join(err, unkept)
	}
	s.notify(err)
	if !q.held {
		s.look() // keeping took its time
		q.next(s)
	}
}

// holds reports whether a text names an answer, word for word. The number of a string or
// a fret is none.
func holds(text, answer string) bool {
	words, want := wordsOf(text), wordsOf(answer)
	for i := 0; i+len(want) <= len(words); i++ {
		counts := i > 0 && (strings.EqualFold(words[i-1], "string") || strings.EqualFold(words[i-1], "fret"))
		if !counts && slices.Equal(words[i:i+len(want)], want) {
			return true
		}
	}
	return false
}

// wordsOf are the words of a text, without what punctuates it.
func wordsOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(".,:;!?", r) })
}

// slip takes the last answer back and asks its question again.
func (q *questions) slip(s *Session) {
	if q.last == nil {
		s.fault("there is no answer to take back")
		return
	}
	if err := q.sitting.TakeBack(); err != nil {
		s.fault(err.Error())
		return
	}
	asked := q.last
	q.last = nil
	if q.agenda != nil {
		_, err := q.agenda.answered(q, s.now())
		s.notify(err)
	}
	q.ask(s, asked)
}

package plain_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/plain"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// clock moves a second each time it is asked.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(time.Second)
	return c.t
}

func desk() *session.Desk {
	c := &clock{t: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	return &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: c.now, Seed: func() uint64 { return 1 }}
}

func hold(t *testing.T, c session.Choice, in string) (string, session.SittingSummary) {
	d := desk()
	s, err := d.Drill(c, false)
	require.NoError(t, err)
	var out strings.Builder
	sum := plain.New(strings.NewReader(in), &out, d.Now).Sit(s)
	return out.String(), sum.(session.SittingSummary)
}

func TestLines(t *testing.T) {
	out, s := hold(t, session.Choice{Drill: "spell", Chords: "Dm7", Questions: 3}, "what\n?\n\nB#\nc\n")
	lines := strings.Split(out, "\n")
	assert.Equal(t, "spell it, D minor seven. Answer each question with a line. Help shows the way, again says the question once more, where tells how far you are, slip takes the last answer back, quit ends.", lines[0])
	assert.Regexp(t, `^1\. Which note is the (flat )?\S+ of D minor seven\?$`, lines[1])
	assert.Equal(t, `"what" is no note: type a letter A to G, then b or # where it has one, such as B flat.`, lines[2])
	ask := lines[1] + " Type a note, such as E flat or F sharp, or quit."
	assert.Equal(t, ask, lines[3])
	assert.Equal(t, ask, lines[4])
	assert.Regexp(t, `^(Wrong|Correct)\. `, lines[5])
	assert.Regexp(t, `^2\. `, lines[6])
	assert.Contains(t, out, "right of 2.")
	assert.Len(t, s.Answers, 2)
	assert.NotContains(t, out, "\x1b")
}

// broken is a history that keeps nothing.
type broken struct{ session.History }

func (broken) Begin(_ context.Context, s history.Sitting) (history.Sitting, error) {
	return s, errors.New("the disk is gone")
}
func (broken) Pace(memory.Kind, memory.Way) memory.Pace { return memory.Pace{} }
func (broken) States(context.Context) (map[memory.Item]memory.State, error) {
	return nil, nil
}
func (broken) Notice() string { return "" }

// A history that fails is said once, and the sitting goes on.
func TestHistoryThatFails(t *testing.T) {
	d := desk()
	d.History = broken{}
	s, err := d.Drill(session.Choice{Drill: "find", Chords: "first"}, false)
	require.NoError(t, err)
	var out strings.Builder
	plain.New(strings.NewReader("3\n4\n5\n"), &out, d.Now).Sit(s)
	assert.Equal(t, 1, strings.Count(out.String(), "the disk is gone"))
	assert.Contains(t, out.String(), "right of 3.")
	assert.Contains(t, out.String(), "Answers not on the disk yet: 3.")
}

func TestQuitAndEndOfInputAndQuestions(t *testing.T) {
	for in, answered := range map[string]int{"": 0, "3": 1, "3\nQUIT\n5\n": 1, "3\n5\n7\n9\n": 3} {
		out, s := hold(t, session.Choice{Drill: "find", Chords: "first", Questions: 3}, in)
		assert.Len(t, s.Answers, answered, "%q", in)
		if answered == 0 {
			assert.Contains(t, out, "Nothing was asked.")
		}
	}
}

func TestChoicesAreListed(t *testing.T) {
	out, s := hold(t, session.Choice{Drill: "shape", Chords: "first", Questions: 1}, "1\n")
	assert.Regexp(t, `\n   1: \S`, out)
	assert.Regexp(t, `\n   2: \S`, out)
	assert.Len(t, s.Answers, 1)
}

// What was asked can be heard once more, whole, and the player can ask where they are; the
// right one of several answers is told by its number, and a number too high is none.
func TestWhatIsAskedIsSaidAgain(t *testing.T) {
	out, s := hold(t, session.Choice{Drill: "shape", Chords: "first", Questions: 2}, "\n?\nagain\nwhere\n9\nhelp\nwhere\n1\n")
	assert.Equal(t, 4, strings.Count(out, "\n1. "), out)
	assert.Equal(t, 4, strings.Count(out[:strings.Index(out, "Question 1")], "   1: "))
	assert.Equal(t, 3, strings.Count(out, "Type the number of an answer, 1 to 4, or quit."))
	assert.Contains(t, out, "\nQuestion 1 of 2: 0 right of 0 so far.\n")
	assert.Contains(t, out, "\nQuestion 2 of 2: 0 right of 1 so far.\n")
	assert.Regexp(t, `\nThe way, and it counts as missed: It is answer [1-4]\. `, out)
	assert.Len(t, s.Answers, 2)
	out, _ = hold(t, session.Choice{Drill: "near", Chords: "first", Questions: 1}, "5\n77\n1\n")
	assert.Regexp(t, "There is no answer 77: type one of 1 to |Type the number of an answer, 1 to ", out)
}

// What is spoken is an answer, and help gives frets where frets are asked for.
func TestWhatIsSpokenIsAnAnswer(t *testing.T) {
	out, _ := hold(t, session.Choice{Drill: "build", Chords: "Cm7", Questions: 1}, "help\n")
	shape := regexp.MustCompile(`from string 6: (muted|\d+)(, (muted|\d+)){5}`).FindString(out)
	require.NotEmpty(t, shape, out)
	for _, said := range []string{shape, strings.ReplaceAll(strings.TrimPrefix(shape, "from string 6: "), ", ", " "), strings.ReplaceAll(strings.TrimPrefix(shape, "from string 6: "), "muted", "mute")} {
		out, s := hold(t, session.Choice{Drill: "build", Chords: "Cm7", Questions: 1}, said+"\n")
		require.Len(t, s.Answers, 1, "%s: %s", said, out)
		assert.Equal(t, 1, s.Right, said)
	}
	out, s := hold(t, session.Choice{Drill: "name", Chords: "Cm7", Questions: 1}, "flat three\n")
	assert.Len(t, s.Answers, 1, out)
	out, s = hold(t, session.Choice{Drill: "same", Chords: "Cm7", Questions: 1}, "E flat six\n")
	assert.Len(t, s.Answers, 1, out)
}

// An arrangement is read bar by bar.
func TestAnArrangementIsReadBarByBar(t *testing.T) {
	d := desk()
	tn, ok := content.Tune("lantern-street")
	require.True(t, ok)
	d.Tunes = []session.Tune{{Name: "lantern-street", Tune: tn}}
	var out strings.Builder
	lines := "arrange lantern-street section B layer bass\nnext\nback\nback\nagain\nwhere\n1\nback\nbar 99\nsection Z\nhum\nstop\nquit\n"
	plain.New(strings.NewReader(lines), &out, d.Now).Menu(d)
	b := 0
	for i, fb := range tn.Unroll() {
		if fb.Section == "B" {
			b = i + 1
			break
		}
	}
	require.Greater(t, b, 1)
	var heads []int
	for l := range strings.Lines(out.String()) {
		var n int
		if _, err := fmt.Sscanf(l, "Bar %d, section", &n); err == nil {
			heads = append(heads, n)
		}
	}
	assert.Equal(t, []int{b, b + 1, b, b - 1, b - 1, 1}, heads)
	for _, want := range []string{
		fmt.Sprintf("Bar %d of %d, section ", b-1, len(tn.Unroll())), "This is the first bar.", `There is no bar "99"`, `There is no section "Z"`, `"hum" is none of next`, "string 6 fret ",
	} {
		assert.Contains(t, out.String(), want)
	}
}

// The words that matter are fewer than ten lines, and other words are handed on.
func TestTheWordsOfTheMenu(t *testing.T) {
	d := desk()
	var out strings.Builder
	f := plain.New(strings.NewReader("?\nchord Dm7\nshape 3-x-3-4-3-x\nshape first\n1\nquit\nlesson nope\nquit\n"), &out, d.Now)
	var ran []string
	f.Run(func(words []string) { ran = append(ran, strings.Join(words, " ")) }, "chord", "shape")
	f.Menu(d)
	assert.Equal(t, []string{"chord Dm7", "shape 3-x-3-4-3-x"}, ran)
	help, _, _ := strings.Cut(out.String()[strings.Index(out.String(), "Enter or today"):], "\n\n")
	assert.Less(t, strings.Count(help, "\n"), 10)
	assert.Contains(t, out.String(), "read the voicing, ")
	assert.Contains(t, out.String(), `No lesson is called "nope".`)
}

func TestMenu(t *testing.T) {
	d := desk()
	var out strings.Builder
	plain.New(strings.NewReader("sing\n?\n? all\nfind triads\n3\nquit\nline\nspell nope\nname Dm7 G7\nquit\n"), &out, d.Now).Menu(d)
	for _, want := range []string{
		"find: play a degree", "first: seven chords", `no drill is called "sing"`, "find it, Triads.", "right of 1.",
		"First chords is no tune", `no set of chords is called "nope"`, "name it, D minor seven G seven.",
	} {
		assert.Contains(t, out.String(), want)
	}
}

// instrument is an input that plays what it is told.
type instrument struct {
	listen.Input
	notes chan listen.Note
}

func (i instrument) Notes() <-chan listen.Note { return i.notes }

func (instrument) Strums() <-chan listen.Strum { return nil }

// Played notes answer; what still rings when the next question is asked does
// not, and the end of the lines ends the sitting.
func TestPlayedNotesAnswer(t *testing.T) {
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	var mu sync.Mutex
	time1 := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	later := func(d time.Duration) { mu.Lock(); defer mu.Unlock(); now = now.Add(d) }
	d := desk()
	d.Now = time1
	kept := &ways{}
	d.History = kept
	s, err := d.Drill(session.Choice{Drill: "find", Chords: "first", Questions: 2}, false)
	require.NoError(t, err)
	lines, end := io.Pipe()
	said, out := io.Pipe()
	f := plain.New(lines, out, time1)
	guitar := instrument{notes: make(chan listen.Note)}
	f.Listen(guitar, time.Now())
	done := make(chan struct{})
	go func() {
		defer close(done)
		f.Sit(s)
		out.Close()
	}()
	heard := make(chan string)
	go func() {
		b, _ := io.ReadAll(said)
		heard <- string(b)
	}()
	e := listen.Note{On: true, MIDI: 40, String: 6, Channel: 1, Confidence: 1}
	release := listen.Note{MIDI: 40, String: 6, Channel: 1} // once taken, the note before has been dealt with
	for range 3 {
		guitar.notes <- e // too soon after the question
	}
	guitar.notes <- release
	later(time.Second)
	guitar.notes <- e
	guitar.notes <- e // rings on
	guitar.notes <- release
	later(time.Second)
	e.Channel, e.Confidence = 0, 0.4
	guitar.notes <- e // it may have been another
	guitar.notes <- e
	e.Confidence = 0.6
	guitar.notes <- e // it may be no guitar
	e.On, e.Rang = false, true
	guitar.notes <- e
	<-done
	end.Close()
	text := <-heard
	assert.Contains(t, text, "right of 2.")
	assert.Equal(t, 1, strings.Count(text, drills.NotSure), "an unsure note leaves the question open, and is told once")
	assert.Equal(t, []memory.Way{memory.MIDI, memory.Microphone}, kept.ways)
}

// A player who sees nothing begins with enter, and taps with it in time with the bass.
func TestTappedWithEnter(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := desk()
		d.Now = time.Now
		d.Sounding = session.Sounding{Sound: sound.Options{Mute: true}, Mix: sound.DefaultMix}
		s, err := d.Drill(session.Choice{Drill: "hits", Chords: "first", Questions: 1}, false)
		require.NoError(t, err)
		lines, enter := io.Pipe()
		var out strings.Builder
		done := make(chan struct{})
		var sum session.SittingSummary
		go func() {
			defer close(done)
			sum = plain.New(lines, &out, time.Now).Sit(s).(session.SittingSummary)
		}()
		synctest.Wait()
		// The one question of this seed.
		require.Contains(t, out.String(), "1. Tap the comping: on the and of 2, then the and of 4 in each bar, straight, 160 BPM, for 4 bars.\n   Enter begins")
		const beat = 375 * time.Millisecond
		press := func() {
			_, err := enter.Write([]byte("\n"))
			require.NoError(t, err)
		}
		press()
		time.Sleep(100*time.Millisecond + 4*beat + beat*3/2) // the sound begins with a tenth of a second of silence
		for range 8 {
			press()
			time.Sleep(2 * beat)
		}
		<-done
		enter.Close()
		require.Contains(t, out.String(), "\n2\n3\n4\nBar 1\nBar 2\nBar 3\nBar 4\n", "without sound the count and the bars are said")
		require.Regexp(t, `Correct\. All 8 hits, (in time|1\d ms (early|late))\.`, out.String())
		require.Equal(t, 1, sum.Sure)
		time.Sleep(time.Second)
	})
}

// ways is a history that keeps how answers were given.
type ways struct {
	broken
	ways []memory.Way
}

func (w *ways) Begin(_ context.Context, s history.Sitting) (history.Sitting, error) {
	s.ID = uuid.UUID{1}
	return s, nil
}

func (w *ways) Append(_ context.Context, a history.Answer) (history.Answer, error) {
	w.ways = append(w.ways, a.Way)
	return a, nil
}

// late is an input whose notes a test plays.
type late struct{ *listen.Feed }

func (late) Close() error { return nil }

// A pass that was late all through: a line without a word keeps that as the input's delay,
// and any other word leaves it.
func TestEnterKeepsTheDelay(t *testing.T) {
	for word, kept := range map[string]time.Duration{"": 120 * time.Millisecond, "keep": 120 * time.Millisecond, "quit": 0} {
		synctest.Test(t, func(t *testing.T) {
			d := desk()
			var told time.Duration
			feed := listen.NewFeed("wire", listen.Options{}, "")
			feed.Found(0, "")
			d.Now = time.Now
			d.Sounding = session.Sounding{
				Sound: sound.Options{Mute: true}, CountIn: 1, Score: take.DefaultSettings(),
				Input:     func(time.Time) (listen.Input, error) { return late{feed}, nil },
				KeepDelay: func(_ string, by time.Duration, _ int) error { told = by; return nil },
			}
			tn, ok := content.Tune("short-ladder")
			require.True(t, ok)
			s, err := d.PlayAlong(session.Passage{Tune: session.Tune{Name: "short-ladder", Tune: tn}, Layer: "bass", Passes: 1})
			require.NoError(t, err)
			in, line := io.Pipe()
			go func() {
				defer line.Close()
				bar, err := tn.Placed(1, 0)
				require.NoError(t, err)
				for s.Now().State != sound.Counting {
					time.Sleep(time.Millisecond)
				}
				counting := s.Now()
				start := harmony.Place(counting.Bar, counting.Start).End().Duration()
				for _, e := range take.Expect(s.Arrangement(), bar, take.Bars{}) {
					time.Sleep(start + e.Time + 120*time.Millisecond - s.Now().At.Duration())
					feed.Hand(listen.Note{At: feed.Now(), On: true, MIDI: e.Notes[0].MIDI, Confidence: 1, Channel: 1})
				}
				time.Sleep(5 * time.Second)
				io.WriteString(line, word+"\n")
			}()
			var out strings.Builder
			plain.New(in, &out, time.Now).Play(s)
			synctest.Wait()
			assert.InDelta(t, kept, told, float64(5*time.Millisecond), out.String())
			assert.Contains(t, out.String(), "is that the input's delay?")
			assert.Contains(t, out.String(), "Enter, or keep, takes that off")
		})
	}
}

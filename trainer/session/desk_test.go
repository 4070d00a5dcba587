package session_test

import (
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

type wound struct {
	mu sync.Mutex
	t  time.Time
}

func woundTo(t time.Time) *wound { return &wound{t: t} }

func (c *wound) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *wound) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = t
}

func desk(t *testing.T, path string, c *wound) (*session.Desk, *history.Keeper) {
	k, err := history.Keep(path, c.now, nil)
	require.NoError(t, err)
	d := &session.Desk{Neck: fretboard.StandardNeck(), History: k, Now: c.now, Seed: func() uint64 { return 1 }}
	for _, name := range content.TuneNames() {
		tu, _ := content.Tune(name)
		d.Tunes = append(d.Tunes, session.Tune{Name: name, Tune: tu})
	}
	return d, k
}

// sit answers every question of a sitting rightly after a second.
func sit(t *testing.T, d *session.Desk, c *wound, choice session.Choice) []drills.Answer {
	s, err := d.Begin(choice)
	require.NoError(t, err)
	for {
		q, err := s.Next(c.now())
		if err != nil {
			require.ErrorIs(t, err, drills.ErrOver)
			return s.Answers()
		}
		c.set(c.now().Add(time.Second))
		_, a := s.Answer(drills.Pointed(q.Ask().Place), c.now())
		require.True(t, a.Right(), a.Prompt)
		s.Kept(s.Keep(a))
		c.set(c.now().Add(time.Second))
	}
}

// What was asked two months ago is due, and comes before anything new.
func TestQuestionsComeWhenTheyAreAboutToBeForgotten(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	path := filepath.Join(t.TempDir(), "history.db")
	d, k := desk(t, path, c)
	first := sit(t, d, c, session.Choice{Drill: "find", Chords: "first"})
	assert.Len(t, first, session.UsualQuestions)
	require.NoError(t, k.Close())

	c.set(c.now().AddDate(0, 0, 60))
	d, k = desk(t, path, c)
	defer k.Close()
	asked := map[memory.Item]bool{}
	for _, a := range first {
		asked[a.Item] = true
	}
	again := sit(t, d, c, session.Choice{Drill: "find", Chords: "first", Questions: len(asked)})
	for _, a := range again {
		assert.True(t, asked[a.Item], "%s is due before anything new", a.Item.Text())
	}
	look, err := d.Review(0)
	require.NoError(t, err)
	assert.Equal(t, len(first)+len(again), look.Asked)
}

// Every tune can be drilled, by its title in any case, and a walk through a line
// ends with its last note.
func TestEveryTuneCanBeDrilled(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	require.GreaterOrEqual(t, len(d.Tunes), 10)
	for _, tu := range d.Tunes {
		for _, drill := range []string{"find", "name", "spell", "line"} {
			s, err := d.Begin(session.Choice{Drill: drill, Tune: strings.ToUpper(tu.Tune.Title)})
			require.NoError(t, err, "%s %s", drill, tu.Name)
			_, err = s.Next(c.now())
			require.NoError(t, err, "%s %s", drill, tu.Name)
		}
	}
	line, err := d.Tunes[0].Tune.Line(d.Neck.BassRange())
	require.NoError(t, err)
	assert.Len(t, sit(t, d, c, session.Choice{Drill: "line", Tune: d.Tunes[0].Name}), len(line))
}

func TestBadChoicesSayWhatWouldDo(t *testing.T) {
	c := woundTo(time.Now())
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	for want, choice := range map[string]session.Choice{
		`no drill is called "sing": use find`:                  {Drill: "sing", Chords: "first"},
		`no tune is called "Nope": use cardboard-hat-blues`:    {Drill: "find", Tune: "Nope"},
		`no set of chords is called "nope": use first, triads`: {Drill: "find", Chords: "nope"},
		`chord "Cq"`: {Drill: "find", Chords: "Dm7 Cq"},
		`First chords is no tune: pick a tune to walk through`:       {Drill: "line", Chords: "first"},
		`no set of chords is called "": use first, triads, sevenths`: {Drill: "find"},
	} {
		_, err := d.Begin(choice)
		assert.ErrorContains(t, err, want)
	}
}

// The minutes of the day are those practised: a computer that slept with the
// drill on the screen, before the first answer or between two, adds none.
func TestMinutesWithoutTheTimeAway(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	s, err := d.Begin(session.Choice{Drill: "find", Chords: "first"})
	require.NoError(t, err)
	for _, away := range []time.Duration{2 * time.Hour, 20 * time.Second, 20 * time.Second, 3 * time.Hour, 20 * time.Second, -time.Hour, 20 * time.Second} {
		q, err := s.Next(c.now())
		require.NoError(t, err)
		c.set(c.now().Add(away))
		_, a := s.Answer(drills.Pointed(q.Ask().Place), c.now())
		s.Kept(s.Keep(a))
	}
	v, err := d.Review(0)
	require.NoError(t, err)
	require.Len(t, v.Days, 1)
	assert.Equal(t, 7, v.Days[0].Asked)
	// Four times 20 seconds, two answers that count as a minute, and one of no time.
	assert.InDelta(t, (4*20+2*60)/60.0, v.Days[0].Minutes, 0.1)
}

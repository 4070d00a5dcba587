package progress

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"footfall/drills/lesson"
	"footfall/drills/memory"
)

// WeekVersion is that of the reports that this program writes, and the latest it reads.
const WeekVersion = 1

// Week reports some days of practice to a teacher.
type Week struct {
	Version int `json:"footfall_report"`
	// Name is the player's, as the player gives it, and History tells the player's history
	// from any other, "" where that is not known.
	Name    string `json:"name"`
	History string `json:"history,omitempty"`
	Since   string `json:"since"`
	Until   string `json:"until"`
	// Minutes is the time of all that was practiced, Practiced on how many of the days.
	Minutes   float64   `json:"minutes"`
	Practiced int       `json:"practiced"`
	Asked     int       `json:"asked"`
	Right     int       `json:"right"`
	Passes    int       `json:"passes"`
	Clean     int       `json:"clean"`
	Days      []WeekDay `json:"days"`
	// Kept counts all things as they are kept now, Firm are the keys of those that became
	// firm in these days.
	Kept   Kept        `json:"kept"`
	Firm   []string    `json:"firm"`
	Tempos []WeekTempo `json:"tempos"`
	// Bars are those in which something was missed, the worst first.
	Bars []WeekBar `json:"bars"`
	// Lessons are the titles of those that were finished in these days.
	Lessons []string `json:"lessons"`
	// Course are the lessons that were worked at in these days, in their order.
	Course []WeekLesson `json:"course"`
	// Weak is what went worst of what was asked in these days, the worst first.
	Weak []WeekPart `json:"weak"`
}

// WeekLesson is how far a lesson has come.
type WeekLesson struct {
	Title string `json:"title"`
	// Teachers is set for one that the player's teacher gave.
	Teachers bool `json:"teachers"`
	// Met of its Tasks are met, Before of them were before these days.
	Met    int `json:"met"`
	Before int `json:"before"`
	Tasks  int `json:"tasks"`
}

// Says tells in a line how far it has come.
func (l WeekLesson) Says() string {
	title := l.Title
	if l.Teachers {
		title += " (the teacher's)"
	}
	says := fmt.Sprintf("%s: %d of %d tasks met", title, l.Met, l.Tasks)
	switch {
	case l.Met == l.Tasks && l.Before < l.Met:
		return title + ": finished"
	case l.Met == l.Before:
		return says + ", at work on the next"
	case l.Before > 0:
		return says + fmt.Sprintf(", %d of them in these days", l.Met-l.Before)
	}
	return says
}

// WeekPart is how answers went about something that many questions share, as PartRow has it.
type WeekPart struct {
	Degree string `json:"degree,omitempty"`
	Chords string `json:"chords,omitempty"`
	String int    `json:"string,omitempty"`
	From   int    `json:"from"`
	To     int    `json:"to"`
	Asked  int    `json:"asked"`
	Right  int    `json:"right"`
}

// Says tells in a line what it is and how it went.
func (p WeekPart) Says() string {
	return fmt.Sprintf("%s: %d of %d", PartRow{Degree: p.Degree, Chords: p.Chords, String: p.String, From: p.From, To: p.To}.Says(), p.Right, p.Asked)
}

// wellEnough is the share of right answers, of 100, that a day aims at: what went better is not
// weak (Wilson et al. 2019).
const wellEnough = 85

// WeakOf is what went worst in a record of some days: what was asked often enough to tell, and
// was right less often than a day aims at.
func WeakOf(r Record) []WeekPart {
	weak := []WeekPart{}
	for _, p := range partRows(r, nil, nil) {
		if p.Asked >= enoughOfPart && 100*p.Right < wellEnough*p.Asked {
			weak = append(weak, WeekPart{p.Degree, p.Chords, p.String, p.From, p.To, p.Asked, p.Right})
		}
	}
	return weak
}

// WeekDay is a day of a report.
type WeekDay struct {
	Day     string  `json:"day"`
	Minutes float64 `json:"minutes"`
	Asked   int     `json:"asked"`
	Right   int     `json:"right"`
	Passes  int     `json:"passes"`
	Clean   int     `json:"clean"`
}

// WeekTempo is how fast a passage was clean, in quarter notes a minute.
type WeekTempo struct {
	Tune string `json:"tune"`
	// Title is what players call the tune.
	Title   string `json:"title"`
	Section string `json:"section"`
	Layer   string `json:"layer"`
	Passes  int    `json:"passes"`
	// Before is the fastest clean pass before these days, Clean that in them, 0 for none.
	Before float64 `json:"before"`
	Clean  float64 `json:"clean"`
}

// WeekBar is a bar in which something was missed, and what players call its tune.
type WeekBar struct {
	BarRow
	Title string `json:"title"`
}

// WeekOf makes the report of the days since one, out of all that is kept. Before is what
// was known before them, and bars what was asked and missed in them.
func WeekOf(r Record, since memory.Day, before map[memory.Item]memory.State, bars []BarRow) Week {
	w := Week{Version: WeekVersion, Since: since.String(), Until: r.Today.String(), Firm: []string{}, Tempos: []WeekTempo{}, Lessons: []string{}, Course: []WeekLesson{}, Weak: []WeekPart{}}
	days := map[memory.Day]*WeekDay{}
	for d := since; d <= r.Today; d++ {
		days[d] = &WeekDay{Day: d.String()}
	}
	for k, t := range r.Counts.Days {
		if d := days[k.Day]; d != nil {
			d.Asked, d.Right = d.Asked+t.Asked, d.Right+t.Right()
		}
	}
	spent := time.Duration(0)
	for day, s := range r.Spent {
		if d := days[day]; d != nil {
			d.Minutes, spent = minutes(s), spent+s
		}
	}
	w.Minutes = minutes(spent)
	tempos := map[memory.Item]*WeekTempo{}
	for _, t := range r.Takes {
		if !t.Item.Known() {
			continue
		}
		at := tempos[t.Item]
		if at == nil {
			at = &WeekTempo{Tune: t.Item.Tune, Title: t.Item.Tune, Section: t.Item.Section, Layer: t.Item.Layer}
			tempos[t.Item] = at
		}
		d := days[t.Day]
		switch {
		case d == nil && t.Clean:
			at.Before = max(at.Before, t.Tempo)
		case d != nil:
			at.Passes++
			d.Passes++
			if t.Clean {
				d.Clean++
				at.Clean = max(at.Clean, t.Tempo)
			}
		}
	}
	for _, t := range tempos {
		if t.Passes > 0 {
			w.Tempos = append(w.Tempos, *t)
		}
	}
	slices.SortFunc(w.Tempos, func(a, b WeekTempo) int {
		return cmp.Or(cmp.Compare(b.Passes, a.Passes), cmp.Compare(a.Tune, b.Tune), cmp.Compare(a.Section, b.Section), cmp.Compare(a.Layer, b.Layer))
	})
	for d := since; d <= r.Today; d++ {
		day := *days[d]
		w.Days = append(w.Days, day)
		w.Asked, w.Right, w.Passes, w.Clean = w.Asked+day.Asked, w.Right+day.Right, w.Passes+day.Passes, w.Clean+day.Clean
		if day.Minutes > 0 || day.Asked > 0 || day.Passes > 0 {
			w.Practiced++
		}
	}
	kept(r, func(it memory.Item, how memory.Keeping) {
		w.Kept.add(how)
		if how == memory.Firm && before[it].Kept() != memory.Firm {
			w.Firm = append(w.Firm, it.Key())
		}
	})
	slices.Sort(w.Firm)
	w.Bars = []WeekBar{}
	for _, b := range bars {
		if b.Missed > 0 {
			w.Bars = append(w.Bars, WeekBar{b, b.Tune})
		}
	}
	slices.SortFunc(w.Bars, func(a, b WeekBar) int {
		return cmp.Or(cmp.Compare(b.Missed*a.Asked, a.Missed*b.Asked), cmp.Compare(b.Missed, a.Missed), cmp.Compare(a.Tune, b.Tune), cmp.Compare(a.Bar, b.Bar))
	})
	return w
}

// MostWeekDays is how many days a report is about at most.
const MostWeekDays = 31

// mostNamed is of how many things of a kind a report from elsewhere may tell.
const mostNamed = 10_000

// Check says what is wrong with a report from elsewhere.
func (w Week) Check() error {
	since, err1 := memory.ParseDay(w.Since)
	until, err2 := memory.ParseDay(w.Until)
	switch {
	case w.Version > WeekVersion:
		return fmt.Errorf("it is of version %d, and this program reads up to %d", w.Version, WeekVersion)
	case w.Version < 1:
		return errors.New("it says no version")
	case err1 != nil || err2 != nil || until < since || until-since >= MostWeekDays:
		return fmt.Errorf("its days from %q to %q are none", w.Since, w.Until)
	case w.Minutes < 0 || w.Minutes > MostWeekDays*24*60 || math.IsNaN(w.Minutes):
		return fmt.Errorf("it has %g minutes", w.Minutes)
	case w.Right < 0 || w.Right > w.Asked || w.Clean < 0 || w.Clean > w.Passes || w.Practiced < 0:
		return fmt.Errorf("%d right of %d, %d clean of %d is more than there is", w.Right, w.Asked, w.Clean, w.Passes)
	case len(w.Firm) > mostNamed || len(w.Tempos) > mostNamed || len(w.Bars) > mostNamed || len(w.Lessons) > mostNamed || len(w.Days) > MostWeekDays ||
		len(w.Course) > mostNamed || len(w.Weak) > mostNamed:
		return errors.New("it names more than a week holds")
	}
	return nil
}

// FirmNames are what became firm, in words, each once: what is found and what is named may
// have the same.
func (w Week) FirmNames() (names []string) {
	for _, key := range w.Firm {
		if it, err := memory.ParseKey(key); err == nil && it.Known() && !slices.Contains(names, it.Text()) {
			names = append(names, it.Text())
		}
	}
	return names
}

// Share is how many of 100 answers were right, "-" where nothing was asked.
func (w Week) Share() string {
	if w.Asked == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(w.Right)/float64(w.Asked))
}

// Says names the passage of a tempo in a line.
func (t WeekTempo) Says() string {
	return memory.Item{Kind: memory.Passage, Tune: cmp.Or(t.Title, t.Tune), Section: t.Section}.Text() + ", " + lesson.LayerWords(t.Layer)
}

// Best is the passage of these days that says most of a player:
// the one played most of those that were clean; false where none was.
func (w Week) Best() (WeekTempo, bool) {
	for _, t := range w.Tempos {
		if t.Clean > 0 {
			return t, true
		}
	}
	return WeekTempo{}, false
}

package history

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/quote"
)

// exportVersion is the version of the exported forms.
const exportVersion = 1

const timeForm = "2006-01-02T15:04:05.000Z07:00"

type sittingJSON struct {
	ID    uuid.UUID `json:"id"`
	Began string    `json:"began"`
	Last  string    `json:"last"`
	Drill string    `json:"drill"`
	Tune  string    `json:"tune"`
}

type answerJSON struct {
	ID      uuid.UUID    `json:"id"`
	Sitting uuid.UUID    `json:"sitting"`
	At      string       `json:"at"`
	Item    string       `json:"item"`
	Way     string       `json:"way"`
	Verdict string       `json:"verdict"`
	Grade   memory.Grade `json:"grade"`
	TookMS  int64        `json:"took_ms"`
	String  int          `json:"string"`
	Fret    int          `json:"fret"`
	Given   string       `json:"given"`
}

// takeJSON has neither Clean nor Grade where nobody has judged the pass.
type takeJSON struct {
	ID       uuid.UUID     `json:"id"`
	Sitting  uuid.UUID     `json:"sitting"`
	At       string        `json:"at"`
	Item     string        `json:"item"`
	Way      string        `json:"way"`
	Tempo    float64       `json:"tempo"`
	LengthMS int64         `json:"length_ms"`
	Expected int           `json:"expected"`
	Matched  int           `json:"matched"`
	Missed   int           `json:"missed"`
	Extra    int           `json:"extra"`
	Wrong    int           `json:"wrong"`
	MeanUS   int64         `json:"mean_us"`
	SpreadUS int64         `json:"sd_us"`
	Clean    *bool         `json:"clean"`
	Ramp     string        `json:"ramp"`
	Grade    *memory.Grade `json:"grade"`
	Events   []eventJSON   `json:"events"`
}

type eventJSON struct {
	Bar      int    `json:"bar"`
	Beat     int    `json:"beat"`
	Off      bool   `json:"off"`
	String   int    `json:"string"`
	Fret     int    `json:"fret"`
	MIDI     int    `json:"midi"`
	Verdict  string `json:"verdict"`
	OffsetUS int64  `json:"offset_us"`
}

// ExportJSON writes everything that is kept as one JSON object: its version,
// and the sittings, answers, takes and plans, each the earliest first, one a line.
func (s *Store) ExportJSON(ctx context.Context, w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "{\"version\":%d,\n\"sittings\":[", exportVersion)
	first := true
	line := func(v any) error {
		text, err := json.Marshal(v)
		if err != nil {
			return err
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		b.WriteByte('\n')
		_, err = b.Write(text)
		return err
	}
	if err := s.Sittings(ctx, func(sit Sitting) error {
		return line(sittingJSON{sit.ID, sit.Began.Format(timeForm), sit.Last.Format(timeForm), sit.Drill, sit.Tune})
	}); err != nil {
		return err
	}
	b.WriteString("\n],\n\"answers\":[")
	first = true
	if err := s.Answers(ctx, time.Time{}, func(a Answer) error {
		return line(answerJSON{a.ID, a.Sitting, a.At.Format(timeForm), a.Item.Key(), a.Way.String(), a.Verdict.String(),
			a.Grade, a.Took.Milliseconds(), a.Place.String, a.Place.Fret, a.Given})
	}); err != nil {
		return err
	}
	b.WriteString("\n],\n\"takes\":[")
	first = true
	if err := s.Takes(ctx, time.Time{}, func(t Take) error { return line(takeOut(t)) }); err != nil {
		return err
	}
	b.WriteString("\n],\n\"plans\":[")
	first = true
	if err := s.eachPlan(ctx, func(p Plan) error { return line(p.out()) }); err != nil {
		return err
	}
	b.WriteString("\n]}\n")
	return b.Flush()
}

func takeOut(t Take) takeJSON {
	out := takeJSON{t.ID, t.Sitting, t.At.Format(timeForm), t.Item.Key(), t.Way.String(), t.Tempo, t.Length.Milliseconds(),
		t.Expected, t.Matched, t.Missed, t.Extra, t.Wrong, t.Mean.Microseconds(), t.Spread.Microseconds(), nil, t.Ramp,
		nil, make([]eventJSON, 0, len(t.Events))}
	if t.Judged {
		out.Clean, out.Grade = &t.Clean, &t.Grade
	}
	for _, e := range t.Events {
		out.Events = append(out.Events, eventJSON{e.Bar, e.Beat, e.Off, e.Place.String, e.Place.Fret, e.MIDI, e.Verdict, e.Offset.Microseconds()})
	}
	return out
}

// csvColumns are the columns of an exported table of answers. They hold all that
// is kept of an answer and its sitting, so that the table can be imported.
var csvColumns = []string{"id", "at", "item", "way", "verdict", "grade", "took_ms", "string", "fret", "given",
	"sitting", "sitting_began", "sitting_last", "drill", "tune"}

// ExportCSV writes the answers as a table with a heading, the earliest first.
// Takes are not in it.
func (s *Store) ExportCSV(ctx context.Context, w io.Writer) error {
	sittings := map[uuid.UUID]Sitting{}
	if err := s.Sittings(ctx, func(sit Sitting) error { sittings[sit.ID] = sit; return nil }); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	if err := c.Write(csvColumns); err != nil {
		return err
	}
	if err := s.Answers(ctx, time.Time{}, func(a Answer) error {
		sit := sittings[a.Sitting]
		return c.Write([]string{a.ID.String(), a.At.Format(timeForm), quote.Cell(a.Item.Key()), a.Way.String(), a.Verdict.String(),
			strconv.Itoa(int(a.Grade)), strconv.FormatInt(a.Took.Milliseconds(), 10), strconv.Itoa(a.Place.String),
			strconv.Itoa(a.Place.Fret), quote.Cell(a.Given),
			sit.ID.String(), sit.Began.Format(timeForm), sit.Last.Format(timeForm), quote.Cell(sit.Drill), quote.Cell(sit.Tune)})
	}); err != nil {
		return err
	}
	c.Flush()
	return c.Error()
}

func (s sittingJSON) read() (Sitting, error) {
	sit := Sitting{ID: s.ID, Drill: s.Drill, Tune: s.Tune}
	var err error
	if sit.Began, err = readTime(s.Began); err != nil {
		return sit, err
	}
	sit.Last, err = readTime(s.Last)
	return sit, err
}

func (a answerJSON) read(items itemKeys) (Answer, error) {
	out := Answer{ID: a.ID, Sitting: a.Sitting, Grade: a.Grade, Took: time.Duration(a.TookMS) * time.Millisecond,
		Place: fretboard.Place{String: a.String, Fret: a.Fret}, Given: a.Given}
	var err error
	if out.At, err = readTime(a.At); err != nil {
		return out, err
	}
	if out.Item, err = items.upgrade(a.Item); err != nil {
		return out, err
	}
	if out.Way, err = memory.ParseWay(a.Way); err != nil {
		return out, err
	}
	out.Verdict, err = memory.ParseVerdict(a.Verdict)
	return out, err
}

func (t takeJSON) read(items itemKeys) (Take, error) {
	out := Take{ID: t.ID, Sitting: t.Sitting, Tempo: t.Tempo, Length: time.Duration(t.LengthMS) * time.Millisecond,
		Expected: t.Expected, Matched: t.Matched, Missed: t.Missed, Extra: t.Extra, Wrong: t.Wrong,
		Mean: time.Duration(t.MeanUS) * time.Microsecond, Spread: time.Duration(t.SpreadUS) * time.Microsecond,
		Judged: t.Clean != nil, Ramp: t.Ramp}
	if t.Clean != nil {
		out.Clean = *t.Clean
	}
	if t.Grade != nil {
		out.Grade = *t.Grade
	}
	for _, e := range t.Events {
		out.Events = append(out.Events, TakeEvent{e.Bar, e.Beat, e.Off, fretboard.Place{String: e.String, Fret: e.Fret}, e.MIDI,
			e.Verdict, time.Duration(e.OffsetUS) * time.Microsecond})
	}
	var err error
	if out.At, err = readTime(t.At); err != nil {
		return out, err
	}
	if out.Item, err = items.upgrade(t.Item); err != nil {
		return out, err
	}
	out.Way, err = memory.ParseWay(t.Way)
	return out, err
}

func readTime(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return t, fmt.Errorf("%s is no time; write it like 2026-11-25T18:30:00.000+01:00", quote.Short(strconv.Quote(s), 60))
	}
	return t, nil
}

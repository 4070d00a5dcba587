package screen

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// pictured is the moment at which the practised player's screens are drawn.
var pictured = time.Date(2026, 12, 3, 18, 0, 0, 0, time.UTC) // a Thursday

// practised is services with the program's own tunes and the history of a player who
// has been at two of them for nine weeks, Sundays and Saturdays left out. The clock stands still.
func practised(t testing.TB) *Services {
	data := t.TempDir()
	k, err := history.Open(history.Path(data), nil, nil)
	require.NoError(t, err)
	_, err = k.Import(t.Context(), madeUp(t))
	require.NoError(t, err)
	require.NoError(t, k.Close())
	s, _ := room(t, termenv.Ascii)
	now, err := clock.Set(pictured.Format(time.RFC3339), time.UTC)
	require.NoError(t, err)
	s.Desk, err = session.Open(session.Options{Data: data, Settings: settings.Default(), Clock: now, Scripted: true, Tell: func(string) {}})
	require.NoError(t, err)
	t.Cleanup(func() { s.Desk.Close() })
	playable(s)
	return s
}

// madeUp is the history of practised as the program exports one.
func madeUp(t testing.TB) io.Reader {
	type fields = map[string]any
	var items []memory.Item
	for _, name := range []string{"lantern-street", "tin-kettle-blues"} {
		tn, err := session.Shelf(session.Options{Data: t.TempDir(), Settings: settings.Default(), Tell: func(string) {}}).Tune(name)
		require.NoError(t, err)
		for _, kind := range []string{"find", "name", "spell"} {
			kinds, err := drills.KindsNamed(kind)
			require.NoError(t, err)
			questions, err := kinds[0].Draw(drills.OfTune(name, tn.Tune, fretboard.StandardNeck()))
			require.NoError(t, err)
			for _, q := range questions {
				items = append(items, q.Item())
			}
		}
	}
	id := func(n int) uuid.UUID { return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Append(nil, n)) }
	const days, many = 63, 14
	sittings, answers, takes := []fields{}, []fields{}, []fields{}
	at := func(day, second int) string {
		return pictured.AddDate(0, 0, day-days).Add(time.Duration(second) * time.Second).Format("2006-01-02T15:04:05.000Z07:00")
	}
	for day := range days {
		if d := day % 7; d == 2 || d == 3 {
			continue
		}
		sitting := id(day)
		sittings = append(sittings, fields{"id": sitting, "began": at(day, 0), "last": at(day, 900+day*3), "drill": "find", "tune": "lantern-street"})
		for i := range many {
			n := day*many + i
			item := items[(n*7)%min(len(items), 12+day*2)]
			took, verdict, grade := 4200-40*day+230*(n%9), "sure", memory.Good
			switch {
			case (n*5+day)%(4+day/6) == 0:
				verdict, grade = "missed", memory.Again
			case n%6 == 0:
				verdict, grade = "slow", memory.Hard
			}
			answers = append(answers, fields{"id": id(1000 + n), "sitting": sitting, "at": at(day, 8*i), "item": item.Key(), "way": "typed", "verdict": verdict,
				"grade": grade, "took_ms": took, "string": 5 + n%2, "fret": n % 13, "given": fmt.Sprint(n % 13)})
		}
		for i := range 3 {
			layer, tempo := "bass", 62+day*2/3+4*i
			if day > 40 {
				layer, tempo = "bass+changes", 50+day/2+4*i
			}
			clean := (day+i)%3 > 0
			takes = append(takes, fields{"id": id(9000 + day*3 + i), "sitting": sitting, "at": at(day, 300+60*i), "item": "passage:lantern-street:A:" + layer,
				"way": "midi", "tempo": tempo, "length_ms": 16000, "expected": 32, "matched": 31, "missed": 1, "extra": 0, "wrong": 0,
				"mean_us": (day - 40) * 300, "sd_us": 42000 - 300*day, "clean": clean, "grade": memory.Good, "ramp": "", "events": []fields{}})
		}
	}
	text, err := json.Marshal(struct { // in this order
		Version  int      `json:"version"`
		Sittings []fields `json:"sittings"`
		Answers  []fields `json:"answers"`
		Takes    []fields `json:"takes"`
	}{1, sittings, answers, takes})
	require.NoError(t, err)
	return bytes.NewReader(text)
}

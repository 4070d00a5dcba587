package session

import (
	"context"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/walk"
	"footfall/trainer/history"
)

// takes keeps the passes of one passage in the history.
type takes struct {
	history History // nil forgets them
	tune    string
	way     memory.Way
	sitting uuid.UUID
	last    time.Time // the end of the pass kept last
	kept    map[int]uuid.UUID
}

func (d *Desk) takes(p Passage, way memory.Way) *takes {
	return &takes{history: d.History, tune: p.Tune.Name, way: way, kept: map[int]uuid.UUID{}}
}

// keep keeps a pass, and when it comes again its verdict.
func (k *takes) keep(r Result) error {
	if k.history == nil {
		return nil
	}
	ctx := context.Background()
	if id, there := k.kept[r.Pass]; there {
		if !r.Judged {
			return nil
		}
		return k.history.JudgePass(ctx, id, r.Clean, r.Bar, r.Ramp.String())
	}
	if AwayBetween(k.last, r.At) {
		k.sitting = uuid.Nil
	}
	k.last = r.At.Add(r.Length)
	if k.sitting == uuid.Nil {
		sit, err := k.history.Begin(ctx, history.Sitting{Began: r.At, Drill: "play", Tune: k.tune})
		if err != nil && sit.ID == uuid.Nil {
			return err
		}
		k.sitting = sit.ID
	}
	t := history.Take{
		Sitting: k.sitting, At: r.At, Way: k.way, Tempo: r.Tempo, Length: r.Length, Judged: r.Judged, Clean: r.Clean, Ramp: r.Ramp.String(),
		Item: memory.Item{Kind: memory.Passage, Tune: k.tune, Section: r.section, Layer: r.layer()},
	}
	if free := r.Free; free != nil {
		// Of a free walk the bars are counted.
		t.Expected, t.Matched, t.Missed, t.Wrong = len(free.Bars), free.Clear, free.Count(walk.Silent), free.Count(walk.Lost)
		t.Mean, t.Spread = free.Offset+free.Timing.Mean, free.Timing.Spread
	}
	if sc := r.Score; sc != nil {
		t.Expected, t.Matched, t.Missed, t.Extra, t.Wrong = sc.Expected, sc.Matched, sc.Missed, sc.Extra, sc.Wrong
		t.Mean, t.Spread = sc.Lead(), sc.Timing.Spread
		t.Events = takeEvents(sc)
	}
	t, err := k.history.AppendTake(ctx, t)
	k.kept[r.Pass] = t.ID
	return err
}

// extrasKept is how many notes of a pass that nothing asked for are kept one by one; they
// are all counted. No player plays so many, but a cable with noise on it does.
const extrasKept = 500

// takeEvents lists a score's events as the history keeps them.
func takeEvents(sc *take.Score) []history.TakeEvent {
	var events []history.TakeEvent
	for i, e := range sc.Events {
		o := sc.Outcomes[i]
		if !o.Verdict.Known() {
			continue
		}
		want := append(append([]take.Want{}, e.Free...), e.Notes...)[0]
		x := history.TakeEvent{Bar: e.At.Bar, Beat: e.At.Beat, Off: e.At.Off, Place: want.Place, MIDI: want.MIDI, Offset: o.Offset}
		switch {
		case o.Verdict.Right():
			x.Verdict = "matched"
		case o.Verdict.Wrong():
			x.Verdict = "wrong"
		default:
			x.Verdict = "missed"
		}
		events = append(events, x)
	}
	for _, j := range sc.Extras[:min(len(sc.Extras), extrasKept)] {
		events = append(events, history.TakeEvent{MIDI: sc.Played[j].MIDI, Verdict: "extra"})
	}
	return events
}

// PlayedPass is a pass as scripts read it.
type PlayedPass struct {
	Pass    int     `json:"pass"`
	Tempo   float64 `json:"tempo"`
	LengthS float64 `json:"length_s"`
	Judged  bool    `json:"judged"`
	Clean   bool    `json:"clean"`
	// Bar is the bar that held it back by the player's word, nil where none was named.
	Bar  *int   `json:"bar"`
	Ramp string `json:"ramp"`
}

// PlayedSummary is what a play-along came to.
type PlayedSummary struct {
	Tune   string       `json:"tune"`
	Layer  string       `json:"layer"`
	Passes []PlayedPass `json:"passes"`
}

// SumOf is what passes of an arrangement came to.
func SumOf(a *fretboard.Arrangement, results []Result) PlayedSummary {
	sum := PlayedSummary{Tune: a.Tune.Title, Layer: a.Layer.String(), Passes: []PlayedPass{}}
	if len(results) > 0 {
		sum.Layer = results[len(results)-1].layer()
	}
	for _, r := range results {
		p := PlayedPass{Pass: r.Pass, Tempo: r.Tempo, LengthS: r.Length.Seconds(), Judged: r.Judged, Clean: r.Clean, Ramp: r.Ramp.String()}
		if r.Bar > 0 {
			p.Bar = &r.Bar
		}
		sum.Passes = append(sum.Passes, p)
	}
	return sum
}

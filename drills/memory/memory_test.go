package memory_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/memory"
)

// Source: the FSRS-6 formulas with their published default weights; values from
// the test of go-fsrs v4.0.0 and a run of it.
func TestMemoryModelCheckValues(t *testing.T) {
	s := memory.State{}
	day := memory.Day(20000)
	for i, gap := range []memory.Day{0, 0, 1, 3, 8, 21} {
		grade := memory.Good
		if i == 0 {
			grade = memory.Again
		}
		day += gap
		s = s.After(day, grade)
	}
	assert.InDelta(t, 53.6269, s.Stability, 5e-5)
	assert.InDelta(t, 6.3575, s.Difficulty, 5e-5)
	assert.Equal(t, 6, s.Asked)
	assert.Equal(t, 1, s.Missed)
	assert.Equal(t, day+54, s.Due())
}

func TestForgettingCurveCheckValues(t *testing.T) {
	s := memory.State{Stability: 10, Difficulty: 5, Last: 100, Asked: 1}
	assert.InDelta(t, 1, s.Recall(100), 1e-12)
	assert.InDelta(t, 0.9000, s.Recall(110), 5e-5)
	assert.InDelta(t, 0.8459, s.Recall(120), 5e-5)
	assert.InDelta(t, 0.6928, s.Recall(200), 5e-5)
}

func TestStateStaysInRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := memory.State{}
		day := memory.Day(rapid.IntRange(0, 30000).Draw(t, "day"))
		for range rapid.IntRange(1, 40).Draw(t, "answers") {
			day += memory.Day(rapid.IntRange(-3, 400).Draw(t, "gap"))
			s = s.After(day, memory.Grade(rapid.IntRange(1, 4).Draw(t, "grade")))
			require.Greater(t, s.Stability, 0.0)
			require.GreaterOrEqual(t, s.Difficulty, 1.0)
			require.LessOrEqual(t, s.Difficulty, 10.0)
			require.Greater(t, s.Due(), s.Last)
			require.LessOrEqual(t, s.Slow+s.Missed, s.Asked)
			require.GreaterOrEqual(t, s.Recall(s.Last), s.Recall(s.Last+1))
		}
	})
}

var (
	roots   = []string{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"}
	degrees = []string{"1", "b3", "3", "b5", "5", "6", "bb7", "b7", "7", "9", "#11", "b13"}
)

var (
	qualities = []string{"", "m7", "7b9", "7sus4(b9)", "(b5)", "maj13(b9)", "7no3", "6/9"}
	shapes    = []string{"x 0 1 0 1 x", "0 x -1 1 0 x", "0 x 1 1 0 x", "x x 0 0", "x 0 -12"}
)

func anyItem() *rapid.Generator[memory.Item] {
	return rapid.Custom(func(t *rapid.T) memory.Item {
		it := memory.Item{Kind: rapid.SampledFrom([]memory.Kind{
			memory.Find, memory.Name, memory.Spell, memory.Line, memory.Shape, memory.Build, memory.Same, memory.Near, memory.Hits, memory.Passage, "guess",
		}).Draw(t, "kind")}
		text := rapid.StringOf(rapid.SampledFrom([]rune("aB7:%/\n é2#"))).Draw
		of := func(name string, from []string) string { return rapid.SampledFrom(from).Draw(t, name) }
		str := rapid.IntRange(1, 8)
		switch it.Kind {
		case memory.Find, memory.Name:
			it.Quality, it.String = of("quality", qualities), str.Draw(t, "string")
			fallthrough
		case memory.Spell:
			it.Degree, it.Root = of("degree", degrees), of("root", roots)
		case memory.Shape:
			it.About = of("about", []string{memory.AboutInversion, memory.AboutDegrees, memory.AboutUse})
			it.Quality, it.Bass, it.Frets = of("quality", qualities), of("bass", degrees), of("frets", shapes)
		case memory.Near:
			it.About = of("about", []string{memory.AboutNearest, memory.AboutVoices})
			it.Quality, it.Bass, it.Frets = of("quality", qualities), of("bass", degrees), of("frets", shapes)
			it.To, it.Next = of("to", qualities), of("next", degrees)
		case memory.Same:
			it.Quality, it.Bass, it.Root, it.Frets = of("quality", qualities), of("bass", degrees), of("root", roots), of("frets", shapes)
		case memory.Build:
			it.Quality, it.Bass, it.Root, it.String = of("quality", qualities), of("bass", degrees), of("root", roots), str.Draw(t, "string")
		case memory.Hits:
			it.Rhythm = of("rhythm", []string{"4/4 1", "4/4 1 2+ | 4+", "3/4 1+ 3", "5/4 5+"})
			it.About, it.Tempo = of("feel", []string{memory.FeelStraight, memory.FeelSwung}), of("tempo", []string{"80", "160", "300"})
		case "guess":
			it.Raw = ":" + text(t, "raw")
		default:
			it.Tune, it.Section, it.Layer = text(t, "tune"), text(t, "section"), text(t, "layer")
		}
		return it
	})
}

func TestKeyReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it := anyItem().Draw(t, "item")
		back, err := memory.ParseKey(it.Key())
		require.NoError(t, err)
		require.Equal(t, it, back)
		require.Equal(t, it.Kind != "guess", it.Known())
		_ = it.Text()
	})
	for _, key := range []string{"", "find", ":m7", ":"} {
		_, err := memory.ParseKey(key)
		assert.ErrorContains(t, err, "found no kind", key)
	}
}

// Any text with a kind is kept as it is, whatever follows; only what the program
// would write itself is known.
func TestUnknownItemsAreKept(t *testing.T) {
	for _, key := range []string{
		"newkind:some:facts", "newkind:", "new kind:%3a:\n", "find:m7:b7:D", "find:m7:b7:D:x", "find:m7:b7:D:09", "find:m7:b7:D:05", "find:m7:b7:D:5:6",
		"find:-7:b7:D:5", "find:m7:♭7:D:5", "find:m7:b7:h:5", "find:m7:b7:D%3a:5", "spell:b7:D:extra", "shape:root-position maj7 shape:itself",
		"shape:use:7:3:x 1 0 1 1 x", "shape:use:7:3:x 0 +1", "shape:use:7:3:0", "shape:meaning:7:3:0 0", "build:7:3:G:string 6", "find:",
		"hits:4/4 2+ 1:swung:80", "hits:4/4 1 2+:loose:80", "hits:4/4 1 2+:swung:080", "hits:4/4 1 2+:swung:9", "hits:4/4 5:swung:80", "hits:4/5 1:swung:80", "hits:4/4 1, 2+:swung:80", "hits:4/4 :swung:80",
	} {
		it, err := memory.ParseKey(key)
		require.NoError(t, err, key)
		assert.False(t, it.Known(), key)
		assert.Equal(t, key, it.Key())
		assert.Empty(t, it.Group())
		assert.Equal(t, key, it.Text())
		assert.False(t, memory.Alike(it, memory.Item{Kind: it.Kind}))
	}
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.StringMatching(`[a-z]+:[ -~\n]*`).Draw(t, "key")
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		require.Equal(t, key, it.Key())
	})
}

func TestKeyIsTheSameForEver(t *testing.T) {
	assert.Equal(t, "find:m7:b7:D:5", memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5}.Key())
	assert.Equal(t, "spell:b7:D", memory.Item{Kind: memory.Spell, Degree: "b7", Root: "D"}.Key())
	assert.Equal(t, "passage:lantern-street:A:bass", memory.Item{Kind: memory.Passage, Tune: "lantern-street", Section: "A", Layer: "bass"}.Key())
}

func TestAlike(t *testing.T) {
	item := func(key string) memory.Item {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		require.True(t, it.Known(), key)
		return it
	}
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"find:m7:b7:D:5", "find:m7:b7:D:6", true},   // another string
		{"find:m7:b7:D:5", "find:7:b7:D:5", true},    // another quality
		{"find:m7:b7:D:5", "name:m7:b7:D:5", true},   // found and named
		{"find:m7:b7:D:5", "find:m7:b7:Db:5", true},  // a root of the same letter
		{"find:m7:b3:D:5", "find:7:3:D:5", true},     // the same number
		{"find:m7b5:b5:D:5", "find:7:#11:D:5", true}, // the same sound
		{"find:m7:b7:D:5", "spell:b7:D", true},
		{"find:m7:b7:D:5", "find:m7:b7:G:5", false},                               // another root
		{"find:m7:b7:D:5", "find:m7:5:D:5", false},                                // another degree
		{"find:m7:b7:D:5", "find:m7:b7:D:5", false},                               // itself
		{"shape:use:7:3:x 0 1 0 1 x", "shape:inversion:m7b5:1:x 0 1 0 1 x", true}, // the same shape
		{"shape:use:7:3:x 0 1 0 1 x", "shape:use:7:3:0 x 0 1 -2 x", true},         // the same degree of the same quality
		{"build:7:3:G:6", "same:7:3:C:x 0 1 0 1 x", true},
		{"build:7:3:G:6", "build:7:b7:G:6", false},
		{"build:7:3:G:6", "build:maj7:3:G:6", false},
		{"build:7:3:G:6", "find:7:3:G:6", false},
		{"passage:t:A:bass", "passage:t:A:bass+halves", true},
		{"passage:t:A:bass", "passage:t:B:bass", false},
		{"find:m7:b7:D:5", "passage:t:B:bass", false},
		{"find:7b9:b9:D:5", "spell:b2:D", true},
		{"find:7:9:D:5", "spell:2:D", true},
		{"find:m11:11:D:5", "spell:4:D", true},
		{"find:7:#9:D:5", "spell:b3:D", true},
		{"find:7:13:D:5", "spell:6:D", true},
		{"find:dim7:bb7:D:5", "find:6:6:D:5", true},
		{"find:7b13:b13:D:5", "find:aug:#5:D:5", true},
		{"find:7:13:D:5", "spell:b7:D", false},
		{"line:t::", "passage:t::", false},
	} {
		assert.Equal(t, c.want, memory.Alike(item(c.a), item(c.b)), "%s and %s", c.a, c.b)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyItem().Draw(t, "a"), anyItem().Draw(t, "b")
		require.Equal(t, memory.Alike(a, b), memory.Alike(b, a))
		require.False(t, memory.Alike(a, a))
	})
}

func TestPaceJudgesByThePlayersOwnTimes(t *testing.T) {
	second := time.Second
	// Nothing known: the first guess for typing, 4 s with a spread of 0.5.
	p := memory.Pace{Way: memory.Typed}
	assert.Equal(t, memory.Sure, p.Verdict(true, 6*second))
	assert.Equal(t, memory.Slow, p.Verdict(true, 7*second))
	assert.InDelta(t, 4*math.Exp(0.5), p.SlowAfter().Seconds(), 0.001)
	assert.Equal(t, memory.Missed, p.Verdict(false, second))
	assert.Equal(t, memory.Again, p.Grade(memory.Missed, second))
	assert.Equal(t, memory.Hard, p.Grade(memory.Slow, 7*second))
	assert.Equal(t, memory.Good, p.Grade(memory.Sure, 4*second))
	assert.Equal(t, memory.Easy, p.Grade(memory.Sure, 2*second))

	// A player who takes about 1 s: 2 s is slow now.
	for _, ms := range []int{800, 900, 1000, 1100, 1250, 900, 1000, 1100, 1000} {
		p = p.With(memory.Sure, time.Duration(ms)*time.Millisecond)
	}
	assert.Equal(t, second, p.Median())
	assert.Equal(t, memory.Slow, p.Verdict(true, 2*second))
	assert.Equal(t, memory.Easy, p.Grade(memory.Sure, 500*time.Millisecond))
	assert.Equal(t, memory.Sure, p.Verdict(true, p.SlowAfter()-time.Millisecond), "the bound that is told")
	assert.Equal(t, memory.Slow, p.Verdict(true, p.SlowAfter()+time.Millisecond))
	assert.Equal(t, p, p.With(memory.Missed, 30*second), "a missed answer is no measure of pace")

	for range 2 * memory.PaceTimes {
		p = p.With(memory.Slow, 3*second)
	}
	assert.Len(t, p.Times, memory.PaceTimes)
	assert.Equal(t, 3*second, p.Median())
	assert.Zero(t, p.Spread())
}

func TestDay(t *testing.T) {
	east := time.FixedZone("east", 9*3600)
	late := time.Date(2026, 11, 25, 23, 30, 0, 0, east)
	assert.Equal(t, "2026-11-25", memory.DayOf(late).String(), "the player's own calendar day")
	d, err := memory.ParseDay("2026-11-25")
	require.NoError(t, err)
	assert.Equal(t, memory.DayOf(late), d)
	_, err = memory.ParseDay("25.11.2026")
	assert.ErrorContains(t, err, `"25.11.2026"`)

	rapid.Check(t, func(t *rapid.T) {
		d := memory.Day(rapid.IntRange(-20000, 60000).Draw(t, "day"))
		back, err := memory.ParseDay(d.String())
		require.NoError(t, err)
		require.Equal(t, d, back)
		require.Equal(t, d, memory.DayOf(d.Date()))
		zone := time.FixedZone("", rapid.IntRange(-12, 14).Draw(t, "hours")*3600)
		y, m, n := d.Date().Date()
		require.Equal(t, d, memory.DayOf(time.Date(y, m, n, rapid.IntRange(0, 23).Draw(t, "hour"), 59, 59, 0, zone)))
	})
}

// Ways and verdicts read back as they are written; a history is kept by them.
func TestNamesReadBack(t *testing.T) {
	for i, name := range []string{"typed", "cursor", "midi", "microphone", "lines", "own"} {
		assert.Equal(t, name, memory.Way(i).String())
		w, err := memory.ParseWay(name)
		require.NoError(t, err)
		assert.Equal(t, memory.Way(i), w)
	}
	for i, name := range []string{"sure", "slow", "missed"} {
		assert.Equal(t, name, memory.Verdict(i).String())
		v, err := memory.ParseVerdict(name)
		require.NoError(t, err)
		assert.Equal(t, memory.Verdict(i), v)
	}
	_, err := memory.ParseWay("Typed")
	assert.EqualError(t, err, `"Typed" is no way of answering; write typed, cursor, midi, microphone, lines or own`)
	_, err = memory.ParseVerdict("")
	assert.EqualError(t, err, `"" is no verdict; write sure, slow or missed`)
	assert.Equal(t, "way 9", memory.Way(9).String())
	assert.Equal(t, "verdict 9", memory.Verdict(9).String())
}

// What an item is called, and with which others it is timed.
func TestTextAndGroup(t *testing.T) {
	for key, want := range map[string][2]string{
		"find:m7:b7:D:5":               {"b7 of Dm7 on string 5", "find b7"},
		"name::3:F#:6":                 {"3 of F# on string 6", "name 3"},
		"spell:b7:D":                   {"b7 of D", "spell b7"},
		"shape:use:m7b5:1:x 0 1 0 1 x": {"an m7b5 chord with its 1 lowest, on strings 5 4 3 2: what it makes of the chord", "shape use"},
		"shape:inversion:3 1 5":        {"3 1 5 of a chord: which inversion", "shape inversion"},
		"build:m7:b3:D:6":              {"Dm7 on string 6 with its b3 in the bass", "build b3"},
		"same:7:3:G:x 0 1 0 1 x":       {"G7 with its 3 lowest, on strings 5 4 3 2: its other name", "same 3"},
		"line:short-ladder::":          {"short-ladder", "line short-ladder"},
		"passage:short-ladder:A:bass":  {"short-ladder section A, bass", "passage short-ladder"},
		"passage:short-ladder::bass":   {"short-ladder, bass", "passage short-ladder"},
	} {
		it, err := memory.ParseKey(key)
		require.NoError(t, err, key)
		assert.Equal(t, want[0], it.Text())
		assert.Equal(t, want[1], it.Group())
	}
}

// The robust spread of five times, worked out by hand: of ln 1, 2, 4, 8, 16 s the
// middle is ln 4 and the median distance from it ln 2.
func TestMedianAndSpread(t *testing.T) {
	p := memory.Pace{}
	assert.Zero(t, p.Median())
	assert.Zero(t, p.Spread())
	p = p.With(memory.Sure, 16*time.Second)
	assert.Equal(t, 16*time.Second, p.Median())
	assert.Zero(t, p.Spread(), "one time has no spread")
	for _, seconds := range []int{1, 8, 2, 4} {
		p = p.With(memory.Slow, time.Duration(seconds)*time.Second)
	}
	assert.Equal(t, 4*time.Second, p.Median())
	assert.InDelta(t, 1.4826*math.Log(2), p.Spread(), 1e-9)
	p = p.With(memory.Sure, time.Hour).With(memory.Sure, 0)
	assert.Equal(t, []time.Duration{time.Minute, 100 * time.Millisecond}, p.Times[5:], "a walk to the door is no measure of pace")
	assert.Equal(t, 4*time.Second, p.Median())
	q := memory.Pace{Times: []time.Duration{2 * time.Second, 4 * time.Second}}
	assert.Equal(t, 3*time.Second, q.Median(), "between the two in the middle")
}

// An answer that is dated before the latest one counts as of the same day.
func TestAnswersOutOfOrder(t *testing.T) {
	s := memory.State{}.After(100, memory.Good).After(110, memory.Good)
	late := s.After(103, memory.Hard)
	assert.Equal(t, memory.Day(100), late.First)
	assert.Equal(t, memory.Day(110), late.Last)
	assert.Equal(t, s.After(110, memory.Hard), late)
	assert.Equal(t, 1, late.Slow)
}

func TestKnownDaysAhead(t *testing.T) {
	s := memory.State{Stability: 10, Difficulty: 5, Last: 100, Asked: 1}
	assert.True(t, s.Known(100, 9, 0.9))
	assert.False(t, s.Known(100, 11, 0.9))
	assert.True(t, s.Known(105, 6, 0.85))
	assert.False(t, memory.State{}.Known(100, 0, 0), "what was never asked is not known")
	assert.Zero(t, memory.State{}.Recall(100))
}

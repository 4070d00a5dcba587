package settings

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
)

// bound is the rule a setting has to keep: want says what would do in the place of
// a value that is not good.
type bound struct {
	key   string
	want  func(*Settings) string
	good  func(*Settings) bool
	reset func(*Settings)
	// words are those that would do, nil where they are not numbered; step is how far a
	// number is from the next one on a page, 0 for 1.
	words []string
	step  float64
}

// by gives a number's bound its step.
func (b bound) by(step float64) bound {
	b.step = step
	return b
}

// field is a setting's value in s, by its key.
func field(s *Settings, key string) reflect.Value {
	v := reflect.ValueOf(s).Elem()
	for name := range strings.SplitSeq(key, ".") {
		for i := range v.NumField() {
			if v.Type().Field(i).Tag.Get("toml") == name {
				v = v.Field(i)
				break
			}
		}
	}
	return v
}

// rule is the bound of a setting that does not depend on others and falls back to
// its default.
func rule(key, want string, good func(reflect.Value) bool) bound {
	return bound{
		key: key, want: func(*Settings) string { return want },
		good:  func(s *Settings) bool { return good(field(s, key)) },
		reset: func(s *Settings) { d := Default(); field(s, key).Set(field(&d, key)) },
	}
}

func number(key string, low, high float64, unit string) bound {
	return rule(key, fmt.Sprintf("a number from %g to %g %s", low, high, unit), func(v reflect.Value) bool {
		return v.Float() >= low && v.Float() <= high
	})
}

func whole(key string, low, high int64) bound {
	return rule(key, fmt.Sprintf("a whole number from %d to %d", low, high), func(v reflect.Value) bool {
		return v.Int() >= low && v.Int() <= high
	})
}

func word(key string, words []string) bound {
	b := rule(key, `one of "`+strings.Join(words, `", "`)+`"`, func(v reflect.Value) bool {
		return slices.Contains(words, v.String())
	})
	b.words = words
	return b
}

func yesOrNo(key string) bound {
	return rule(key, "true or false", func(reflect.Value) bool { return true })
}

var bounds = []bound{
	rule("neck.tuning", `four to eight open strings from C0 to C6, low to high: ["E2", "A2", "D3", "G3", "B3", "E4"]`, func(v reflect.Value) bool {
		_, err := readTuning(v.Interface().([]string))
		return err == nil
	}),
	number("neck.scale_mm", 300, 900, "millimeters"),
	whole("neck.highest_fret", 5, 24),
	{
		key: "neck.bass_strings",
		want: func(s *Settings) string {
			n := len(s.Neck.Tuning)
			return fmt.Sprintf("strings from 2 to %d, such as [%d, %d]", n, n, n-1)
		},
		good: func(s *Settings) bool {
			for _, n := range s.Neck.BassStrings {
				if n < 2 || n > len(s.Neck.Tuning) {
					return false
				}
			}
			return len(s.Neck.BassStrings) > 0
		},
		reset: twoLowest,
	},
	yesOrNo("neck.left_handed"),
	number("neck.reach_mm", 60, 200, "millimeters"),
	word("neck.school", strings.Split(fretboard.SchoolNames(), ", ")),
	word("look.background", Backgrounds),
	yesOrNo("look.ascii"),
	yesOrNo("look.mouse"),
	number("sound.click_db", -60, 0, "decibels"),
	number("sound.bass_db", -60, 0, "decibels"),
	number("sound.shapes_db", -60, 0, "decibels"),
	word("sound.background", playing.BackgroundNames),
	word("sound.click", playing.ClickNames),
	whole("sound.count_in", 1, 2),
	word("sound.swing", Swings),
	yesOrNo("sound.ghost_notes"),
	yesOrNo("sound.verdicts"),
	rule("listen.port", `a port's name or a path in quotation marks, or "" for the one used last`, func(reflect.Value) bool { return true }),
	number("listen.window_ms", 10, 200, "milliseconds").by(5),
	number("listen.delay_ms", -500, 500, "milliseconds").by(5),
	word("play.rest", Rests),
	rule("play.answer", `"pedal", a note such as "E2", or "" for neither`, func(v reflect.Value) bool {
		_, err := harmony.ParsePitch(v.String())
		return err == nil || v.String() == AnswerPedal || v.String() == ""
	}),
	rule("play.answer_port", `a MIDI port's name or a path in quotation marks, or "" for the input that is listened to`, func(reflect.Value) bool { return true }),
	whole("today.minutes", 5, 180).by(5),
	number("drill.go_on_s", 0, 10, "seconds").by(0.5),
	whole("today.break_minutes", 10, 60).by(5),
}

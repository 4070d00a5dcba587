package settings

import (
	"fmt"
	"slices"
	"strings"
)

// bound is the rule a setting has to keep: check returns what was found and
// what would do, want empty where the value is good.
type bound struct {
	key   string
	check func(*Settings) (found, want string)
	reset func(*Settings)
}

func number(key string, low, high float64, unit string, field func(*Settings) *float64) bound {
	return bound{key, func(s *Settings) (string, string) {
		if v := *field(s); v < low || v > high || v != v {
			return fmt.Sprintf("%g", v), fmt.Sprintf("write a number from %g to %g%s", low, high, unit)
		}
		return "", ""
	}, func(s *Settings) { d := Default(); *field(s) = *field(&d) }}
}

func whole(key string, low, high int, field func(*Settings) *int) bound {
	return bound{key, func(s *Settings) (string, string) {
		if v := *field(s); v < low || v > high {
			return fmt.Sprint(v), fmt.Sprintf("write a whole number from %d to %d", low, high)
		}
		return "", ""
	}, func(s *Settings) { d := Default(); *field(s) = *field(&d) }}
}

func word(key string, words []string, field func(*Settings) *string) bound {
	return bound{key, func(s *Settings) (string, string) {
		if v := *field(s); !slices.Contains(words, v) {
			return fmt.Sprintf("%q", v), "write one of " + strings.Join(words, ", ")
		}
		return "", ""
	}, func(s *Settings) { d := Default(); *field(s) = *field(&d) }}
}

var bounds = []bound{
	{"neck.tuning", func(s *Settings) (string, string) {
		if _, err := readTuning(s.Neck.Tuning); err != nil {
			return fmt.Sprintf("%q", s.Neck.Tuning), `name four to eight open strings, low to high: ["E2", "A2", "D3", "G3", "B3", "E4"]`
		}
		return "", ""
	}, func(s *Settings) { s.Neck.Tuning = Default().Neck.Tuning }},
	number("neck.scale_mm", 300, 900, " millimetres", func(s *Settings) *float64 { return &s.Neck.ScaleMM }),
	whole("neck.highest_fret", 5, 24, func(s *Settings) *int { return &s.Neck.HighestFret }),
	{"neck.bass_strings", func(s *Settings) (string, string) {
		for _, n := range s.Neck.BassStrings {
			if n < 2 || n > len(s.Neck.Tuning) {
				return fmt.Sprint(s.Neck.BassStrings), fmt.Sprintf("name strings from 2 to %d, such as [6, 5]", len(s.Neck.Tuning))
			}
		}
		if len(s.Neck.BassStrings) == 0 {
			return "empty", "name at least one string, such as [6, 5]"
		}
		return "", ""
	}, func(s *Settings) { n := len(s.Neck.Tuning); s.Neck.BassStrings = []int{n, n - 1} }},
	number("neck.reach_mm", 60, 200, " millimetres", func(s *Settings) *float64 { return &s.Neck.ReachMM }),
	word("look.background", Backgrounds, func(s *Settings) *string { return &s.Look.Background }),
	number("sound.click_db", -60, 0, " decibels", func(s *Settings) *float64 { return &s.Sound.ClickDB }),
	number("sound.bass_db", -60, 0, " decibels", func(s *Settings) *float64 { return &s.Sound.BassDB }),
	number("sound.shapes_db", -60, 0, " decibels", func(s *Settings) *float64 { return &s.Sound.ShapesDB }),
	word("sound.click", Clicks, func(s *Settings) *string { return &s.Sound.Click }),
	whole("sound.count_in", 1, 2, func(s *Settings) *int { return &s.Sound.CountIn }),
	word("sound.swing", Swings, func(s *Settings) *string { return &s.Sound.Swing }),
	number("listen.window_ms", 10, 200, " milliseconds", func(s *Settings) *float64 { return &s.Listen.WindowMS }),
	number("listen.delay_ms", -500, 500, " milliseconds", func(s *Settings) *float64 { return &s.Listen.DelayMS }),
	whole("today.minutes", 5, 180, func(s *Settings) *int { return &s.Today.Minutes }),
	whole("today.break_minutes", 10, 60, func(s *Settings) *int { return &s.Today.BreakMinutes }),
}

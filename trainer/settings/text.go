package settings

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// comments say what each setting is, its unit and its bounds.
var comments = map[string]string{
	"neck":                "The instrument and the hand.",
	"neck.tuning":         "Open strings, low to high; four to eight of them.",
	"neck.scale_mm":       "Scale length in millimeters, 300 to 900.",
	"neck.highest_fret":   "The last fret that is asked for, 5 to 24.",
	"neck.bass_strings":   "The strings that the bass line may take.",
	"neck.left_handed":    "Draw the neck as a left-handed player sees it.",
	"neck.reach_mm":       "How far your first and fourth finger reach along the neck, in millimeters, 60 to 200. Measure yours, and stop where it strains.",
	"neck.school":         "The shapes that arrangements are made of: mixed, shells (two notes over the bass), three-note, drop2 or drop3.",
	"look":                "The screens.",
	"look.background":     "auto, dark or light.",
	"look.ascii":          "Draw with plain characters only, for terminals where lines or accidentals break; the Linux console and VT terminals are drawn so anyway.",
	"look.mouse":          "The mouse may point and click. Without it your terminal selects text as elsewhere; with it, most do while shift is held.",
	"sound":               "The click and the model. Keep it quiet enough to talk over.",
	"sound.click_db":      "Level of the click, or of the hi-hat or brushes in its place, in decibels, -60 to 0.",
	"sound.bass_db":       "Level of the bass line in decibels, -60 to 0.",
	"sound.shapes_db":     "Level of the shapes in decibels, -60 to 0.",
	"sound.background":    "What keeps time: click, hi-hat (on two and four), brushes, or auto, which is the hi-hat above 100 BPM.",
	"sound.click":         "Beats that click: all, 2and4, first, or alternate (every other bar is silent).",
	"sound.count_in":      "Bars counted in, 1 or 2.",
	"sound.swing":         "tune keeps to the ratio that a tune names; falling swings less the faster it gets (Friberg and Sundström 2002).",
	"sound.ghost_notes":   "Play dead notes between the notes of the line.",
	"sound.verdicts":      "A soft sound for a right answer and for a wrong one, before the answer is heard; H on a drill turns it off and on.",
	"listen":              "Listening to what you play.",
	"listen.port":         "The input to open; empty for the one used last.",
	"listen.window_ms":    "How far from its place a note may start and still count, in milliseconds, 10 to 200.",
	"listen.delay_ms":     "Time that an input takes, taken off each note, in milliseconds, -500 to 500. An input that `footfall listen --calibrate` has measured keeps its own.",
	"play":                "Playing along.",
	"play.rest":           "A bar of rest after each pass, in which the next one is counted in and you may say whether the last was clean: unheard (where nobody listens), always or never.",
	"play.answer":         "How to say it without a hand: pedal, or a note such as E2 that you play in the rest. Once is clean, twice is not; empty for neither.",
	"play.answer_port":    "The MIDI input of the pedal or the note, where it is another than the one that is listened to.",
	"today":               "The day's practice.",
	"drill":               "Questions.",
	"drill.go_on_s":       "After how many seconds a right answer goes on by itself, 0 to 10; at 0 it waits for enter.",
	"today.minutes":       "Minutes of a day's plan, 5 to 180.",
	"today.break_minutes": "Minutes of playing after which a break is proposed, 10 to 60.",
}

// Text writes settings as a TOML file in which each setting has a comment and
// its default. Reading it back gives the same settings.
func Text(s Settings) string {
	var b strings.Builder
	b.WriteString("# Settings of Footfall. A line that is left out keeps its default.\n")
	def := reflect.ValueOf(Default())
	v := reflect.ValueOf(s)
	for i := range v.NumField() {
		table := v.Type().Field(i).Tag.Get("toml")
		fmt.Fprintf(&b, "\n# %s\n[%s]\n", comments[table], table)
		for k := range v.Field(i).NumField() {
			name := v.Field(i).Type().Field(k).Tag.Get("toml")
			fmt.Fprintf(&b, "# %s Default %s.\n%s = %s\n", comments[table+"."+name],
				literal(def.Field(i).Field(k).Interface()), name, literal(v.Field(i).Field(k).Interface()))
		}
	}
	return b.String()
}

// literal writes a value as TOML does.
func literal(v any) string {
	text, err := toml.Marshal(map[string]any{"v": v})
	if err != nil {
		return fmt.Sprint(v)
	}
	return strings.TrimSpace(strings.TrimPrefix(string(text), "v = "))
}

package inputs

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
)

// leastBelow is the rows that what arrives, or the calibration, has at least.
const leastBelow = 11

// View draws the page: the inputs above, below what arrives or the calibration.
func (p *Page) View() string {
	lines := p.list()
	lines = append(lines, "")
	if p.learned != nil {
		lines = append(lines, p.calibrating()...)
	} else {
		lines = append(lines, p.monitor(p.height-2-len(lines))...)
	}
	if p.fault != "" {
		for len(lines) < p.height-2 {
			lines = append(lines, "")
		}
		lines = append(lines[:max(0, min(len(lines), p.height-2))], strings.Split(p.theme.Warn.Render(p.wrapped(p.fault)), "\n")...)
	}
	return strings.Join(lines, "\n")
}

func (p *Page) wrapped(text string) string {
	return "  " + strings.ReplaceAll(page.Wrapped(p.theme.Words(text), max(20, p.width-4)), "\n", "\n  ")
}

// The columns of the list after the name.
const listColumns = "  %-10s  %-11s  %-10s  %s"

// name fits an input's name into a width: of a path the end, of others both ends.
func (p *Page) name(name string, width int) string {
	cut, dots := max(0, lipgloss.Width(name)-width), p.theme.Words("…")
	switch {
	case cut == 0:
	case strings.ContainsRune(name, filepath.Separator) && !isMicrophone(name):
		name = ansi.TruncateLeft(name, cut+lipgloss.Width(dots), dots)
	default:
		// Names of one kind begin alike, and are told apart by their ends.
		end := (width - lipgloss.Width(dots)) / 2
		name = ansi.Truncate(name, width-end, dots) + ansi.TruncateLeft(name, lipgloss.Width(name)-end, "")
	}
	return name + strings.Repeat(" ", max(0, width-lipgloss.Width(name)))
}

// list draws the inputs, as many as there is room for around the one pointed at.
func (p *Page) list() []string {
	width := min(60, p.width-52)
	lines := []string{p.theme.Dim.Render(fmt.Sprintf("    %-*s"+listColumns, width, "input", "", "strings", "delay", "spread"))}
	switch {
	case !p.looked:
		return append(lines, p.theme.Dim.Render("    Looking for inputs."))
	case len(p.known) == 0:
		return append(lines, "    No MIDI input or microphone is there. Plug one in: it shows here.")
	}
	at, room := p.at(), p.listRoom()
	p.top = max(0, min(p.top, at, len(p.known)-room))
	p.top = max(p.top, at-room+1)
	current := p.gear.Current()
	for i := p.top; i < min(len(p.known), p.top+room); i++ {
		k := p.known[i]
		pointer, style := " ", p.theme.Text
		if i == at {
			pointer, style = p.theme.Glyphs.Pointer, p.theme.Selected
		}
		state := map[bool]string{true: "there", false: "missing"}[k.There]
		if k.Name == current {
			state = map[bool]string{true: "in use", false: "waited for"}[k.There]
		}
		delay, spread := "not known", ""
		if d := k.Calibration.Delay; d.Taps > 0 {
			delay, spread, _ = strings.Cut(d.String(), ", spread ")
		}
		row := fmt.Sprintf(listColumns, state, stringsOf(k), delay, spread)
		lines = append(lines, page.Clickable(page.Row, i, style.Render("  "+pointer+" "+p.name(k.Name, width)+strings.TrimRight(row, " "))))
	}
	if room < len(p.known) {
		lines = append(lines, p.theme.Dim.Render(fmt.Sprintf("    %d of %d", at+1, len(p.known))))
	}
	if s := p.gear.Setting; s != "" && current != s {
		lines = append(lines, p.theme.Dim.Render(p.wrapped("The settings name "+s+": the next start listens to that again.")))
	}
	return lines
}

// listRoom is how many inputs show at once.
func (p *Page) listRoom() int { return max(2, p.height-leastBelow-2) }

// stringsOf says what is known of a port's strings.
func stringsOf(k listen.Known) string {
	c := k.Calibration
	switch {
	case isMicrophone(k.Name) && c.Room != nil:
		return "room known"
	case isMicrophone(k.Name):
		return "cannot tell"
	case len(c.Strings) == 0:
		return "not known"
	case !c.StringsKnown():
		return "one channel"
	}
	return fmt.Sprintf("%d known", len(c.Strings))
}

// monitor draws what arrives, the newest first.
func (p *Page) monitor(room int) []string {
	if p.ear == nil {
		return strings.Split(p.theme.Dim.Render(p.wrapped(p.pickSays())), "\n")
	}
	lines := []string{p.theme.Strong.Render("  What arrives"), "  " + p.theme.Words(p.state())}
	if p.meter != nil {
		lines = append(lines, "  "+p.theme.Words(p.meter.Line(p.openStrings())))
	}
	if p.calibration().Delay.Taps == 0 {
		lines = append(lines, p.theme.Dim.Render("  Not calibrated. Drills and play-alongs listen to it as it is."))
	}
	lines = append(lines, "", p.theme.Dim.Render(fmt.Sprintf("  %11s  %-5s %-10s %-8s %s", "time", "note", "string", "channel", "velocity")))
	for i := len(p.notes) - 1; i >= 0 && len(lines) < room; i-- {
		n := p.notes[i]
		line := fmt.Sprintf("  %9.3f s  %-5s %-10s %-8s %.0f", n.At.Seconds(), harmony.FlatName(n.MIDI), orElse(n.String, "not known"), orElse(n.Channel, "none"), 127*n.Velocity)
		if n.Unsure() {
			line += "  unsure"
		}
		lines = append(lines, line)
	}
	return lines
}

// pickSays tells what there is to do while nothing is listened to.
func (p *Page) pickSays() string {
	if len(p.known) == 0 {
		return "Without one you type your answers and say yourself how a pass went: all else works."
	}
	return "None is listened to: pick one with enter."
}

// orElse writes a number from 1, or a word where there is none.
func orElse(n int, none string) string {
	if n == 0 {
		return none
	}
	return fmt.Sprint(n)
}

// state is the line on how the input is doing.
func (p *Page) state() string {
	s := p.status
	line := s.Line
	if s.Broken > 0 {
		line += fmt.Sprintf(", %d broken bytes passed over", s.Broken)
	}
	if s.Dropped > 0 {
		line += fmt.Sprintf(", %d notes lost", s.Dropped)
	}
	return line
}

// calibrating draws what is asked, the click, and what was learned.
func (p *Page) calibrating() []string {
	l, t := p.learned, p.theme
	lines := []string{t.Strong.Render("  Calibration of " + l.port), "  " + t.Words(p.state()), ""}
	if l.done {
		for _, line := range l.report {
			lines = append(lines, p.wrapped(line))
		}
		return append(lines, p.silence()...)
	}
	if l.Learning == nil {
		return append(lines, p.asksRoom()...)
	}
	ask := l.Ask()
	if taken, all := l.Steps(); all > 1 {
		ask += t.Dim.Render(fmt.Sprintf("   %d of %d", taken+1, all))
	}
	lines = append(lines, "  "+ask)
	beats := 4 * p.gear.Bars
	switch {
	case l.stop == nil:
		lines = append(lines, t.Dim.Render(fmt.Sprintf("  The click counts four, then goes on for %d beats: play on each of them.", beats)))
	case l.beat > beforeClick:
		lines = append(lines, "  "+p.click(beats))
	default:
		lines = append(lines, "")
	}
	if l.says != "" {
		lines = append(lines, t.Warn.Render(p.wrapped(l.says+". Once more.")))
	}
	return append(lines, p.silence()...)
}

// asksRoom asks for what a microphone learns its room from.
func (p *Page) asksRoom() []string {
	lines := []string{p.wrapped(fmt.Sprintf("Be still for a second, then play any notes on the low strings, about %.0f seconds in all.", hearing.SetupSeconds))}
	if p.learned.stop != nil {
		lines = append(lines, p.theme.Strong.Render("  Listening to the room."))
	}
	if p.learned.says != "" {
		lines = append(lines, p.theme.Warn.Render(p.wrapped(p.learned.says+". Once more.")))
	}
	return lines
}

// silence says that the click could not be heard.
func (p *Page) silence() []string {
	if p.learned.silent == "" {
		return nil
	}
	return []string{p.theme.Dim.Render(p.wrapped(p.learned.silent + " The delay found holds your eye's and the screen's as well."))}
}

// click draws the beats of a round, the present one in brackets.
func (p *Page) click(beats int) string {
	line := p.theme.Dim.Render("count-in")
	first, last := -3, 0
	if p.learned.beat > 0 {
		first, last, line = 1, beats, p.theme.Dim.Render("play    ")
	}
	for beat := first; beat <= last; beat++ {
		number := beat
		if beat <= 0 {
			number += 4
		}
		if beat == p.learned.beat {
			line += p.theme.Cursor.Render(fmt.Sprintf("[%d]", number))
		} else {
			line += fmt.Sprintf(" %d ", number)
		}
	}
	return line
}

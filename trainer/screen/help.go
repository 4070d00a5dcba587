package screen

import (
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// help is what stands in the place of a page.
type help uint8

const (
	noHelp help = iota
	// keysHelp lists the keys of the page, and what the signs on screens mean where
	// there is room for both; signsHelp the signs alone.
	keysHelp
	signsHelp
)

// after is what a key leads to: from the keys the key of help goes on to the signs, where
// they are not there yet, and any other goes back to the page.
func (h help) after(k tea.KeyMsg, both bool) help {
	switch {
	case !page.Help.Is(k):
		return noHelp
	case h == noHelp:
		return keysHelp
	case h == keysHelp && !both:
		return signsHelp
	}
	return noHelp
}

// bindings are all keys of a page and of the frame.
func (f *frame) bindings(p page.Page) []key.Binding {
	bindings := append([]key.Binding{}, p.Keys()...)
	if more, ok := p.(page.Furnished); ok {
		bindings = append(bindings, more.MoreKeys()...)
	}
	bindings = append(bindings, f.own()...)
	if !f.typing() {
		bindings = append(bindings, page.Abort.Key(f.theme, abortSays))
	}
	bindings = append(bindings, page.Stop.Key(f.theme, "to the shell; fg goes on"))
	return slices.DeleteFunc(bindings, func(b key.Binding) bool { return !b.Enabled() })
}

// helpPage lists the keys of a page and of the frame, in two columns where one does not
// hold them, and what signs mean.
func (f *frame) helpPage(p page.Page) string {
	if f.help == signsHelp {
		return strings.Join(f.signs(), "\n")
	}
	lines := f.keyLines(p)
	if f.helpFits(p) {
		lines = append(append(lines, ""), f.signs()...)
	}
	return strings.Join(lines, "\n")
}

// helpFits reports whether the keys of a page and the signs have room below each other.
func (f *frame) helpFits(p page.Page) bool {
	return len(f.keyLines(p))+1+len(f.signs()) <= f.height-chrome
}

func (f *frame) keyLines(p page.Page) []string {
	bindings := f.bindings(p)
	lines := []string{"  " + f.theme.Strong.Render("Keys of this page"), ""}
	room := f.height - chrome - len(lines)
	if !f.lettered(p) {
		bindings = append(bindings, page.Text("h l k j", "left, right, up, down, like the arrows"))
	}
	if len(bindings) <= room {
		return append(lines, f.keyColumn(bindings)...)
	}
	room = (len(bindings) + 1) / 2
	left, right := f.keyColumn(bindings[:room]), f.keyColumn(bindings[room:])
	width := lipgloss.Width(strings.Join(left, "\n"))
	for i, l := range right {
		left[i] += strings.Repeat(" ", width-lipgloss.Width(left[i])+2) + l
	}
	return append(lines, left...)
}

// keyColumn lists keys with what they do.
func (f *frame) keyColumn(bindings []key.Binding) []string {
	width := 0
	for _, b := range bindings {
		width = max(width, lipgloss.Width(b.Help().Key))
	}
	var lines []string
	for _, b := range bindings {
		k := b.Help().Key
		lines = append(lines, "  "+f.theme.Key.Render(k)+strings.Repeat(" ", width-lipgloss.Width(k)+3)+b.Help().Desc)
	}
	return lines
}

// helpFoot says what the keys do in help.
func (f *frame) helpFoot() string {
	foot := "any key: back to the page"
	if f.help == keysHelp && !f.helpFits(f.top()) {
		return "  " + page.KeySpot([]string{"?"}, f.theme.Key.Render("?")+" "+f.theme.Dim.Render("signs")) + "   " + f.theme.Dim.Render("any other key: back to the page")
	}
	return "  " + f.theme.Dim.Render(foot)
}

// sign is a sign and what it means.
type sign struct{ sign, says string }

// signs says what the signs on screens mean, two or more beside each other.
func (f *frame) signs() []string {
	t := f.theme
	g := t.Glyphs
	tone := func(tone theme.Tone, degree string) string { return t.Tone(tone).Render(degree) }
	shade := func(learning, firm int) string {
		return strings.Repeat(neck.Shade(t, progress.Kept{Learning: learning, Firm: firm}), 2)
	}
	parts := []struct {
		title string
		signs []sign
	}{
		{"On the neck", []sign{
			{neck.Sign(t, fretboard.Right, "5"), "now; right"}, {neck.Sign(t, fretboard.Next, "5"), "next"}, {neck.Sign(t, fretboard.Coming, "5"), "in the shape to come"}, {neck.Sign(t, fretboard.Staying, "5"), "now, and in it too"}, {neck.Sign(t, fretboard.Wrong, "5"), "wrong"},
			{neck.Sign(t, fretboard.Asked, "?"), "asked"}, {t.Cursor.Render("[5]"), "where you point"}, {"x", "string not played"},
			{tone(theme.Root, "1"), "root"}, {tone(theme.Third, "b3"), "third"}, {tone(theme.Fifth, "5"), "fifth"}, {tone(theme.Seventh, "b7"), "seventh or 6"},
			{tone(theme.Tension, "9"), "tension"}, {shade(1, 0), "learning"}, {shade(1, 1), "some of it firm"}, {shade(0, 1), "firm"},
		}},
		{"In a chart", []sign{
			{g.Rise + "5 " + g.Fall + "5", "up to the next 5, down to it"}, {g.Struck, "a hit on its beat or after it"}, {g.Struck + g.Ringing, "a hit that is held"},
			{g.Struck + g.Pointer, "a push into the next beat"}, {g.Beat, "a beat without a hit"},
		}},
		{"In what was heard", []sign{
			{"+40", "right, 40 ms late"}, {"-40", "right, 40 ms early"}, {"--", "missed"}, {"bad", "wrong note"}, {"oct", "wrong octave"}, {"str", "wrong string"},
			{"??", "unsure"}, {"..", "not heard"},
		}},
	}
	var lines []string
	for _, part := range parts {
		lines = append(lines, "  "+t.Dim.Render(part.title))
		wide, long := 0, 0
		for _, s := range part.signs {
			wide, long = max(wide, lipgloss.Width(s.sign)), max(long, lipgloss.Width(s.says))
		}
		cell := wide + long + 5
		count := max(1, (f.width-2)/cell)
		for i, s := range part.signs {
			if i%count == 0 {
				lines = append(lines, "  ")
			}
			text := s.sign + strings.Repeat(" ", wide-lipgloss.Width(s.sign)+2) + s.says
			lines[len(lines)-1] += text + strings.Repeat(" ", cell-lipgloss.Width(text))
		}
		lines = append(lines, "")
	}
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return lines[:len(lines)-1]
}

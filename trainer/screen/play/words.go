package play

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"footfall/drills/take"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
	"footfall/trainer/sound"
)

// heading says where the music is, and between two passes asks about the last one.
func (p *Page) heading(now sound.Now, at shown) string {
	if p.shown.resting || now.State == sound.Finished {
		if says := p.question(); says != "" {
			return "  " + p.theme.Strong.Render(says) + p.theme.Dim.Render(p.nextIn(now))
		}
	}
	where := p.barsWords(p.along.Bars())
	if p.chosen() {
		where += fmt.Sprintf("   at bar %d", p.bar)
	}
	switch now.State {
	case sound.Counting:
		return "  " + p.theme.Strong.Render(where) + p.theme.Dim.Render("   count-in ") + p.counted(now)
	case sound.Playing:
		where += fmt.Sprintf("   pass %d", max(1, p.along.Passes()))
		if n := p.along.Asked(); n > 0 {
			where += fmt.Sprintf(" of %d", n)
		}
		if n := p.along.Extra(); n > 0 {
			where += fmt.Sprintf("   %d too many", n)
		}
	case sound.Paused:
		where += "   paused; space goes on"
	case sound.Finished:
		where += "   done; space plays again"
	default:
		where += "   space starts"
	}
	line := "  " + p.theme.Strong.Render(where)
	// Bars are narrow here, and may have cut their words.
	if words := p.form[p.place(at).Bar-1].Bar.Words; words != "" && p.width < paneWidth {
		line += p.theme.Words("   " + words)
	}
	return line
}

// nextIn counts the beats before the next pass, "" where none is counted.
func (p *Page) nextIn(now sound.Now) string {
	if now.State != sound.Counting {
		return ""
	}
	return "   the next in" + p.counted(now)
}

// counted writes the beats of the bar that is counted, "" where none is.
func (p *Page) counted(now sound.Now) string {
	if now.State != sound.Counting {
		return ""
	}
	var beats strings.Builder
	for b := 1; b <= now.Bar.Meter.Beats(); b++ {
		if b == now.Beat {
			fmt.Fprintf(&beats, "[%d]", b)
		} else {
			fmt.Fprintf(&beats, " %d ", b)
		}
	}
	return " " + beats.String()
}

// barsWords names bars: a section by its name, others by their numbers.
func (p *Page) barsWords(b take.Bars) string {
	text := fmt.Sprintf("bars %d to %d", b.First, b.Last)
	if b.First == b.Last {
		text = fmt.Sprintf("bar %d", b.First)
	}
	for _, part := range p.along.Parts() {
		if part.Bars == b && part.Name != "" {
			return fmt.Sprintf("%s, %s", tune.SectionTitle(part.Name), text)
		}
	}
	return text
}

// question asks for a word on the last pass; "" where it has one.
func (p *Page) question() string {
	unsaid, results := p.along.Unsaid(), p.along.Results()
	if len(unsaid) == 0 || unsaid[len(unsaid)-1] != len(results) {
		return ""
	}
	last := results[len(results)-1]
	return fmt.Sprintf("Pass %d, %s at %g BPM. Clean? y/n", last.Pass, p.barsWords(last.Bars), last.Tempo)
}

// foot is the last lines of the page: what is heard and the tempos to come, how the last
// pass went, and what went wrong.
func (p *Page) foot(at shown) []string {
	lines := []string{p.plan(), p.lastTake()}
	if p.height < neckHeight {
		lines = lines[1:]
	}
	if at.notice != "" {
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(at.notice), max(10, p.width-4)), "\n") {
			lines = append(lines, p.theme.Warn.Render("  "+l))
		}
	}
	return append([]string{""}, lines...)
}

// plan says the tempos to come, what is heard and what keeps time.
func (p *Page) plan() string {
	s := p.along
	var tempos []string
	shown := s.Progress().Plan(max(3, min(8, p.width/20)))
	for _, t := range shown {
		if text := fmt.Sprintf("%g", t); len(tempos) == 0 || tempos[len(tempos)-1] != text {
			tempos = append(tempos, text)
		}
	}
	if target := p.ramp().Target; len(tempos) > 1 && shown[len(shown)-1] > shown[0] && slices.Max(shown) < target {
		tempos = append(tempos[:max(2, len(tempos)-2)], p.theme.Words("…"), fmt.Sprintf("%g", target))
	}
	dot := " " + p.theme.Glyphs.Dot + " "
	text := ""
	if s.Rests() {
		text = ", a rest between"
	}
	return "  " + p.theme.Dim.Render("tempo ") + strings.Join(tempos, " ") + p.theme.Dim.Render(text+dot+heardNames[heardOf(s.Mix())]+dot+p.timeBy())
}

// clickBeats names the beats that click.
var clickBeats = [...]string{playing.ClickAll: "all", playing.ClickTwoFour: "2 and 4", playing.ClickFirst: "the first beat", playing.ClickAlternate: "alternate bars"}

// timeBy says what keeps time at the tempo.
func (p *Page) timeBy() string {
	t := p.along.Time()
	now := t.In(harmony.Bar{Meter: p.form[0].Meter, Tempo: p.along.Tempo()})
	if now == playing.ClickSound {
		return "click on " + clickBeats[t.Click]
	}
	return now.String()
}

// lastTake says how the pass before went and which have no word yet; while the player
// walks freely, how the last bar did.
func (p *Page) lastTake() string {
	if p.several > 0 {
		return p.theme.Strong.Render(fmt.Sprintf("  The last %s: y clean, n not clean", passes(p.several)))
	}
	if p.named() > 0 {
		return p.theme.Strong.Render("  " + p.whichBar())
	}
	if w, ok := p.along.LastBar(); ok {
		return p.theme.Words(fmt.Sprintf("  bar %d %s: %s", w.Bar, w.Verdict, w.Says))
	}
	if line := p.delayed(); line != "" {
		return line
	}
	rs := p.along.Results()
	if len(rs) == 0 {
		says := "  Stop at pain, numbness or tingling. Keep it quiet enough to talk over."
		if lipgloss.Width(says) > p.width {
			says = "  Stop if anything hurts. Keep it quiet enough to talk over."
		}
		return p.theme.Dim.Render(says)
	}
	if n := len(p.along.Unsaid()); n > 1 {
		return p.theme.Dim.Render(fmt.Sprintf("  Not judged yet: %s. y or n for the last one, %d y for the last %d", passes(n), min(n, 9), min(n, 9)))
	}
	r := rs[len(rs)-1]
	line := "  pass " + passLine(&r)
	// Why stands here where it fits; the review of the take has it too.
	if why := line + ": " + r.Why; r.Why != "" && lipgloss.Width(why) <= p.width {
		line = why
	}
	return p.theme.Words(line)
}

// delayed offers to keep the delay of an input that the last pass was late by, "" where it
// was not.
func (p *Page) delayed() string {
	late, ok := p.along.Delay()
	if !ok {
		return ""
	}
	return p.theme.Warn.Render(p.theme.Words("  " + lead(late) + " throughout: is that the input's delay? enter keeps it"))
}

// passLine says a pass in a line: its number, tempo and length, and how it went.
func passLine(r *session.Result) string {
	line := fmt.Sprintf("%d at %g, %s", r.Pass, r.Tempo, minutes(r.Length))
	if r.Score != nil {
		line += fmt.Sprintf(": %d of %d right", r.Score.Matched, r.Score.Expected)
		if r.Score.Matched > 0 {
			line += fmt.Sprintf(", %s, spread %.0f ms", lead(r.Score.Lead()), ms(r.Score.Timing.Spread))
		}
	}
	if r.Free != nil {
		line += fmt.Sprintf(": %d of %d bars clear", r.Free.Clear, len(r.Free.Bars))
	}
	return line + ", " + verdictWords(r)
}

// whichBar asks for the bar that held a pass back.
func (p *Page) whichBar() string {
	if bar := p.along.Results()[p.naming-1].Bar; bar > 0 {
		return fmt.Sprintf("Pass %d not clean: bar %d", p.naming, bar)
	}
	return fmt.Sprintf("Pass %d not clean. Which bar held it back? Type its number, or go on", p.naming)
}

// verdictWords says the word on a pass.
func verdictWords(r *session.Result) string {
	switch {
	case r.Judged && r.Bar > 0:
		return fmt.Sprintf("not clean, bar %d", r.Bar)
	case !r.Judged:
		return "not judged yet"
	case r.Clean:
		return "clean"
	}
	return "not clean"
}

func passes(n int) string {
	if n == 1 {
		return "pass"
	}
	return fmt.Sprintf("%d passes", n)
}

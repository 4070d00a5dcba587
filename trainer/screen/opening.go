package screen

import (
	"context"
	"errors"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/guard"
	"footfall/trainer/screen/page"
)

// A page is made in a goroutine of its own, since that may read the history and open
// inputs. openTime is how long it may take: longer than any one of these, so that a page
// that does without what does not answer still opens. After slowTime the player is told.
const (
	openTime = guard.AnswerTime + 500*time.Millisecond
	slowTime = 300 * time.Millisecond
)

// opening is a page that is being made.
type opening struct {
	id page.ID
	// early are the keys pressed meanwhile, which are for the page.
	early []tea.KeyMsg
	// giveUp lets go what comes of it.
	giveUp context.CancelFunc
}

// opened is a page that was made, slow one that takes its time.
type (
	opened struct {
		of   *opening
		page page.Page
		err  error
	}
	slow struct{ of *opening }
)

// open shows a page, and makes it where it is not kept.
func (f *frame) open(id page.ID) tea.Cmd {
	if f.pages[id] != nil {
		f.stack = append(f.stack, id)
		return nil
	}
	if f.opening != nil {
		f.opening.giveUp()
	}
	ctx, cancel := context.WithTimeout(context.Background(), openTime)
	o := &opening{id: id, giveUp: cancel}
	f.opening = o
	services := f.services // those of the settings may come in the meantime
	return func() tea.Msg {
		defer cancel()
		told := time.AfterFunc(slowTime, func() { services.Guard.Send(slow{o}) })
		defer told.Stop()
		p, err := guard.Await(ctx, func() (page.Page, error) { return services.page(id) }, finish)
		if err == nil && ctx.Err() != nil { // made as its time was over, or it was given up
			finish(p)
			err = ctx.Err()
		}
		if errors.Is(err, context.DeadlineExceeded) {
			err = errors.New("what this page needs does not answer: look after the disk of your data folder and your inputs, and try again")
		}
		return opened{o, p, err}
	}
}

// arrive puts a page that was made on top, and hands it the keys pressed meanwhile.
// One that nobody waits for any more is left at once.
func (f *frame) arrive(m opened) tea.Cmd {
	if f.opening != m.of || f.ended {
		if m.err == nil {
			guard.Go(func() { finish(m.page) })
		}
		return nil
	}
	f.opening = nil
	if m.err != nil {
		f.said = m.err.Error()
		return nil
	}
	if f.said == takesAWhile(m.of.id) {
		f.said = ""
	}
	f.pages[m.of.id] = m.page
	f.stack = append(f.stack, m.of.id)
	f.size(m.page)
	cmds := []tea.Cmd{m.page.Init()}
	for _, k := range m.of.early {
		cmds = append(cmds, f.key(k))
		cmds = append(cmds, f.moves()...)
	}
	return tea.Sequence(cmds...)
}

func takesAWhile(id page.ID) string { return "Opening " + id.Kind + " takes a while; esc gives it up." }

// waiting takes a key while a page is being made: esc gives it up.
func (f *frame) waiting(msg tea.KeyMsg) tea.Cmd {
	switch {
	case page.Abort.Is(msg), page.Quit.Is(msg):
		return f.quit()
	case page.Esc.Is(msg):
		f.opening.giveUp()
		f.opening, f.said = nil, ""
	default:
		f.opening.early = append(f.opening.early, msg)
	}
	return nil
}

// finish leaves a page that nobody has seen.
func finish(p page.Page) {
	if cmd := leave(p); cmd != nil {
		cmd()
	}
}

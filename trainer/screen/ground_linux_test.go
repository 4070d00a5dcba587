package screen

import (
	"bytes"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/screen/background"
	"footfall/trainer/screen/page"
)

// A terminal that answers that it is white is drawn on in the colours for white, and its
// answer is no key.
func TestTheTerminalIsAskedForItsBackground(t *testing.T) {
	tty, terminal, err := pty.Open()
	require.NoError(t, err)
	require.NoError(t, pty.Setsize(tty, &pty.Winsize{Rows: 24, Cols: 80}))
	defer tty.Close()
	defer terminal.Close()
	s := services(t, termenv.TrueColor, &ledger{})
	s.AskBackground = true
	s.Theme.SetDark(false)
	light := s.Theme.Heading.Render("Footfall")
	s.Theme.SetDark(true)
	dark := s.Theme.Heading.Render("Footfall")
	require.NotEqual(t, dark, light)
	ended := make(chan error, 1)
	go func() { ended <- Run(terminal, terminal, s) }()
	out := make(chan []byte, 1)
	go func() {
		for {
			buf := make([]byte, 1<<16)
			n, err := tty.Read(buf)
			if err != nil {
				return
			}
			out <- buf[:n]
		}
	}()
	var all []byte
	await := func(text string) {
		t.Helper()
		for patience := time.After(time.Minute); !bytes.Contains(all, []byte(text)); {
			select {
			case more := <-out:
				all = append(all, more...)
			case <-patience:
				t.Fatalf("never %q in %q", text, all)
			}
		}
	}
	await(background.Question)
	await(dark)
	_, err = tty.WriteString("\x1b]11;rgb:ffff/ffff/ffff\x1b\\")
	require.NoError(t, err)
	await(light)
	s.Guard.Send(page.Say{Line: "still here"})
	await("still here")
	_, err = tty.WriteString("q")
	require.NoError(t, err)
	for {
		select {
		case <-out:
			continue
		case err := <-ended:
			assert.NoError(t, err)
			return
		}
	}
}

package screen

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/creack/pty"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"footfall/trainer/guard"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
)

// broken is a page that breaks in the way that its Arg says: as it is made ready
// and drawn, or when the key b is pressed.
type broken struct {
	how  string
	draw bool
}

func (b *broken) Init() tea.Cmd {
	switch b.how {
	case "Init":
		panic("a string snapped")
	case "Init's command":
		return func() tea.Msg { panic("a string snapped") }
	}
	return nil
}

func (b *broken) Update(msg tea.Msg) tea.Cmd {
	if k, ok := msg.(tea.KeyMsg); !ok || k.String() != "b" {
		return nil
	}
	snap := func() tea.Msg { panic("a string snapped") }
	switch b.how {
	case "Update":
		panic("a string snapped")
	case "View":
		b.draw = true
	case "a command":
		return snap
	case "a command of a sequence of a batch":
		return tea.Batch(tea.Sequence(func() tea.Msg { return nil }, snap), nil)
	case "a goroutine":
		guard.Go(func() { panic("a string snapped") })
	case "an input":
		n := 0
		in, err := listen.Open(filepath.Join(os.TempDir(), "there is no such port"), listen.Options{Now: func() time.Duration {
			if n++; n > 1 {
				panic("a string snapped")
			}
			return 0
		}})
		if err != nil {
			return nil
		}
		_ = in // nobody gets to close it
	}
	return nil
}

func (b *broken) View() string {
	if b.draw {
		panic("a string snapped")
	}
	return "about to break"
}

func (b *broken) Leave() tea.Cmd {
	if b.how == "Leave" {
		panic("a string snapped")
	}
	return nil
}

func (b *broken) SetSize(int, int)    {}
func (b *broken) Title() string       { return b.how }
func (b *broken) Status() string      { return "" }
func (b *broken) Keys() []key.Binding { return nil }

// saver is a page that writes a file when it is left.
type saver struct{ broken }

func (s *saver) Leave() tea.Cmd {
	return func() tea.Msg {
		_ = os.WriteFile(s.how, []byte("kept"), 0o600)
		return nil
	}
}

// shown is this test's binary run again on a terminal of its own, as the program
// of a test: see TestShown.
type shown struct {
	tty *os.File
	cmd *exec.Cmd
	out chan []byte
}

func show(t *testing.T, how string, over ...string) *shown {
	t.Helper()
	exe, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(exe, "-test.run", "^TestShown$", "-test.v")
	cmd.Env = append(os.Environ(), "FOOTFALL_TEST_SHOWN="+how+"\n"+strings.Join(over, "\n"), "TERM=xterm-256color")
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	require.NoError(t, err)
	s := &shown{tty: tty, cmd: cmd, out: make(chan []byte, 1<<16)}
	go func() {
		defer close(s.out)
		for {
			b := make([]byte, 1<<16)
			n, err := tty.Read(b)
			s.out <- b[:n]
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
		tty.Close()
	})
	return s
}

// until reads what is drawn up to a text, or up to the program's end where there
// is none.
func (s *shown) until(t *testing.T, text string) string {
	t.Helper()
	var all bytes.Buffer
	deadline := time.After(60 * time.Second)
	for {
		select {
		case b, ok := <-s.out:
			all.Write(b)
			if !ok {
				require.Empty(t, text, "it ended: %s", &all)
				return all.String()
			}
		case <-deadline:
			t.Fatalf("waiting for %q in %s", text, &all)
		}
		if text != "" && strings.Contains(all.String(), text) {
			return all.String()
		}
	}
}

// restored checks that the terminal is as a shell wants it.
func (s *shown) restored(t *testing.T, written string) {
	t.Helper()
	for on, off := range map[string]string{"\x1b[?1049h": "\x1b[?1049l", "\x1b[?25l": "\x1b[?25h", "\x1b[?2004h": "\x1b[?2004l"} {
		assert.Less(t, strings.LastIndex(written, on), strings.LastIndex(written, off), "%q", off)
	}
	state, err := unix.IoctlGetTermios(int(s.tty.Fd()), unix.TCGETS)
	require.NoError(t, err)
	assert.Equal(t, uint32(unix.ICANON|unix.ECHO|unix.ISIG), state.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG))
}

// TestShown is the program of the tests below.
func TestShown(t *testing.T) {
	how, over, on := strings.Cut(os.Getenv("FOOTFALL_TEST_SHOWN"), "\n")
	if !on {
		t.Skip("run by other tests, on a terminal")
	}
	makers["broken"] = func(_ *Services, id page.ID) (page.Page, error) { return &broken{how: id.Arg}, nil }
	makers["saver"] = func(_ *Services, id page.ID) (page.Page, error) { return &saver{broken{how: id.Arg}}, nil }
	s, _ := room(t, termenv.ANSI256)
	var pages []page.ID
	for id := range strings.SplitSeq(over, "\n") {
		kind, arg, _ := strings.Cut(id, "=")
		switch kind {
		case "edit":
			pages = append(pages, EditOf(arg))
		case "":
		default:
			pages = append(pages, page.ID{Kind: kind, Arg: arg})
		}
	}
	if how != "" {
		pages = append(pages, page.ID{Kind: "broken", Arg: how})
	}
	err := Run(os.Stdin, os.Stdout, s, pages...)
	fmt.Printf("Run says: %v\n", err)
}

// Wherever it breaks, the terminal is put back, the pages are left so that they
// keep what they hold, and the error says what broke and where.
func TestWhereverItBreaks(t *testing.T) {
	for _, how := range []string{
		"Init", "Init's command", "Update", "View", "a command", "a command of a sequence of a batch", "a goroutine", "an input", "Leave",
	} {
		t.Run(how, func(t *testing.T) {
			t.Parallel()
			saved := filepath.Join(t.TempDir(), "saved")
			s := show(t, how, "saver="+saved)
			written := ""
			if !strings.HasPrefix(how, "Init") {
				written = s.until(t, "about to break")
				_, err := io.WriteString(s.tty, map[bool]string{false: "b", true: "q"}[how == "Leave"])
				require.NoError(t, err)
			}
			written += s.until(t, "")
			require.NoError(t, s.cmd.Wait())
			s.restored(t, written)
			_, after, _ := strings.Cut(written, "\x1b[?1049l")
			assert.Contains(t, after, "Run says: something in the program broke: a string snapped")
			assert.Contains(t, after, "broken_linux_test.go", "the stack says where")
			assert.FileExists(t, saved)
		})
	}
}

// A thousand sizes in a second or so, 1×1 among them, and then a terminal of a
// good size: the program draws on, and in that size.
func TestResizeStorm(t *testing.T) {
	s := show(t, "")
	s.until(t, "add a tune")
	chance := rand.New(rand.NewPCG(5, 5))
	for i := range 1000 {
		size := &pty.Winsize{Rows: uint16(1 + chance.IntN(80)), Cols: uint16(1 + chance.IntN(250))}
		if i%50 == 0 {
			size = &pty.Winsize{Rows: 1, Cols: 1}
		}
		require.NoError(t, pty.Setsize(s.tty, size))
		if i%100 == 0 { // keys come through
			_, err := io.WriteString(s.tty, "\x1b[B")
			require.NoError(t, err)
		}
	}
	// A key that comes before the last size was seen would be for a terminal too small.
	require.NoError(t, pty.Setsize(s.tty, &pty.Winsize{Rows: 19, Cols: 59}))
	s.until(t, "This terminal has 59 and 19")
	require.NoError(t, pty.Setsize(s.tty, &pty.Winsize{Rows: 24, Cols: 80}))
	s.until(t, "add a tune")
	_, err := io.WriteString(s.tty, "?")
	require.NoError(t, err)
	s.until(t, "Keys of this page")
	_, err = io.WriteString(s.tty, "xq")
	require.NoError(t, err)
	written := s.until(t, "")
	require.NoError(t, s.cmd.Wait())
	s.restored(t, written)
	assert.Contains(t, written, "Run says: <nil>")
}

// A megabyte pasted on a terminal is taken or left, and the next key is heeded.
func TestAMegabytePasted(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	paste := []byte("\x1b[200~" + strings.Repeat("Dm7 5 b3 q?\r\n", 80_000) + "\x1b[201~")
	for _, over := range []string{"", "edit=gate", "drill=spell triads"} {
		t.Run(over, func(t *testing.T) {
			s := show(t, "", over)
			s.until(t, "Footfall")
			_, err := s.tty.Write(paste)
			require.NoError(t, err)
			_, err = io.WriteString(s.tty, "\x03")
			require.NoError(t, err)
			written := s.until(t, "")
			require.NoError(t, s.cmd.Wait())
			s.restored(t, written)
			assert.Contains(t, written, "Run says: <nil>")
		})
	}
}

package command

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/content/exchange"
	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/gate"
	"footfall/trainer/session"
)

func newTuneAddCommand(p *program) *cobra.Command {
	i := &importing{program: p}
	cmd := &cobra.Command{
		Use:   "add FILE | -",
		Short: "Take a score or a typed chart into your own tunes, ready to play",
		Long: `Take a file of another program, or a typed chart, into your own tunes: a MusicXML
or MIDI file, chords typed in any of the usual ways, or a tune's text. With - the
chart is typed or pasted in.

What the file leaves open is asked, in at most five questions; enter takes what
is proposed, and flags answer beforehand. Where nobody is at the keyboard, what is
proposed holds. A tune without a bass line gets one.`,
		Example: "  footfall tune add chart.musicxml\n  footfall tune add bass.mid --chords tin-kettle-blues\n" +
			"  echo 'Dm7 G7 Cmaj7 %' | footfall tune add - --title Turn --tempo 120",
		Args: cobra.ExactArgs(1),
		RunE: i.add,
	}
	i.flags(cmd)
	return cmd
}

// added is a tune that was taken in, as scripts read it.
type added struct {
	tuneSummary
	Composed bool              `json:"composed"`
	Losses   []transcribe.Loss `json:"losses"`
}

func (i *importing) add(cmd *cobra.Command, args []string) error {
	asks := !i.json && isTerminal(cmd.InOrStdin())
	if asks && args[0] == "-" {
		fmt.Fprintln(cmd.ErrOrStderr(), "Type or paste the chart; ctrl+d on a line of its own ends it.")
	}
	data, err := readForeign(cmd, args[0])
	if err != nil {
		return err
	}
	o, err := i.options(cmd)
	if err != nil {
		return err
	}
	neck, _ := i.settings.Instrument()
	name := args[0]
	if name == "-" {
		name = ""
	}
	a, err := session.Adds(data, name, o, neck, func(name string) (session.Tune, error) { return i.named(cmd, name) })
	if err != nil {
		return badInput(inFile(args[0], err))
	}
	err = i.ask(cmd, a, asks)
	if errors.Is(err, exchange.ErrNoChords) {
		err = noChords(err, data)
	}
	if err != nil {
		return badInput(inFile(args[0], err))
	}
	composed, err := a.Compose()
	if err != nil {
		i.warn(cmd, fmt.Sprintf("it gets no bass line: %v", err))
	}
	t, err := a.Save(i.book())
	if err != nil {
		return err
	}
	if i.json {
		return json.NewEncoder(cmd.OutOrStdout()).Encode(added{summary(t.Name, t.Tune, t.Path), composed, append([]transcribe.Loss{}, a.Losses...)})
	}
	line := "with its own line"
	if composed {
		line = "with a line made up for it"
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s, %s in %s, %s: saved in %s\nPlay it with: footfall play %s\n",
		t.Tune.Title, harmony.Counted(len(t.Tune.Unroll()), "bar"), t.Tune.Key, line, t.Path, t.Name)
	return nil
}

// ask tells what was left out and puts the questions, or takes what is proposed.
func (i *importing) ask(cmd *cobra.Command, a *session.Adding, asks bool) error {
	in, out := bufio.NewReader(cmd.InOrStdin()), cmd.ErrOrStderr()
	for told := false; ; {
		ask, more := a.Next()
		if a.Tune != nil && !told && !i.json && (asks || !more) {
			told = true
			i.tell(out, a, asks)
		}
		if !more {
			return nil
		}
		if !asks {
			if err := a.Proposed(); err != nil {
				return exchange.ErrNoChords
			}
			continue
		}
		if ask.Kind == session.AskBars {
			fmt.Fprintln(out, chordsOf(a.Tune))
		}
		fmt.Fprint(out, ask.Says)
		if ask.Default != "" {
			fmt.Fprintf(out, " [%s]", ask.Default)
		}
		fmt.Fprint(out, " ")
		answer, _, readErr := gate.Line(in)
		err := a.Answer(string(answer))
		switch {
		case err != nil && readErr != nil:
			return errors.Join(err, errors.New("nothing more was typed"))
		case err != nil:
			fmt.Fprintln(out, err)
		}
	}
}

// tell says what the file holds that the tune does not; what is asked about is
// left to its question.
func (i *importing) tell(out io.Writer, a *session.Adding, asks bool) {
	losses := slices.DeleteFunc(slices.Clone(a.Losses), func(l transcribe.Loss) bool { return l.Kind != "" && asks })
	for _, l := range transcribe.Gathered(losses, mostTold) {
		fmt.Fprintln(out, l)
	}
}

// chordsOf writes a tune's bars with their numbers, eight to a line at most.
func chordsOf(t *tune.Tune) string {
	var b strings.Builder
	for _, fb := range t.Unroll() {
		if fb.Number%4 == 1 {
			fmt.Fprintf(&b, "\n%4d", fb.Number)
		}
		fmt.Fprintf(&b, " | %s", tune.ChordCell(fb.Bar.Chords))
	}
	return b.String() + " |"
}

// named finds a tune by its name or title, among the player's own and those that
// come with the program.
func (p *program) named(cmd *cobra.Command, name string) (session.Tune, error) {
	t, err := readTune(cmd, name)
	if err != nil {
		return session.Tune{}, fmt.Errorf("there is no tune %q; there are %s", name, strings.Join(tuneNames(cmd), ", "))
	}
	_, builtIn := content.TuneText(name)
	out := session.Tune{Name: name, Tune: t}
	if !builtIn {
		out.Path = tunePath(cmd, name)
	}
	return out, nil
}

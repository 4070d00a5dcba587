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

	"footfall/trainer/gate"
	"footfall/trainer/plain"
)

// answer answers each of the texts, or of the lines of standard input where "-"
// is all there is: by lines of JSON, or by forPeople, which tells each fault on
// errs. describe returns false with a text that cannot be read; what names the
// texts.
func (p *program) answer(cmd *cobra.Command, texts []string, what string, describe func(string) (any, bool),
	forPeople func(texts []string, out, errs io.Writer) (faults int, err error)) error {
	out := bufio.NewWriterSize(cmd.OutOrStdout(), 1<<16)
	if p.plain && !p.json && !slices.Equal(texts, []string{"-"}) {
		out = bufio.NewWriterSize(&plain.Speaker{To: cmd.OutOrStdout()}, 1<<16)
	}
	faults, asked, err := 0, len(texts), error(nil)
	switch {
	case len(texts) == 1 && texts[0] == "-":
		faults, asked, err = answerLines(cmd.InOrStdin(), out, describe)
	case p.json:
		faults, err = answerJSON(texts, out, describe)
	default:
		faults, err = forPeople(texts, out, cmd.ErrOrStderr())
	}
	if err := errors.Join(err, out.Flush()); err != nil {
		return err
	}
	if faults > 0 {
		return badInput(fmt.Errorf("%d of %d %s could not be read", faults, asked, what))
	}
	return nil
}

// answerJSON writes a line for each text, the answer that describe has for it,
// and counts the faults: those for which it reports false.
func answerJSON(texts []string, out io.Writer, describe func(string) (any, bool)) (faults int, err error) {
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	for _, s := range texts {
		answer, ok := describe(s)
		if !ok {
			faults++
		}
		if err := enc.Encode(answer); err != nil {
			return faults, err
		}
	}
	return faults, nil
}

// longestLine is how much of a line of input is kept, in bytes; no symbol and no
// shape comes near it.
const longestLine = 4096

// answerLines answers each line of in by a line of JSON as soon as no more input
// waits, so that a program at the other end can ask one by one.
func answerLines(in io.Reader, out *bufio.Writer, describe func(string) (any, bool)) (faults, asked int, err error) {
	reader := bufio.NewReaderSize(in, longestLine)
	for {
		line, _, readErr := gate.Line(reader)
		text := string(line)
		if asked == 0 {
			text = strings.TrimPrefix(text, "\ufeff") // the mark some editors put before UTF-8
		}
		if readErr != nil && text == "" {
			break
		}
		asked++
		n, err := answerJSON([]string{text}, out, describe)
		faults += n
		if err == nil && reader.Buffered() == 0 {
			err = out.Flush()
		}
		if err != nil {
			return faults, asked, err
		}
		if readErr != nil {
			if readErr != io.EOF {
				return faults, asked, readErr
			}
			break
		}
	}
	return faults, asked, nil
}

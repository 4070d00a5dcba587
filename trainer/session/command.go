package session

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
)

// Command is what a player asks of a session.
type Command interface{ command() }

// The commands. After is how long the player took, which moves a clock that stands
// still.
type (
	// Start starts the step that waits.
	Start struct{}
	// Skip leaves the step out, or a pass unjudged.
	Skip struct{}
	// Next asks the next question of a session that waits after each verdict.
	Next struct{}
	// Answer answers the question.
	Answer struct {
		Reply drills.Reply
		After time.Duration
	}
	// Help shows the way, for a player who does not know: the question counts as
	// missed.
	Help struct{ After time.Duration }
	// Slip takes the last answer back, and its question is asked again.
	Slip struct{}
	// Leave ends the step.
	Leave struct{}
	// Clean is the player's own word on a pass, the one that waits where Pass is 0. Bar is the
	// bar that held one back that was not clean, counted through the form, 0 where none is named.
	Clean struct {
		Clean bool
		Pass  int
		Bar   int
	}
	// Quit ends the session.
	Quit struct{}
	// Unread is a line that is no command, with what would do.
	Unread struct{ Says string }
)

func (Start) command()  {}
func (Skip) command()   {}
func (Next) command()   {}
func (Answer) command() {}
func (Help) command()   {}
func (Slip) command()   {}
func (Leave) command()  {}
func (Clean) command()  {}
func (Quit) command()   {}
func (Unread) command() {}

// written are the commands as lines of JSON have them: the key that names each, and
// the keys that may stand beside it.
var written = []struct {
	key    string
	beside []string
}{
	{"start", nil}, {"skip", nil}, {"answer", []string{"after_s"}}, {"help", []string{"after_s"}}, {"slip", nil}, {"leave", nil},
	{"clean", []string{"pass", "bar"}}, {"quit", nil},
}

// mostAfter bounds how long an answer may have taken.
const mostAfter = 366 * 24 * time.Hour

// ReadCommand reads a line of JSON: {"start":true}, {"skip":true},
// {"answer":TEXT,"after_s":S}, {"help":true,"after_s":S}, {"slip":true},
// {"leave":true}, {"clean":BOOL,"pass":N,"bar":N} or {"quit":true}. Anything else is Unread.
// Answers are final.
func ReadCommand(line []byte) Command {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(line, &fields); err != nil || fields == nil {
		return unreadLine(line, "write a JSON object a line, such as {\"start\":true}")
	}
	for _, w := range written {
		if _, ok := fields[w.key]; !ok {
			continue
		}
		for key := range fields {
			if key != w.key && !slices.Contains(w.beside, key) {
				return unreadLine(line, fmt.Sprintf("%q does not go with %q", key, w.key))
			}
		}
		c, err := commandOf(w.key, fields)
		if err != nil {
			return unreadLine(line, err.Error())
		}
		return c
	}
	var keys []string
	for _, w := range written {
		keys = append(keys, w.key)
	}
	return unreadLine(line, "it is none of "+strings.Join(keys, ", "))
}

// unreadLine tells what is wrong with a line, of which it shows the beginning.
func unreadLine(line []byte, why string) Unread {
	shown := []rune(strings.ToValidUTF8(string(bytes.TrimSpace(line)), "?"))
	if len(shown) > 60 {
		shown = append(slices.Clone(shown[:60]), '…')
	}
	return Unread{fmt.Sprintf("%q changes nothing: %s", string(shown), why)}
}

func commandOf(key string, fields map[string]json.RawMessage) (Command, error) {
	after, err := afterOf(fields)
	if err != nil {
		return nil, err
	}
	var text *string
	var yes *bool
	if key == "answer" {
		err = json.Unmarshal(fields[key], &text)
	} else {
		err = json.Unmarshal(fields[key], &yes)
	}
	switch {
	case key == "answer" && (err != nil || text == nil):
		return nil, fmt.Errorf("the answer is a text")
	case key == "answer":
		r := drills.Typed(memory.Lines, *text)
		r.Final = true
		return Answer{r, after}, nil
	case err != nil || yes == nil:
		return nil, fmt.Errorf("%s is true or false", key)
	case key == "clean":
		c := Clean{Clean: *yes}
		for name, n := range map[string]*int{"pass": &c.Pass, "bar": &c.Bar} {
			if at, ok := fields[name]; ok {
				if err := json.Unmarshal(at, n); err != nil || *n < 1 {
					return nil, fmt.Errorf("%s is the number of a %s, from 1", name, name)
				}
			}
		}
		if c.Clean && c.Bar > 0 {
			return nil, fmt.Errorf("no bar held a clean pass back")
		}
		return c, nil
	case !*yes:
		return nil, fmt.Errorf("%s is true, or is left out", key)
	}
	switch key {
	case "start":
		return Start{}, nil
	case "skip":
		return Skip{}, nil
	case "help":
		return Help{after}, nil
	case "slip":
		return Slip{}, nil
	case "leave":
		return Leave{}, nil
	}
	return Quit{}, nil
}

func afterOf(fields map[string]json.RawMessage) (time.Duration, error) {
	at, ok := fields["after_s"]
	if !ok {
		return 0, nil
	}
	var seconds *float64
	if err := json.Unmarshal(at, &seconds); err != nil || seconds == nil || *seconds < 0 || *seconds > mostAfter.Seconds() {
		return 0, fmt.Errorf("after_s is a number of seconds, 0 to %.0f", mostAfter.Seconds())
	}
	return time.Duration(*seconds * float64(time.Second)), nil
}

package command

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFlagsComplete(t *testing.T) {
	out, _, code := runOn(nil, "__complete", "arrange", "key-ring", "--layer", "bass+")
	assert.Zero(t, code)
	assert.Contains(t, out, "bass+changes\nbass+halves\n")
	out, _, _ = runOn(nil, "__complete", "walk", "--style", "")
	assert.Contains(t, out, "two-feel\n")
	out, _, _ = runOn(nil, "__complete", "play", "key-ring", "--section", "")
	assert.Contains(t, out, "A\nB\nC\nD\n")
	out, _, _ = runOn(nil, "__complete", "drill", "--chords", "tr")
	assert.Contains(t, out, "triads\t")
}

func TestWhatDoesNotFitIsToldInWords(t *testing.T) {
	for line, want := range map[string]string{
		"bogus":                                `footfall: no command is called "bogus": use arrange, chord, completion,`,
		"log bogus":                            `footfall: no command is called "bogus": use backup, check, export, import`,
		"tune bogus":                           `footfall: no command is called "bogus": use check, export, format, import, list, show`,
		"settings bogus":                       `footfall: no command is called "bogus": use check`,
		"completion bogus":                     `footfall: no command is called "bogus": use bash, fish, powershell, zsh`,
		"help bogus":                           `footfall: no command is called "bogus": use arrange,`,
		"help tune bogus":                      `footfall: no command is called "bogus": use check, export,`,
		"chord":                                "footfall: an argument is missing; write: footfall chord SYMBOL… | - [flags]",
		"arrange":                              "footfall: an argument is missing; write: footfall arrange TUNE [flags]",
		"arrange key-ring in F":                `footfall: "in" is one argument too many; a name with spaces goes in quotation marks; write: footfall arrange TUNE [flags]`,
		"version 2":                            `footfall: "2" is one argument too many; write: footfall version [flags]`,
		"sheet key-ring -o x.mid --tempo fast": "footfall: --tempo fast: give a number",
		"drill --questions 2.5":                "footfall: --questions 2.5: give a whole number",
		"drill --seed -1":                      "footfall: --seed -1: give a whole number from 0",
		"arrange key-ring --json=perhaps":      "footfall: --json perhaps: give true or false",
		"play key-ring --silent --passes 0":    "footfall: --passes 0: give a number from 1",
		"play key-ring --silent --passes -1":   "footfall: --passes -1: give a number from 1",
	} {
		out, errs, code := runOn(strings.NewReader(""), strings.Fields(line)...)
		assert.Equal(t, ExitBadInput, code, line)
		assert.Empty(t, out, line)
		assert.Contains(t, errs, want, line)
	}
	for _, line := range []string{"log", "tune", "completion", "help", "help tune", "help tune list"} {
		out, errs, code := runOn(nil, strings.Fields(line)...)
		assert.Zero(t, code, line)
		assert.NotEmpty(t, out, line)
		assert.Empty(t, errs, line)
	}
}

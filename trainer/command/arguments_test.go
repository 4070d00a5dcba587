package command

import (
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
		"tune bogus":                           `footfall: no command is called "bogus": use add, check, export, format, import, list, show`,
		"settings bogus":                       `footfall: no command is called "bogus": use check`,
		"completion bogus":                     `footfall: no command is called "bogus": use bash, fish, powershell, zsh`,
		"help bogus":                           `footfall: no command is called "bogus": use arrange,`,
		"help tune bogus":                      `footfall: no command is called "bogus": use add, check, export,`,
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

// TestEveryCommandHelps holds each command's help to an example that its own flags
// read, in lines of at most 100 columns.
func TestEveryCommandHelps(t *testing.T) {
	root := New(nil)
	var each func(*cobra.Command)
	each = func(cmd *cobra.Command) {
		out, _, code := runOn(nil, append(strings.Fields(cmd.CommandPath())[1:], "--help")...)
		assert.Zero(t, code)
		for _, line := range strings.Split(out, "\n") {
			assert.LessOrEqual(t, len([]rune(line)), 100, "%s: %s", cmd.CommandPath(), line)
		}
		assert.NotEmpty(t, cmd.Example, "%s has no example", cmd.CommandPath())
		for _, line := range strings.Split(cmd.Example, "\n") {
			words := strings.Fields(line[max(0, strings.Index(line, "footfall")):])
			if i := slices.IndexFunc(words, func(w string) bool { return w == ">" || w == "|" }); i >= 0 {
				words = words[:i]
			}
			found, rest, err := New(nil).Find(words[1:])
			require.NoError(t, err, line)
			assert.NoError(t, found.ParseFlags(rest), line)
		}
		for _, sub := range cmd.Commands() {
			if sub.IsAvailableCommand() && sub.Name() != "completion" && sub.Name() != "help" {
				each(sub)
			}
		}
	}
	each(root)
}

// TestNothingEmptyIsTaken has empty values, which are refused by name.
func TestNothingEmptyIsTaken(t *testing.T) {
	for _, args := range [][]string{
		{"--data", "", "version"}, {"review", "--since="}, {"manual", ""}, {"play", "key-ring", "--layer", ""}, {"arrange", ""}, {"settings", "check", ""},
		{"drill", "find", "--tune", ""}, {"tune", "add", ""}, {"sheet", "key-ring", "-o", ""}, {"chord", "C", ""},
	} {
		_, errs, code := runOn(nil, args...)
		assert.Equal(t, ExitBadInput, code, args)
		assert.Contains(t, errs, "is empty", args)
	}
	_, errs, code := runOn(nil, "play", "key-ring", "--ramp", "60")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, "--tempo 60")
	out, _, code := runOn(nil, "--version")
	assert.Zero(t, code)
	assert.Contains(t, out, "footfall "+Version)
}

// TestValuesComplete asks the shells' own way for what a flag or an argument may be.
func TestValuesComplete(t *testing.T) {
	for line, want := range map[string]string{
		"play --layer":                  "bass+halves",
		"play --comping":                "reverse-charleston",
		"play key-ring --school":        "shells",
		"play --section":                "",
		"arrange --key":                 "F#m",
		"tune add --chords":             "tin-kettle-blues",
		"walk --style":                  "two-feel",
		"score key-ring --layer":        "bass+changes",
		"drill":                         "find",
		"drill find --tune":             "lantern-street",
		"sheet":                         "lantern-street",
		"score key-ring --comping":      "charleston",
		"play lantern-street --section": "B",
		"tune show":                     "key-ring",
		"listen --port":                 "",
		"today --lesson":                "",
	} {
		out, _, code := runOn(nil, append(append([]string{"__complete"}, strings.Fields(line)...), "")...)
		assert.Zero(t, code, line)
		assert.Contains(t, out, want, line)
	}
}

// TestTheCLocaleGetsASCII has text that is not, in a tune's title and its chords.
func TestTheCLocaleGetsASCII(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	out, _, code := runOn(strings.NewReader("tune  Grüne Brücke\nkey   Bb\nmeter 4/4\ntempo 100\n\n[A]\nchords | B♭Δ7 |\n"), "tune", "show", "-")
	require.Zero(t, code)
	assert.Regexp(t, `^[ -~\n]*$`, out)
	assert.Contains(t, out, "Grune Brucke")
	assert.Contains(t, out, "Bbmaj7")
	t.Setenv("LC_ALL", "de_DE.UTF-8")
	out, _, _ = runOn(strings.NewReader("tune  Grüne Brücke\nkey   Bb\nmeter 4/4\ntempo 100\n\n[A]\nchords | B♭Δ7 |\n"), "tune", "show", "-")
	assert.Contains(t, out, "Grüne Brücke")
}

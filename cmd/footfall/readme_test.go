package main

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
	"footfall/trainer/command"
)

func readme(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	return string(text)
}

// The tune that the README shows is one.
func TestTheTuneOfTheReadmeReads(t *testing.T) {
	for _, block := range regexp.MustCompile("(?s)```\n(.*?)```").FindAllStringSubmatch(readme(t), -1) {
		if !strings.HasPrefix(block[1], "tune ") {
			continue
		}
		tn, faults := tune.Check(block[1], 40, 60)
		require.Empty(t, faults)
		assert.Len(t, tn.Unroll(), 14)
		return
	}
	t.Fatal("the README shows no tune")
}

// Every command that the README names is there, and every command is named.
func TestTheReadmeNamesTheCommands(t *testing.T) {
	text := readme(t)
	for _, c := range command.New(nil).Commands() {
		if c.IsAvailableCommand() && c.Name() != "help" {
			assert.Regexp(t, "`(footfall )?"+c.Name()+"[` ]", text)
		}
	}
	for _, m := range regexp.MustCompile("`footfall ([a-z]+)").FindAllStringSubmatch(text, -1) {
		c, _, err := command.New(nil).Find([]string{m[1]})
		require.NoError(t, err)
		assert.Equal(t, m[1], c.Name())
	}
}

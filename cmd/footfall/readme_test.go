package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/lesson"
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
		tn, faults := tune.Check(block[1], tune.Within(40, 60))
		require.Empty(t, faults)
		assert.Len(t, tn.Unroll(), 14)
		return
	}
	t.Fatal("the README shows no tune")
}

// The lesson that the README shows is one.
func TestTheLessonOfTheReadmeReads(t *testing.T) {
	for _, block := range regexp.MustCompile("(?s)```\n(.*?)```").FindAllStringSubmatch(readme(t), -1) {
		if !strings.HasPrefix(block[1], "lesson ") {
			continue
		}
		l, faults := lesson.Read("chalk", block[1], content.Tune)
		require.Empty(t, faults)
		assert.Len(t, l.Tasks, 2)
		own, _, _ := lesson.OwnText(block[1])
		_, faults = tune.Check(own, tune.Within(40, 60))
		assert.Empty(t, faults)
		return
	}
	t.Fatal("the README shows no lesson")
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

// Every flag and every further command in the README's table belongs to the command
// of its row.
func TestTheReadmeTableHoldsWhatTheCommandsTake(t *testing.T) {
	rows := regexp.MustCompile("(?m)^\\| (`footfall[^|]*) \\|").FindAllStringSubmatch(readme(t), -1)
	require.Greater(t, len(rows), 15)
	for _, row := range rows {
		cells := regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(row[1], -1)
		words := strings.Fields(cells[0][1])[1:]
		c, left, err := command.New(nil).Find(words)
		require.NoError(t, err, row[1])
		for _, w := range left {
			flag := regexp.MustCompile(`^\[?(-{1,2})([a-z]+)`).FindStringSubmatch(w)
			switch {
			case flag == nil:
			case flag[1] == "-":
				assert.NotNil(t, c.Flags().ShorthandLookup(flag[2]), "%s: -%s", row[1], flag[2])
			default:
				assert.NotNil(t, c.Flags().Lookup(flag[2]), "%s: --%s", row[1], flag[2])
			}
		}
		for _, more := range cells[1:] {
			parent := c
			if !parent.HasSubCommands() && parent.HasParent() && parent.Parent().HasParent() {
				parent = parent.Parent()
			}
			found, _, err := parent.Find([]string{more[1]})
			if err != nil || found == parent {
				found, _, err = command.New(nil).Find([]string{more[1]})
			}
			require.NoError(t, err, more[1])
			assert.Equal(t, more[1], found.Name(), row[1])
		}
	}
	endings := regexp.MustCompile("`(\\.[a-z]+)`").FindAllStringSubmatch(readme(t), -1)
	for _, e := range endings {
		var errs strings.Builder
		file := filepath.Join(t.TempDir(), "x"+e[1])
		code := command.Main([]string{"sheet", "key-ring", "-o", file}, strings.NewReader(""), &strings.Builder{}, &errs)
		assert.Zero(t, code, errs.String())
		assert.FileExists(t, file)
	}
}

package settings

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"footfall/harmony"
	"footfall/trainer/guard/racetest"
)

// Files that are none of settings are told of in few words, however they are nested and
// however much is wrong with them.
func TestHostileSettings(t *testing.T) {
	racetest.Alone(t)
	for name, text := range map[string]string{
		"a key of many parts":   "a" + strings.Repeat(".a", MaxBytes/2-10) + " = 1\n",
		"a table of many parts": "[a" + strings.Repeat(".a", MaxBytes/2-10) + "]\nx = 1\n",
		"tables in tables":      "a = " + strings.Repeat("{a = ", 2000) + "1" + strings.Repeat("}", 2000) + "\n",
		"a known key, nested":   "[look]\nbackground = " + strings.Repeat("{a = ", 2000) + "1" + strings.Repeat("}", 2000) + "\n",
		"many keys":             many("k%=1\n", 5000),
		"many tables":           many("[x%]\n", 5000),
		"a long text":           "[look]\nbackground = \"" + strings.Repeat("\\u202e", MaxBytes/8) + "\"\n",
		"a long key":            strings.Repeat("k", MaxBytes-10) + " = 1\n",
	} {
		assert.LessOrEqual(t, len(text), MaxBytes, name)
		_, err := Read([]byte(text))
		faults, ok := err.(harmony.Faults)
		assert.True(t, ok, "%s: %v", name, err)
		assert.LessOrEqual(t, len(faults), mostFaults, name)
		for _, f := range faults {
			assert.Less(t, len(f.Error()), 700, name)
		}
	}
}

// many repeats a line with a number in it.
func many(line string, n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Replace(line, "%", strconv.Itoa(i), 1))
	}
	return b.String()
}

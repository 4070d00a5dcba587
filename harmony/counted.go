package harmony

import (
	"fmt"
	"strings"
)

// Counted says how many there are of a thing, which is named as of one: "1 bar", "2 bars",
// "3 passes", "4 half steps".
func Counted(n int, one string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(one, "s"):
		one += "es"
	default:
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}

// Listed lists words: "5", "5 and 9", "1, 5 and 9".
func Listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

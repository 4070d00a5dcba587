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

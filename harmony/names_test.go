package harmony

import (
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The names of qualities stand for ever, since what a player learned is kept by
// them. A new row takes the name that was composed before it came; where a name must
// change, a migration of the history rewrites the keys (memory.Upgrade).
func TestNamesAreTheSameForEver(t *testing.T) {
	var names []string
	for _, third := range []string{"3", "b3", "2", "4", ""} {
		for _, fifth := range []string{"5", "b5", "#5"} {
			for _, seventh := range []string{"", "6", "b7", "7", "bb7"} {
				for _, ninth := range []string{"", "9", "b9", "#9", "b9 #9"} {
					for _, eleventh := range []string{"", "11", "#11"} {
						for _, thirteenth := range []string{"", "13", "b13"} {
							all := strings.Join([]string{"1", third, fifth, seventh, ninth, eleventh, thirteenth}, " ")
							if q, ok := QualityOf(of(all)); ok {
								names = append(names, q.Name())
							}
						}
					}
				}
			}
		}
	}
	for _, row := range Qualities() {
		names = append(names, row.Name)
	}
	slices.Sort(names)
	golden, err := os.ReadFile("testdata/names.txt")
	require.NoError(t, err)
	require.Equal(t, strings.Split(strings.TrimSuffix(string(golden), "\n"), "\n"), slices.Compact(names))
}

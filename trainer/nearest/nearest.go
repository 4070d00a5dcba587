// Package nearest finds the word that a mistyped one was most likely meant to be,
// so that an error can name it.
//
// It knows letters only; it must never know what the words stand for.
package nearest

import (
	"fmt"
	"strings"
)

// Word returns the word among many that is nearest to one that is none of them,
// in any case: the only one that begins with it, or else the one with the fewest
// letters to insert, delete, change or swap, a third of its letters at most. The result
// is false where none is near.
func Word(word string, among []string) (string, bool) {
	word = strings.ToLower(word)
	if word == "" {
		return "", false
	}
	best, least, begun := "", len(word)/3+1, []string{}
	for _, w := range among {
		low := strings.ToLower(w)
		if strings.HasPrefix(low, word) {
			begun = append(begun, w)
		}
		if d := distance(low, word); d < least {
			best, least = w, d
		}
	}
	if best == "" && len(begun) == 1 {
		best = begun[0]
	}
	return best, best != ""
}

// Advice says what would do in the place of a word that is none of many: the
// nearest, or where none is near all of them.
func Advice(word string, among []string) string {
	if w, ok := Word(word, among); ok {
		return fmt.Sprintf("did you mean %s?", w)
	}
	return "use " + strings.Join(among, ", ")
}

// distance is the number of letters to insert, delete, change or swap with the next
// between two words (Damerau 1964, each letter moved once at most).
func distance(a, b string) int {
	var before []int
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		next := make([]int, len(b)+1)
		next[0] = i + 1
		for j := range len(b) {
			change := row[j]
			if a[i] != b[j] {
				change++
			}
			next[j+1] = min(change, next[j]+1, row[j+1]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, row = row, next
	}
	return row[len(b)]
}

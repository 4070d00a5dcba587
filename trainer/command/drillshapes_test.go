package command

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Somebody who is right nine times in ten is asked forty questions of each kind about
// shapes, on a tune of one chord and on the set of sevenths: twenty or more are
// different, no number of the choices is right in more than half, and what is called
// right is judged so.
func TestFortyQuestionsByEvents(t *testing.T) {
	for _, from := range [][]string{{"--tune", "pump-house-vamp"}, {"--chords", "sevenths"}} {
		for i, kind := range []string{"shape", "build", "same", "near"} {
			args := append([]string{"drill", kind, "--questions", "40", "--events", "--data", t.TempDir()}, from...)
			p := sitInFor(t, learner(uint64(i), 0.9), "2026-12-01T18:00:00Z", args...)
			items, prompts, numbers := map[any]bool{}, map[any]bool{}, map[any]int{}
			for _, q := range p.all("question") {
				items[q["item"]], prompts[q["prompt"]] = true, true
				for n, c := range q["choices"].([]any) {
					if c == q["right"].([]any)[0] {
						numbers[n]++
					}
				}
			}
			right := 0
			for _, j := range p.all("judged") {
				if j["result"] != "missed" {
					right++
				}
			}
			assert.Len(t, p.all("question"), 40)
			assert.Greater(t, right, 28)
			assert.GreaterOrEqual(t, len(items), 20, "%s %v", kind, from)
			assert.GreaterOrEqual(t, len(prompts), 20, "%s %v", kind, from)
			for n, count := range numbers {
				assert.LessOrEqual(t, count, 20, "%s %v: number %v", kind, from, n)
			}
		}
	}
}

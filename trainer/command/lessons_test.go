package command

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
)

// sure answers rightly within two seconds, and plays clean.
func sure(e told) string {
	switch e["event"] {
	case "step":
		return `{"start":true}`
	case "pass":
		return fmt.Sprintf(`{"clean":true,"pass":%v}`, e["n"])
	}
	return fmt.Sprintf(`{"answer":%q,"after_s":2}`, e["right"].([]any)[0])
}

// What every lesson asks for is reached by somebody who answers rightly and plays clean,
// within a few days of an hour: by the events of `today --lesson`, one lesson after the
// other.
func TestEveryLessonIsPassed(t *testing.T) {
	dir := t.TempDir()
	day := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	names := content.LessonNames()
	require.GreaterOrEqual(t, len(names), 30)
	for i, name := range names {
		if testing.Short() && i >= 4 {
			break
		}
		met := map[float64]bool{}
		tasks := 0.0
		const most = 4
		for n := 1; tasks == 0 || len(met) < int(tasks); n++ {
			if !assert.LessOrEqual(t, n, most, "%s: %v of %v tasks are met in %d days", name, met, tasks, most) {
				break
			}
			p := sitInFor(t, sure, day.Format(time.RFC3339), "today", "--lesson", name, "--minutes", "60", "--events", "--data", dir)
			assert.Empty(t, p.all("error"), name)
			for _, s := range p.heard[len(p.heard)-1]["steps"].([]any) {
				if s := s.(map[string]any); s["lesson"] == name {
					task := s["task"].(float64)
					tasks = max(tasks, task)
					if s["met"] == true {
						met[task] = true
					}
				}
			}
			day = day.AddDate(0, 0, 1)
		}
		t.Logf("%s: %v tasks by %s", name, tasks, day.Format(time.DateOnly))
	}
}

package listen

import (
	"fmt"
	"time"
)

// Report says what was learned, a line each.
func (c Calibration) Report() []string {
	var lines []string
	for _, s := range c.Strings {
		line := fmt.Sprintf("String %d: channel %d, transposed by %+d", s.String, s.Channel, s.Transpose)
		if s.Delay != nil {
			line += ", delay " + s.Delay.String()
		}
		lines = append(lines, line+".")
	}
	lines = append(lines, fmt.Sprintf("Delay of the port: %s.", c.Delay))
	if len(c.Strings) > 0 && !c.StringsKnown() {
		lines = append(lines, "Strings share a channel: which string is played cannot be told, and nothing will be said of it.")
	}
	return lines
}

// String says the delay and its spread.
func (d Delay) String() string {
	return fmt.Sprintf("%.1f ms, spread %.1f ms", inMS(d.Median), inMS(d.Spread))
}

func inMS(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

package background_test

import (
	"testing"

	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/stretchr/testify/assert"

	"footfall/trainer/screen/background"
)

// COLORFGBG is "text;background", with a middle field in some terminals; 0 to 15
// are the usual sixteen colours (common practice, no source).
func TestDark(t *testing.T) {
	for v, dark := range map[string]bool{
		"15;0": true, "0;15": false, "0;7": false, "12;8": true, "15;default;0": true, "0;default;15": false,
		"": true, "nonsense": true, "15;": true,
	} {
		assert.Equal(t, dark, background.Dark(v), "%q", v)
	}
}

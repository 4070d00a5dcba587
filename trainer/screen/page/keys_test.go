package page

import (
	"io"
	"testing"

	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/stretchr/testify/assert"

	"footfall/trainer/screen/theme"
)

func TestAKeyHasOneUse(t *testing.T) {
	th := theme.New(lipgloss.NewRenderer(io.Discard), false)
	taken, shown := map[string]bool{}, map[string]bool{}
	for _, u := range uses {
		b := u.Key(th, "does something")
		for _, k := range b.Keys() {
			assert.False(t, taken[k], "%q has two uses", k)
			taken[k] = true
		}
		assert.False(t, shown[b.Help().Key], "two uses are shown as %q", b.Help().Key)
		shown[b.Help().Key] = true
	}
	assert.Greater(t, len(uses), 30)
}

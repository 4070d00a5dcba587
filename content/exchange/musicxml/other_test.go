package musicxml

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the .want files anew")

// TestOtherPrograms reads documents that other programs made (their sources
// stand in testdata/other/README.md) and compares the tune and the list of losses
// with what they hold, worked out by hand when they were taken in.
func TestOtherPrograms(t *testing.T) {
	paths, err := filepath.Glob("testdata/other/*.m*xml")
	require.NoError(t, err)
	packed, err := filepath.Glob("testdata/other/*.mxl")
	require.NoError(t, err)
	paths = append(paths, packed...)
	require.GreaterOrEqual(t, len(paths), 6)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			tn, losses, err := Read(data, low, high)
			var got strings.Builder
			if errors.Is(err, transcribe.ErrNoChords) {
				got.WriteString(err.Error() + "\n")
				tn = &tune.Tune{}
			} else {
				require.NoError(t, err)
				got.WriteString(tune.Write(tn) + "---\n")
			}
			for _, l := range losses {
				got.WriteString(l.String() + "\n")
			}
			golden := strings.TrimSuffix(path, filepath.Ext(path)) + ".want"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(got.String()), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), got.String())
			if strings.Contains(got.String(), "---") {
				_, faults := tune.Check(tune.Write(tn), tune.Within(low, high))
				assert.Empty(t, faults)
			}
		})
	}
}

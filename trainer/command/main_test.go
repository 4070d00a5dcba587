package command

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/adrg/xdg"
)

// The tests run in folders of their own: what the machine's player has practised and
// set is neither read nor touched.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "footfall")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for _, name := range []string{"XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"} {
		os.Setenv(name, filepath.Join(dir, name))
	}
	xdg.Reload()
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

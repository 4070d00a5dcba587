package command

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/trainer/history"
	"footfall/trainer/practice"
)

// desk opens what practice needs. seed gives chance for each new sitting; nil
// is a new chance each time. done keeps what has not been kept yet and closes the
// history.
func (p *program) desk(cmd *cobra.Command, seed func() uint64) (d *practice.Desk, done func() error, err error) {
	k, err := history.Keep(history.Path(p.data), time.Now, nil)
	if err != nil {
		return nil, nil, err
	}
	if line := k.Notice(); line != "" {
		fmt.Fprintln(cmd.ErrOrStderr(), "footfall:", line)
	}
	if seed == nil {
		seed = rand.Uint64
	}
	neck, hand := p.settings.Instrument()
	d = &practice.Desk{Neck: neck, Hand: hand, History: k, Now: time.Now, Seed: seed}
	for _, name := range content.TuneNames() {
		if t, ok := content.Tune(name); ok {
			d.Tunes = append(d.Tunes, practice.Tune{Name: name, Tune: t})
		}
	}
	return d, k.Close, nil
}

// bring adds a player's own tune file to the desk where name is one, and returns
// the name the tune has there.
func bring(d *practice.Desk, name string) (string, error) {
	if !strings.HasSuffix(name, ".tune") {
		return name, nil
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return "", err
	}
	t, faults := tune.Read(string(text))
	if len(faults) > 0 {
		return "", fmt.Errorf("%s:\n%w", name, faults)
	}
	d.Tunes = append(d.Tunes, practice.Tune{Name: name, Tune: t})
	return name, nil
}

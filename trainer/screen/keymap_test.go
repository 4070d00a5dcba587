package screen

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/stretchr/testify/assert"

	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/page"
)

// shown are the keys that the frame lists for the page on top.
func (d *driver) shown() []key.Binding {
	bindings := d.f.bindings(d.f.top())
	return slices.DeleteFunc(bindings, func(b key.Binding) bool { return !b.Enabled() })
}

// The keys of all pages, with what each says that a key does: the same words are
// never on two keys, and the golden shows that a key is for one thing.
func TestKeysOfAllPages(t *testing.T) {
	racetest.Alone(t)
	d := drive(t, ready(t), 80, 24)
	does := map[string]map[string]bool{}
	on := map[string]string{}
	for _, s := range states("gate") {
		d.come(s)
		for _, b := range d.shown() {
			k, says := b.Help().Key, b.Help().Desc
			if does[k] == nil {
				does[k] = map[string]bool{}
			}
			does[k][says] = true
			if other, ok := on[says]; ok {
				assert.Equal(t, other, k, "%s: %q is on two keys", s.name, says)
			}
			on[says] = k
		}
	}
	var b strings.Builder
	for _, k := range slices.Sorted(maps.Keys(does)) {
		fmt.Fprintf(&b, "%-16s %s\n", k, strings.Join(slices.Sorted(maps.Keys(does[k])), "; "))
	}
	golden.RequireEqual(t, []byte(b.String()))
}

// A page does nothing on a key that it does not list, but take text.
func TestEveryKeyThatDoesSomethingIsListed(t *testing.T) {
	racetest.Alone(t)
	d := drive(t, ready(t), 80, 24)
	for _, s := range states("gate") {
		d.come(s)
		listed := map[string]bool{}
		text := false
		for _, b := range d.shown() {
			for _, k := range b.Keys() {
				listed[k] = true
				text = text || k == "text"
			}
		}
		if typist, ok := d.f.top().(page.Typist); text || ok && typist.Typing() {
			continue
		}
		var keys []string
		for r := '!'; r <= '~'; r++ {
			keys = append(keys, string(r))
		}
		for k := range named {
			keys = append(keys, k)
		}
		for _, k := range keys {
			if k == "space" && listed[" "] || listed[k] {
				continue
			}
			before := d.view()
			d.press(k)
			if after := d.view(); before != after {
				t.Errorf("%s: %q is not listed, and does something:\n%s\nthen\n%s", s.name, k, before, after)
				d.come(s)
			}
		}
	}
}

// Help lists every key of a page, however many there are.
func TestHelpShowsEveryKey(t *testing.T) {
	racetest.Alone(t)
	d := drive(t, ready(t), 80, 24)
	for _, s := range states("gate") {
		d.come(s)
		if typist, ok := d.f.top().(page.Typist); ok && typist.Typing() {
			continue
		}
		want := d.shown()
		d.press("?")
		for _, b := range want {
			assert.Contains(t, d.view(), b.Help().Desc, s.name)
		}
		d.send(tea.KeyMsg{Type: tea.KeyEsc})
	}
}

package settings

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"footfall/harmony"
	"footfall/trainer/gate"
)

// Change sets settings, by their keys, to values in the settings file at path, which is
// replaced whole: whatever else stands in it stays, comments too. A file that is not there
// comes to be, with each setting as it is now and what it does. The error says what would
// do in the place of a value, or what is in the way; then the file is as it was.
func Change(path string, now Settings, values map[string]any) error {
	text, err := gate.Read(path, MaxBytes)
	missing := errors.Is(err, fs.ErrNotExist)
	if missing {
		text, err = []byte(Text(now)), nil
	}
	if err != nil {
		return err
	}
	changed := text
	for _, key := range Keys() {
		if v, ok := values[key]; ok {
			if changed, err = Set(changed, key, v); err != nil {
				return err
			}
		}
	}
	if !missing && bytes.Equal(changed, text) {
		return nil
	}
	return gate.Replace(path, changed, 0o600)
}

// With is the settings with one of them, by its key, at another value of its type; the
// error says what would do in its place.
func (s Settings) With(key string, value any) (Settings, error) {
	s.Neck.Tuning, s.Neck.BassStrings = slices.Clone(s.Neck.Tuning), slices.Clone(s.Neck.BassStrings)
	strings := len(s.Neck.Tuning)
	field(&s, key).Set(reflect.ValueOf(value))
	for _, b := range bounds {
		if b.key == key && !b.good(&s) {
			return s, fmt.Errorf("%s is no %s: give %s", literal(value), Name(key), b.want(&s))
		}
	}
	if len(s.Neck.Tuning) != strings {
		twoLowest(&s)
	}
	return s, nil
}

// Set sets a setting, by its key, to a value in the text of a settings file, and leaves
// all else as it stands. The value has the type of the field of Settings.
func Set(text []byte, key string, value any) ([]byte, error) {
	before, err := Read(text)
	if faults := (harmony.Faults{}); errors.As(err, &faults) && strings.HasSuffix(faults[0].Want, "the defaults hold") {
		return nil, fmt.Errorf("the settings file must be mended first: %w", faults[0])
	}
	if want, is := fmt.Sprint(value), fmt.Sprint(field(&before, key).Interface()); want == is && err == nil {
		return text, nil
	}
	if _, err := before.With(key, value); err != nil {
		return nil, err
	}
	table, name, _ := strings.Cut(key, ".")
	line := fmt.Sprintf("# %s\n%s = %s\n", help(key), name, literal(value))
	found, headed := find(text, key, table)
	changed := bytes.Clone(text)
	switch {
	case found.there:
		changed = append(append(append([]byte{}, text[:found.from]...), literal(value)...), text[found.to:]...)
	case headed > 0:
		if text[headed-1] != '\n' {
			line = "\n" + line
		}
		changed = append(append(append([]byte{}, text[:headed]...), line...), text[headed:]...)
	default:
		if len(changed) > 0 && changed[len(changed)-1] != '\n' {
			changed = append(changed, '\n')
		}
		changed = fmt.Appendf(changed, "\n# %s\n[%s]\n%s", comments[table], table, line)
	}
	after, err := Read(changed)
	if faults := (harmony.Faults{}); errors.As(err, &faults) && strings.HasSuffix(faults[0].Want, "the defaults hold") ||
		!reflect.DeepEqual(field(&after, key).Interface(), reflect.ValueOf(value).Interface()) {
		return nil, fmt.Errorf("%s cannot be put into your settings file as it is written: change it there in an editor", key)
	}
	return changed, nil
}

// help is what a setting does, with its default.
func help(key string) string {
	d := Default()
	return fmt.Sprintf("%s Default %s.", comments[key], literal(field(&d, key).Interface()))
}

// span is a stretch of a text.
type span struct {
	from, to int
	there    bool
}

// find finds where a setting's value stands in a text, and where the lines of its table
// begin, 0 for nowhere.
func find(text []byte, key, table string) (value span, headed int) {
	var p unstable.Parser
	p.Reset(text)
	within := ""
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.KeyValue {
			continue
		}
		var parts []string
		end := 0
		for it := e.Key(); it.Next(); {
			parts = append(parts, string(it.Node().Data))
			end = int(it.Node().Raw.Offset + it.Node().Raw.Length)
		}
		name := strings.Join(parts, ".")
		if e.Kind == unstable.Table {
			if within = name + "."; name == table {
				headed = len(text)
				if at := bytes.IndexByte(text[end:], '\n'); at >= 0 {
					headed = end + at + 1
				}
			}
			continue
		}
		if within+name == key {
			from := end + bytes.IndexByte(text[end:], '=') + 1
			for text[from] == ' ' || text[from] == '\t' {
				from++
			}
			to := int(e.Raw.Offset + e.Raw.Length)
			return span{from, from + len(bytes.TrimRight(text[from:to], " \t\r\n")), true}, headed
		}
	}
	return span{}, headed
}

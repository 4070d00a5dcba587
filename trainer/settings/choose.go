package settings

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// Get is a setting's value, by its key, of the type that the setting has.
func (s Settings) Get(key string) any { return field(&s, key).Interface() }

// Value is a setting's value as a page shows it: "yes" or "no", a list with spaces
// between, and behind a number its unit.
func (s Settings) Value(key string) string {
	switch v := field(&s, key).Interface().(type) {
	case bool:
		return map[bool]string{true: "yes", false: "no"}[v]
	case []string:
		return strings.Join(v, " ")
	case []int:
		return strings.Trim(fmt.Sprint(v), "[]")
	case string:
		if v == "" {
			return "none"
		}
		return v
	default:
		return strings.TrimSpace(fmt.Sprint(v) + " " + unitOf(key))
	}
}

// units are those of numbers, by the ends of their keys.
var units = map[string]string{"_mm": "mm", "_db": "dB", "_ms": "ms", "_s": "s"}

func unitOf(key string) string {
	for end, unit := range units {
		if strings.HasSuffix(key, end) {
			return unit
		}
	}
	return ""
}

// Name is a setting's name in words, without its table and its unit.
func Name(key string) string {
	_, name, _ := strings.Cut(key, ".")
	if level, ok := strings.CutSuffix(name, "_db"); ok {
		return level + " level"
	}
	for end := range units {
		name = strings.TrimSuffix(name, end)
	}
	return strings.ReplaceAll(name, "_", " ")
}

// Help is what a setting does, with its default.
func Help(key string) string { return comments[key] + " Default " + Default().Value(key) + "." }

// Heading is what a setting's table is about.
func Heading(key string) string {
	table, _, _ := strings.Cut(key, ".")
	return strings.TrimSuffix(strings.SplitAfter(comments[table], ".")[0], ".")
}

// Step is the value of a setting that comes after its present one, or before it where by
// is below 0: the next word, round and round, yes or no, or the next number as far as its
// bounds let it. It is false where there is none, since the value must be typed.
func (s Settings) Step(key string, by int) (value any, ok bool) {
	for _, b := range bounds {
		if b.key != key {
			continue
		}
		f := field(&s, key)
		switch f.Kind() {
		case reflect.Bool:
			return !f.Bool(), true
		case reflect.String:
			for i, w := range b.words {
				if w == f.String() {
					return b.words[(i+by+len(b.words))%len(b.words)], true
				}
			}
			return nil, false
		case reflect.Int:
			f.SetInt(f.Int() + int64(by)*max(1, int64(b.step)))
		case reflect.Float64:
			step := b.step
			if step == 0 {
				step = 1
			}
			f.SetFloat(f.Float() + float64(by)*step)
		default:
			return nil, false
		}
		return f.Interface(), b.good(&s)
	}
	return nil, false
}

// Typed reads what was typed for a setting. The error says what would do.
func Typed(key, text string) (any, error) {
	d := Default()
	f := field(&d, key)
	fields := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,\t", r) })
	var err error
	switch text = strings.TrimSpace(text); f.Interface().(type) {
	case bool:
		switch strings.ToLower(text) {
		case "yes", "y", "true":
			return true, nil
		case "no", "n", "false":
			return false, nil
		}
		return nil, fmt.Errorf("%q is neither: type yes or no", text)
	case string:
		if text == "none" {
			text = ""
		}
		return text, nil
	case []string:
		return fields, nil
	case []int:
		numbers := make([]int, len(fields))
		for i, w := range fields {
			if numbers[i], err = strconv.Atoi(w); err != nil {
				return nil, fmt.Errorf("%q is no string: type numbers such as 6 5", w)
			}
		}
		return numbers, nil
	case int:
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("%q is no whole number", text)
		}
		return n, nil
	}
	n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, unitOf(key))), 64)
	if err != nil {
		return nil, fmt.Errorf("%q is no number", text)
	}
	return n, nil
}

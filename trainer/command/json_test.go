package command

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/sheet"
)

// fieldsOf adds the paths of a JSON value's fields with their types: a.b for a field
// of an object, a[].b for one of each object in a list.
func fieldsOf(v any, path string, into map[string]map[string]bool) {
	add := func(kind string) {
		if path = strings.TrimSuffix(path, "."); path == "" {
			return
		}
		if into[path] == nil {
			into[path] = map[string]bool{}
		}
		into[path][kind] = true
	}
	switch v := v.(type) {
	case map[string]any:
		if path == "plans[].plan." || strings.HasSuffix(path, ".tries.") { // the program's own, which no script need read
			add("object")
			return
		}
		for k, e := range v {
			fieldsOf(e, path+k+".", into)
		}
	case []any:
		at := strings.TrimSuffix(path, ".")
		if len(v) == 0 {
			add("list")
		}
		for _, e := range v {
			switch e := e.(type) {
			case map[string]any:
				add("list")
				fieldsOf(e, at+"[].", into)
			case string:
				add("texts")
			case []any:
				add("lists")
			default:
				add("numbers")
			}
		}
	case nil:
		add("null")
	case string:
		add("text")
	case bool:
		add("bool")
	default:
		add("number")
	}
}

// manualOf reads the manual: for each command its paths and their types.
func manualOf(t *testing.T) map[string]map[string]string {
	t.Helper()
	out := map[string]map[string]string{}
	at := ""
	for i, line := range strings.Split(jsonManual, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 100, "line %d", i+1)
		if strings.HasPrefix(line, "footfall ") {
			at = strings.TrimSpace(strings.TrimPrefix(line, "footfall "))
			out[at] = map[string]string{}
			continue
		}
		if m := regexp.MustCompile(`^  (\S+)  +([a-z, ]+?)  +(\S.*)$`).FindStringSubmatch(line); m != nil && at != "" {
			assert.NotContains(t, out[at], m[1], "%s: %s stands twice", at, m[1])
			out[at][m[1]] = m[2]
		}
	}
	return out
}

// printed runs a command and returns the objects that it prints, whether as one list,
// as one object or a line each.
func printed(t *testing.T, in io.Reader, args ...string) (objects []any) {
	t.Helper()
	out, errs, code := runOn(in, args...)
	require.Contains(t, []int{0, 2}, code, "%v: %s", args, errs)
	require.NotEmpty(t, out, "%v: %s", args, errs)
	dec := json.NewDecoder(strings.NewReader(out))
	for {
		var v any
		err := dec.Decode(&v)
		if err == io.EOF {
			break
		}
		require.NoError(t, err, "%v", args)
		objects = append(objects, v)
	}
	return objects
}

// holdsUnder reports whether a manual holds fields of the object at a path.
func holdsUnder(fields map[string]string, path string) bool {
	for p := range fields {
		if strings.HasPrefix(p, path+".") {
			return true
		}
	}
	return false
}

// TestTheManualOfJSONHoldsEveryField compares the manual with what the commands print:
// no field stands in one alone, and each has the types that were seen.
func TestTheManualOfJSONHoldsEveryField(t *testing.T) {
	folder := t.TempDir()
	chart := filepath.Join(folder, "chart.txt")
	require.NoError(t, os.WriteFile(chart, []byte("Dm7 G7   Cmaj7   Am7 D7 Em7"), 0o600))
	bad := filepath.Join(folder, "bad.tune")
	require.NoError(t, os.WriteFile(bad, []byte("tune  Bad\nkey   C\n\n[A]\nchords | C |\nbass   | 1 \\\\1 . . |\n"), 0o600))
	data := []string{"--data", filepath.Join(folder, "data")}
	midi := filepath.Join(folder, "x.mid")
	reports := filepath.Join(folder, "reports")
	require.NoError(t, os.MkdirAll(reports, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(reports, "ann.txt"), reportOf(t, aWeek("Ann"), sheet.WeekText), 0o600))
	_, errs, code := runOn(nil, "sheet", "short-ladder", "-o", midi)
	require.Zero(t, code, errs)
	events := map[string][]string{
		"drill --events":     {"drill", "mixed", "--tune", "short-ladder", "--minutes", "3"},
		"today --events":     {"today"},
		"play TUNE --events": {"play", "short-ladder", "--tempo", "240", "--passes", "2"},
	}
	runs := map[string][][]string{
		"arrange TUNE":           {{"arrange", "lantern-street", "--layer", "bass+halves", "--why"}, {"arrange", "lantern-street", "--comping", "pushed", "--layer", "bass+halves"}},
		"chord SYMBOL":           {{"chord", "Dm7/G", "H7", "NC"}},
		"drill":                  {append([]string{"drill", "find", "--minutes", "1"}, data...)},
		"hear FILE":              {{"hear", heardTake}},
		"log backup FILE":        {append([]string{"log", "backup", filepath.Join(folder, "b.db")}, data...)},
		"log check":              {append([]string{"log", "check"}, data...)},
		"log export":             {append([]string{"log", "export"}, data...)},
		"log import FILE":        {append([]string{"log", "import", filepath.Join(folder, "b.db")}, data...)},
		"manual FOLDER":          {{"manual", folder}},
		"settings new":           {append([]string{"settings", "new"}, data...)},
		"review":                 {append([]string{"review"}, data...)},
		"review --report FILE":   {append([]string{"review", "--report", filepath.Join(folder, "week.html")}, data...)},
		"review --pupils FOLDER": {{"review", "--pupils", reports}},
		"score TUNE":             {{"score", "short-ladder", "--take", midi, "--tempo", "90"}},
		"score TUNE --free":      {{"score", "short-ladder", "--take", midi, "--tempo", "90", "--free"}},
		"settings":               {{"settings"}},
		"settings check":         {{"settings", "check", bad}},
		"shape FRETS":            {{"shape", "8-x-8-9-8-x", "--over", "C7"}},
		"shapes SYMBOL":          {{"shapes", "Cm7"}},
		"today":                  {append([]string{"today"}, data...), append([]string{"today", "--towards", "key-ring", "--by", "2099-01-31"}, data...)},
		"tune list":              {append([]string{"tune", "list"}, data...)},
		"tune show TUNE":         {{"tune", "show", "lantern-street"}},
		"tune check FILE":        {{"tune", "check", bad}},
		"tune format TUNE":       {{"tune", "format", "key-ring"}},
		"tune import FILE":       {{"tune", "import", chart}},
		"tune export TUNE":       {{"tune", "export", "key-ring"}, {"tune", "export", "key-ring", "-o", filepath.Join(folder, "k.mxl")}},
		"tune add FILE":          {append([]string{"tune", "add", chart}, data...)},
		"sheet TUNE -o FILE":     {{"sheet", "key-ring", "-o", filepath.Join(folder, "k.html")}},
		"version":                {{"version"}},
		"walk TUNE":              {{"walk", "key-ring"}},
		"walk TUNE --judge":      {{"walk", "key-ring", "--judge"}},
	}
	manual := manualOf(t)
	var skeleton strings.Builder
	seen := map[string]map[string]map[string]bool{}
	for _, name := range slices.Sorted(maps.Keys(events)) {
		seen[name] = map[string]map[string]bool{}
		for day := range 2 {
			moment := fmt.Sprintf("2026-12-0%dT18:00:00Z", day+1)
			at := data
			if name == "today --events" && day == 0 {
				at = []string{"--data", filepath.Join(folder, "new")} // only a new player's level is found
			}
			for _, e := range sitInFor(t, learner(uint64(day), 0.8), moment, append(append(events[name], "--events"), at...)...).heard {
				fieldsOf(map[string]any(e), "", seen[name])
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(runs)) {
		seen[name] = map[string]map[string]bool{}
		for _, args := range runs[name] {
			for _, o := range printed(t, strings.NewReader(""), append(args, "--json")...) {
				if list, ok := o.([]any); ok {
					for _, e := range list {
						fieldsOf(e, "", seen[name])
					}
					continue
				}
				fieldsOf(o, "", seen[name])
			}
		}
	}
	// Which inputs there are is the machine's.
	port, err := json.Marshal(listedPort{Path: "/dev/snd/midiC1D0", SetUp: true})
	require.NoError(t, err)
	var fieldsOfPort any
	require.NoError(t, json.Unmarshal(port, &fieldsOfPort))
	seen["listen --ports"] = map[string]map[string]bool{}
	fieldsOf(fieldsOfPort, "", seen["listen --ports"])
	for _, name := range slices.Sorted(maps.Keys(seen)) {
		fields := seen[name]
		fmt.Fprintf(&skeleton, "\nfootfall %s\n", name)
		for _, path := range slices.Sorted(maps.Keys(fields)) {
			kinds := slices.Sorted(maps.Keys(fields[path]))
			fmt.Fprintf(&skeleton, "  %-24s  %-14s  \n", path, strings.Join(kinds, ", "))
			want, ok := manual[name][path]
			if !ok && slices.Equal(kinds, []string{"null"}) && holdsUnder(manual[name], path) {
				continue // an object that does not apply
			}
			if assert.True(t, ok, "%s prints %s, which the manual does not hold", name, path) {
				for _, k := range kinds {
					assert.Contains(t, want, k, "%s: %s", name, path)
				}
			}
		}
		for path := range manual[name] {
			assert.Contains(t, fields, path, "the manual of %s holds what is not printed", name)
		}
	}
	if file := os.Getenv("FOOTFALL_JSON_SKELETON"); file != "" {
		require.NoError(t, os.WriteFile(file, []byte(skeleton.String()), 0o600))
	}
	assert.Len(t, manual, len(seen))
}

package history

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/trainer/gate"
	"footfall/trainer/quote"
)

// ImportError is a fault in what was to be imported: nothing of it was taken.
type ImportError struct {
	// Where names the place: "answer 17", "line 5".
	Where string
	Err   error
}

// Error says where and what.
func (e *ImportError) Error() string { return e.Where + ": " + e.Err.Error() }

// Unwrap returns the cause.
func (e *ImportError) Unwrap() error { return e.Err }

// Import merges what another history exported, as JSON or as a table of
// answers, or that history's file itself, told apart by their first bytes.
// Records that are there already are left alone, so that importing twice changes
// nothing. It takes all or nothing; a fault in the input is an *ImportError.
func (s *Store) Import(ctx context.Context, r io.Reader) (Merged, error) {
	ration := &rationed{r, longestRecord}
	b := bufio.NewReader(ration)
	head, err := b.Peek(16)
	if err != nil && !errors.Is(err, io.EOF) {
		return Merged{}, err
	}
	text := bytes.TrimLeft(head, " \t\r\n")
	switch {
	case bytes.HasPrefix(head, []byte(magic)):
		return s.importStream(ctx, b)
	case bytes.HasPrefix(text, []byte("{")):
		return s.merge(ctx, func(m *merger) error { return importJSON(b, ration, m) })
	case bytes.HasPrefix(text, []byte(csvColumns[0]+",")):
		return s.merge(ctx, func(m *merger) error { return importCSV(b, ration, m) })
	}
	return Merged{}, &ImportError{"line 1", fmt.Errorf("found %q; a history is what `footfall log export` wrote, as JSON or CSV, or a %s file", text, FileName)}
}

// longestRecord bounds what one record of an export takes, in bytes: a pass of an hour
// with each of its notes is a tenth.
const longestRecord = 16 << 20

// rationed reads so much and no more until it is given more.
type rationed struct {
	from io.Reader
	left int
}

func (r *rationed) Read(b []byte) (int, error) {
	if r.left <= 0 {
		return 0, fmt.Errorf("a record longer than %d MB", longestRecord>>20)
	}
	n, err := r.from.Read(b[:min(len(b), r.left)])
	r.left -= n
	return n, err
}

// ImportFile is Import of the file at a path, or of a pipe there. Of a history's file it
// takes what lies in its write-ahead log too, as a program that was killed leaves it.
// What cannot be opened is an error of gate.OpenAsked.
func (s *Store) ImportFile(ctx context.Context, path string) (Merged, error) {
	f, err := gate.OpenAsked(path)
	if err != nil {
		return Merged{}, err
	}
	defer f.Close()
	head, err := f.Peek(len(magic))
	if err != nil {
		return Merged{}, err
	}
	if string(head) == magic && f.Regular() {
		return s.importCopy(ctx, path)
	}
	return s.Import(ctx, f)
}

// longestHistory bounds a history's file that comes in a stream, in bytes: some twenty
// million answers.
const longestHistory = 2 << 30

// importStream merges a history's file that is handed over in one stream.
func (s *Store) importStream(ctx context.Context, r io.Reader) (Merged, error) {
	path, remove, err := inTemporary()
	if err != nil {
		return Merged{}, err
	}
	defer remove()
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return Merged{}, err
	}
	n, err := io.Copy(f, io.LimitReader(r, longestHistory+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return Merged{}, err
	}
	if n > longestHistory {
		return Merged{}, &ImportError{"the file", fmt.Errorf("longer than %d MB", longestHistory>>20)}
	}
	return s.importCopy(ctx, path)
}

// importCopy merges a copy of another history's file, so that the file itself is
// never touched.
func (s *Store) importCopy(ctx context.Context, path string) (Merged, error) {
	version, err := inspect(path)
	if err == nil {
		err = checkElsewhere(path, version)
	}
	if err != nil {
		return Merged{}, &ImportError{"the file", err}
	}
	from, err := openCopy(path, s.now, s.newID)
	if err != nil {
		return Merged{}, &ImportError{"the file", err}
	}
	defer from.Close()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	stalls := time.AfterFunc(recordTime, func() { cancel(errEndless) })
	defer stalls.Stop()
	merged, err := s.merge(ctx, feedFrom(ctx, from, func() { stalls.Reset(recordTime) }))
	if err != nil && context.Cause(ctx) == errEndless {
		return Merged{}, &ImportError{"the file", errEndless}
	}
	return merged, err
}

// recordTime is how long another history may take from one record to the next.
const recordTime = 20 * time.Second

var errEndless = fmt.Errorf("no record in %v: it comes to no end", recordTime)

// importJSON reads the object that ExportJSON writes, its lists in that order.
func importJSON(r io.Reader, ration *rationed, m *merger) error {
	d := json.NewDecoder(r)
	if err := expect(d, json.Delim('{')); err != nil {
		return err
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return inJSON(d, err)
		}
		switch key {
		case "version":
			var v int
			if err := d.Decode(&v); err != nil {
				return inJSON(d, err)
			}
			if v != exportVersion {
				return &ImportError{"version", fmt.Errorf("found %d; this program reads %d", v, exportVersion)}
			}
		case "sittings":
			err = eachOf(d, ration, "sitting", func(j sittingJSON) error {
				sit, err := j.read()
				if err != nil {
					return err
				}
				return m.sitting(sit)
			})
		case "answers":
			err = eachOf(d, ration, "answer", func(j answerJSON) error {
				a, err := j.read(m.keys)
				if err != nil {
					return err
				}
				return m.add(a)
			})
		case "takes":
			err = eachOf(d, ration, "take", func(j takeJSON) error {
				t, err := j.read(m.keys)
				if err != nil {
					return err
				}
				return m.addTake(t)
			})
		case "plans":
			err = eachOf(d, ration, "plan", func(j planJSON) error {
				p, err := j.read()
				if err != nil {
					return err
				}
				return m.plan(p)
			})
		default:
			err = &ImportError{fmt.Sprintf("byte %d", d.InputOffset()), fmt.Errorf("found %q; a history has version, sittings, answers, takes and plans", key)}
		}
		if err != nil {
			return err
		}
	}
	return expect(d, json.Delim('}'))
}

// eachOf calls each with every value of a list. What is wrong with a value is an
// *ImportError that counts the values from 1; what is wrong with the file being
// written to stays what it is.
func eachOf[T any](d *json.Decoder, ration *rationed, what string, each func(T) error) error {
	if err := expect(d, json.Delim('[')); err != nil {
		return err
	}
	for n := 1; d.More(); n++ {
		ration.left = longestRecord
		var v T
		err := d.Decode(&v)
		if err == nil {
			err = each(v)
		}
		if err != nil {
			return at(fmt.Sprintf("%s %d", what, n), err)
		}
	}
	return expect(d, json.Delim(']'))
}

// at puts a place to an error of the input, and leaves one of the file alone.
func at(where string, err error) error {
	if TroubleOf(fault("", err)) != Unknown {
		return err
	}
	return &ImportError{where, inWords(err)}
}

// inWords says without a name of Go's that a value is of another kind.
func inWords(err error) error {
	if kind := new(json.UnmarshalTypeError); errors.As(err, &kind) {
		return fmt.Errorf("found a %s that does not fit %s", quote.Short(kind.Value, 60), cmp.Or(kind.Field, "there"))
	}
	return err
}

func expect(d *json.Decoder, want json.Delim) error {
	got, err := d.Token()
	if err != nil {
		return inJSON(d, err)
	}
	if got != want {
		return inJSON(d, fmt.Errorf("found %v; write %v", got, want))
	}
	return nil
}

func inJSON(d *json.Decoder, err error) error {
	if errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF
	}
	return &ImportError{fmt.Sprintf("byte %d", d.InputOffset()), inWords(err)}
}

// importCSV reads the table that ExportCSV writes.
func importCSV(r io.Reader, ration *rationed, m *merger) error {
	c := csv.NewReader(r)
	c.FieldsPerRecord = len(csvColumns)
	c.ReuseRecord = true
	for first := true; ; first = false {
		ration.left = longestRecord
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return &ImportError{"the table", err}
		}
		if first {
			continue
		}
		line, _ := c.FieldPos(0)
		if err := importRow(row, m); err != nil {
			return at(fmt.Sprintf("line %d", line), err)
		}
	}
}

func importRow(row []string, m *merger) error {
	var numbers [4]int
	for i, column := range []int{5, 6, 7, 8} {
		n, err := strconv.Atoi(row[column])
		if err != nil {
			return fmt.Errorf("%s: %q is no number", csvColumns[column], row[column])
		}
		numbers[i] = n
	}
	var ids [2]uuid.UUID
	for i, column := range []int{0, 10} {
		id, err := uuid.Parse(row[column])
		if err != nil {
			return fmt.Errorf("%s: %q is no id", csvColumns[column], row[column])
		}
		ids[i] = id
	}
	if numbers[0] < 0 || numbers[0] > 4 {
		return fmt.Errorf("grade %d; write 1 to 4", numbers[0])
	}
	sit, err := sittingJSON{ids[1], row[11], row[12], quote.FromCell(row[13]), quote.FromCell(row[14])}.read()
	if err != nil {
		return err
	}
	if err := m.sitting(sit); err != nil {
		return err
	}
	j := answerJSON{ID: ids[0], Sitting: ids[1], At: row[1], Item: quote.FromCell(row[2]), Way: row[3], Verdict: row[4],
		Grade: memory.Grade(numbers[0]), TookMS: int64(numbers[1]), String: numbers[2], Fret: numbers[3], Given: quote.FromCell(row[9])}
	a, err := j.read(m.keys)
	if err != nil {
		return err
	}
	return m.add(a)
}

package history

import (
	"context"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/clock"
)

// Keeper keeps a sitting whatever becomes of the file. While the history cannot
// be written the sitting is kept in memory, and is written when it can be.
type Keeper struct {
	mu    sync.Mutex
	path  string
	now   func() time.Time
	newID func() uuid.UUID
	// file is nil while the file could not be opened, spare while it can be
	// written.
	file, spare *Store
	// begun are this program's sittings, for a spare that is opened in their midst.
	begun   []Sitting
	trouble *Fault
	tried   time.Time
	notice  string
}

// retryAfter is how long the file is left alone after it could not be written.
const retryAfter = 2 * time.Second

// Keep opens the history at path, or goes on in memory where that cannot be
// done: Notice says so. A damaged file is moved aside, never written. now and
// newID are those of Open.
func Keep(path string, now func() time.Time, newID func() uuid.UUID) (*Keeper, error) {
	if now == nil {
		now = clock.Now
	}
	k := &Keeper{path: path, now: now, newID: newID}
	file, err := Open(path, now, newID)
	if TroubleOf(err) == Damaged {
		aside, moveErr := setAside(path, now())
		if moveErr == nil {
			k.notice = fmt.Sprintf("The history was damaged. It is kept as %s, and a new one was begun.", aside)
			file, err = Open(path, now, newID)
		}
	}
	if err == nil {
		k.file = file
		return k, nil
	}
	return k, k.goSpare(err)
}

// goSpare goes on in memory after an error of the file.
func (k *Keeper) goSpare(err error) error {
	f, ok := fault(k.path, err).(*Fault)
	if !ok {
		return err
	}
	k.trouble, k.tried = f, k.now()
	k.notice = "Going on in memory: " + f.Error()
	if k.spare != nil {
		return nil
	}
	spare, err := openMemory(k.now, k.newID)
	if err != nil {
		return err
	}
	for _, sit := range k.begun {
		if _, err := spare.Begin(context.Background(), sit); err != nil {
			spare.Close()
			return err
		}
	}
	k.spare = spare
	return nil
}

// Notice returns a line for the player about the state of the history, "" when
// all is well. A notice of a file moved aside is returned once.
func (k *Keeper) Notice() string {
	k.mu.Lock()
	defer k.mu.Unlock()
	n := k.notice
	if k.trouble == nil {
		k.notice = ""
	}
	return n
}

// Store returns the history for reading: the file where it could be opened, else
// what this program has in memory.
func (k *Keeper) Store() *Store {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.file != nil {
		return k.file
	}
	return k.spare
}

// Begin is Store.Begin, kept in memory where it must be.
func (k *Keeper) Begin(ctx context.Context, sit Sitting) (Sitting, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	err := k.keep(func(s *Store) (err error) {
		sit, err = s.Begin(ctx, sit)
		return err
	})
	k.begun = append(k.begun, sit)
	return sit, err
}

// Append is Store.Append. An error says that the answer, with those before it
// that failed, is in memory alone; nil that all of them are on the disk.
func (k *Keeper) Append(ctx context.Context, a Answer) (Answer, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	err := k.keep(func(s *Store) (err error) {
		a, err = s.Append(ctx, a)
		return err
	})
	return a, err
}

// AppendTake is Store.AppendTake, kept in memory where it must be.
func (k *Keeper) AppendTake(ctx context.Context, t Take) (Take, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	err := k.keep(func(s *Store) (err error) {
		t, err = s.AppendTake(ctx, t)
		return err
	})
	return t, err
}

// keep does a write on the file, or on the spare, which is merged into the file
// as soon as that can be written.
func (k *Keeper) keep(do func(*Store) error) error {
	if k.spare == nil {
		err := do(k.file)
		if TroubleOf(err) == Unknown {
			return err
		}
		if err := k.goSpare(err); err != nil {
			return err
		}
	}
	if err := do(k.spare); err != nil {
		return err
	}
	if k.now().Sub(k.tried) >= retryAfter {
		k.tried = k.now()
		k.flush(false)
	}
	if k.trouble == nil {
		return nil
	}
	return k.trouble
}

// flush writes what is in memory. The last try of all may wait, and moves a
// damaged file aside.
func (k *Keeper) flush(last bool) {
	if k.file != nil {
		k.file.Close()
		k.file = nil
	}
	wait := 50 * time.Millisecond
	if last {
		wait = busy
	}
	err := k.flushInto(wait)
	if last && TroubleOf(err) == Damaged {
		var aside string
		if aside, err = setAside(k.path, k.now()); err == nil {
			k.notice = fmt.Sprintf("The history was damaged. It is kept as %s, and a new one was begun.", aside)
			err = k.flushInto(wait)
		}
	}
	if err == nil {
		k.file, err = Open(k.path, k.now, k.newID)
	}
	if err != nil {
		k.goSpare(err)
		return
	}
	k.spare.Close()
	k.spare, k.trouble = nil, nil
	k.notice = "The history can be written again; nothing is lost."
}

func (k *Keeper) flushInto(wait time.Duration) error {
	s, err := openWaiting(k.path, wait, k.now, k.newID)
	if err != nil {
		return err
	}
	defer s.Close()
	_, err = s.merge(context.Background(), feedFrom(context.Background(), k.spare))
	return err
}

// Close writes what is still in memory and closes the history. What cannot be
// written goes into a file in the system's folder for temporary files, which
// the error names together with the command that takes it in.
func (k *Keeper) Close() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.spare != nil {
		n, err := k.spare.Count(context.Background())
		if err != nil || n > 0 {
			k.flush(true)
		}
	}
	if k.spare != nil {
		return k.rescue()
	}
	return k.file.Close()
}

// rescue writes the spare to a file of its own.
func (k *Keeper) rescue() error {
	defer k.spare.Close()
	ctx := context.Background()
	n, err := k.spare.Count(ctx)
	if err != nil || n == 0 {
		return err
	}
	// Sittings that end within one second get a file each.
	f, err := os.CreateTemp("", "footfall-kept-"+k.now().Format("20060102-150405")+"-*.json")
	name, answers := "", fmt.Sprintf("%d answers", n)
	if n == 1 {
		answers = "1 answer"
	}
	if err == nil {
		name = f.Name()
		err = k.spare.ExportJSON(ctx, f)
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
	}
	if err != nil {
		return fmt.Errorf("%s could not be written, nor kept elsewhere (%v): %w", answers, err, k.trouble)
	}
	return fmt.Errorf("%s could not be written, but lie in %s; take them in with: footfall log import %s; the cause: %w", answers, name, name, k.trouble)
}

// Pace returns the player's own times for a kind of question, for drills.Plan.
func (k *Keeper) Pace(kind memory.Kind, way memory.Way) memory.Pace {
	p, err := k.Store().Pace(context.Background(), way, string(kind))
	if err != nil {
		return memory.Pace{Way: way}
	}
	return p
}

// States is Store.States, of the file where it can be read.
func (k *Keeper) States(ctx context.Context) (map[memory.Item]memory.State, error) {
	return k.Store().States(ctx)
}

// LastTakes is Store.LastTakes.
func (k *Keeper) LastTakes(ctx context.Context) (map[memory.Item]Take, error) {
	return k.Store().LastTakes(ctx)
}

// TunesInWork is Store.TunesInWork.
func (k *Keeper) TunesInWork(ctx context.Context, since time.Time) ([]string, error) {
	return k.Store().TunesInWork(ctx, since)
}

// Look is Store.Look.
func (k *Keeper) Look(ctx context.Context, since, today memory.Day) (progress.Record, error) {
	return k.Store().Look(ctx, since, today)
}

// setAside renames a damaged history, with its journal, to a name that is free.
func setAside(path string, now time.Time) (string, error) {
	base := path + ".damaged-" + now.Format("20060102-150405")
	aside := base
	for i := 2; ; i++ {
		if _, err := os.Lstat(aside); os.IsNotExist(err) {
			break
		} else if err != nil {
			return "", err
		}
		aside = fmt.Sprintf("%s-%d", base, i)
	}
	if err := os.Rename(path, aside); err != nil {
		return "", err
	}
	for _, journal := range []string{"-wal", "-shm"} {
		if err := os.Rename(path+journal, aside+journal); err != nil && !os.IsNotExist(err) {
			return "", err
		}
	}
	return aside, nil
}

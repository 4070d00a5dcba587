package history

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// Keeper keeps a sitting whatever becomes of the file. While the history cannot
// be written the sitting is kept in memory, and is written when it can be.
type Keeper struct {
	mu    sync.Mutex
	path  string
	now   func() time.Time
	newID func() uuid.UUID
	// file is nil while the file could not be opened, spare while it can be
	// written. reading is the file where it can only be read; unread says why a file
	// that is there cannot.
	file, spare, reading *Store
	unread               error
	marked               mark
	done                 doings
	withdrawn            []Answer // on the disk, while that cannot be written
	trouble              *Fault
	tried                time.Time
	notice               string
	stopBackup           func()
}

// retryAfter is how long the file is left alone after it could not be written.
const retryAfter = 2 * time.Second

// Keep opens the history at path, or goes on in memory where that cannot be
// done: Notice says so. A damaged file is moved aside, never written; one of another
// program or of a later version is left where it is. The day's backup is begun. now
// and newID are those of Open.
func Keep(path string, now func() time.Time, newID func() uuid.UUID) (*Keeper, error) {
	if now == nil {
		now = clock.Now
	}
	k := &Keeper{path: path, now: now, newID: newID}
	file, err := k.openOrSetAside(busy)
	if err == nil {
		k.use(file)
		k.beginBackup()
		return k, nil
	}
	if TroubleOf(err) == Silent {
		return k, k.goSpare(err)
	}
	if info, gone := os.Stat(path); gone == nil && info.Size() > 0 {
		k.unread = err
		if unwritable(err) {
			k.reading, k.unread = Read(path, now, newID)
		}
	}
	return k, k.goSpare(err)
}

// openOrSetAside opens the file, and a new one where it is damaged.
func (k *Keeper) openOrSetAside(wait time.Duration) (*Store, error) {
	file, err := openWaiting(k.path, wait, k.now, k.newID)
	if TroubleOf(err) != Damaged {
		return file, err
	}
	aside, moveErr := setAside(k.path, k.now())
	if moveErr != nil {
		return nil, err
	}
	k.notice = fmt.Sprintf("The history was damaged. It is kept as %s, and a new one was begun.", aside)
	return openWaiting(k.path, wait, k.now, k.newID)
}

// use takes a file that was opened.
func (k *Keeper) use(file *Store) {
	k.file, k.unread = file, nil
	k.marked = markOf(file)
	if k.reading != nil {
		k.reading.Close()
		k.reading = nil
	}
}

// beginBackup makes the day's backup while practice goes on.
func (k *Keeper) beginBackup() {
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	guard.Go(func() {
		defer close(ended)
		// A backup that cannot be made today is made another day.
		_ = BackupOfDay(ctx, k.path, k.now())
	})
	k.stopBackup = func() {
		select {
		case <-ended:
		case <-time.After(busy):
		}
		cancel()
		<-ended
	}
}

// goSpare goes on in memory after an error of the file.
func (k *Keeper) goSpare(err error) error {
	f, ok := fault(k.path, err).(*Fault)
	if !ok {
		return err
	}
	k.trouble, k.tried = f, k.now()
	k.notice = "What you do now is kept in memory: " + f.Error()
	if k.spare != nil {
		return nil
	}
	spare, err := openMemory(k.now, k.newID)
	if err != nil {
		return err
	}
	for _, sit := range k.done.sittings {
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

// from returns the history for reading: the file where it can be read, else what
// this program has in memory. The error says that a file is there that cannot be
// read: nobody may then be taken for a new player.
func (k *Keeper) from() (*Store, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	switch {
	case k.file != nil:
		return k.file, nil
	case k.reading != nil:
		return k.reading, nil
	case k.unread != nil:
		return nil, k.unread
	}
	return k.spare, nil
}

// Begin is Store.Begin, kept in memory where it must be.
func (k *Keeper) Begin(ctx context.Context, sit Sitting) (Sitting, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	err := k.keep(func(s *Store) (err error) {
		sit, err = s.Begin(ctx, sit)
		return err
	})
	k.done.sittings = append(k.done.sittings, sit)
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
	if err == nil || k.spare != nil {
		k.done.answered(a)
	}
	return a, err
}

// noteByNote is how many of the latest takes are held with every note of theirs, so
// that hours of playing take no more memory than their first.
const noteByNote = 30

// AppendTake is Store.AppendTake, kept in memory where it must be.
func (k *Keeper) AppendTake(ctx context.Context, t Take) (Take, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	err := k.keep(func(s *Store) (err error) {
		t, err = s.AppendTake(ctx, t)
		return err
	})
	if err == nil || k.spare != nil {
		k.done.takes = append(k.done.takes, t)
		if old := len(k.done.takes) - noteByNote; old > 0 {
			k.done.takes[old-1].Events = nil
		}
	}
	return t, err
}

// JudgePass is Store.JudgePass, kept in memory where it must be.
func (k *Keeper) JudgePass(ctx context.Context, id uuid.UUID, clean bool, bar int, ramp string) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	i := slices.IndexFunc(k.done.takes, func(t Take) bool { return t.ID == id })
	if i >= 0 {
		t := &k.done.takes[i]
		t.Judged, t.Clean, t.Ramp, t.Grade = true, clean, ramp, gradeOf(clean)
		t.Events = slices.DeleteFunc(slices.Clone(t.Events), func(e TakeEvent) bool { return e.Verdict == Named })
		if bar > 0 {
			t.Events = append(t.Events, TakeEvent{Bar: bar, Verdict: Named})
		}
	}
	return k.keep(func(s *Store) error {
		err := s.JudgePass(ctx, id, clean, bar, ramp)
		if errors.Is(err, errNoPass) && s == k.spare && i >= 0 {
			// It was kept before the file could no longer be written.
			_, err = s.AppendTake(ctx, k.done.takes[i])
		}
		return err
	})
}

// keep does a write on the file, or on the spare, which is merged into the file
// as soon as that can be written.
func (k *Keeper) keep(do func(*Store) error) error {
	if k.spare == nil {
		if err := k.follow(); err != nil {
			return err
		}
	}
	if k.spare == nil {
		err := do(k.file)
		k.marked = markOf(k.file)
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
		if k.file.moved(k.marked) == stayed {
			k.file.Close()
		}
		k.file = nil
	}
	wait, open := 50*time.Millisecond, k.openInTime
	if last {
		wait, open = busy, k.openOrSetAside
	}
	s, err := open(wait)
	if err == nil {
		_, err = s.merge(context.Background(), feedFrom(context.Background(), k.spare, func() {}))
		for _, a := range k.withdrawn {
			if gone := s.Withdraw(context.Background(), a); err == nil && !errors.Is(gone, errNoAnswer) {
				err = gone
			}
		}
		if err == nil {
			err = s.Close()
		} else {
			s.Close()
		}
	}
	if err == nil {
		s, err = Open(k.path, k.now, k.newID)
	}
	if err != nil {
		k.goSpare(err)
		return
	}
	k.use(s)
	k.spare.Close()
	k.spare, k.trouble, k.withdrawn = nil, nil, nil
	k.notice = "The history can be written again; nothing is lost."
}

func (k *Keeper) openInTime(wait time.Duration) (*Store, error) {
	return openWaiting(k.path, wait, k.now, k.newID)
}

// Close writes what is still in memory and closes the history. What cannot be
// written goes into a file in the system's folder for temporary files, which
// the error names together with the command that takes it in.
func (k *Keeper) Close() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.stopBackup != nil {
		k.stopBackup()
	}
	if k.reading != nil {
		defer k.reading.Close()
	}
	if k.spare == nil {
		if k.done.nothing() && k.file.moved(k.marked) != stayed {
			return nil // what is there now is not this program's
		}
		if err := k.follow(); err != nil {
			return err
		}
	}
	if k.spare != nil {
		answers, takes, err := k.spare.counts(context.Background())
		if err != nil || answers+takes > 0 {
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
	answers, takes, err := k.spare.counts(ctx)
	if err != nil || answers+takes == 0 {
		return err
	}
	all := harmony.Counted(answers, "answer")
	if takes > 0 {
		all = strings.TrimPrefix(all+" and ", "0 answers and ") + harmony.Counted(takes, "pass")
	}
	// Sittings that end within one second get a file each.
	f, err := os.CreateTemp("", "footfall-kept-"+k.now().Format("20060102-150405")+"-*.json")
	name := ""
	if err == nil {
		name = f.Name()
		err = k.spare.ExportJSON(ctx, f)
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
	}
	if err != nil {
		return fmt.Errorf("%s could not be written, nor kept elsewhere (%v): %w", all, err, k.trouble)
	}
	return fmt.Errorf("%s could not be written, but lie in %s; take them in with: footfall log import %s; the cause: %w", all, name, name, k.trouble)
}

// reading reads from the file where it can be read.
func reading[T any](k *Keeper, read func(*Store) (T, error)) (T, error) {
	s, err := k.from()
	if err != nil {
		var none T
		return none, err
	}
	return read(s)
}

// Pace returns the player's own times for a kind of question, for drills.Plan.
func (k *Keeper) Pace(kind memory.Kind, way memory.Way) memory.Pace {
	p, err := reading(k, func(s *Store) (memory.Pace, error) { return s.Pace(context.Background(), way, string(kind)) })
	if err != nil {
		return memory.Pace{Way: way}
	}
	return p
}

// States is Store.States, of the file where it can be read.
func (k *Keeper) States(ctx context.Context) (map[memory.Item]memory.State, error) {
	return reading(k, func(s *Store) (map[memory.Item]memory.State, error) { return s.States(ctx) })
}

// LastTakes is Store.LastTakes.
func (k *Keeper) LastTakes(ctx context.Context) (map[memory.Item]Take, error) {
	return reading(k, func(s *Store) (map[memory.Item]Take, error) { return s.LastTakes(ctx) })
}

// TunesInWork is Store.TunesInWork.
func (k *Keeper) TunesInWork(ctx context.Context, since time.Time) ([]string, error) {
	return reading(k, func(s *Store) ([]string, error) { return s.TunesInWork(ctx, since) })
}

// Look is Store.Look.
func (k *Keeper) Look(ctx context.Context, since, today memory.Day) (progress.Record, error) {
	return reading(k, func(s *Store) (progress.Record, error) { return s.Look(ctx, since, today) })
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

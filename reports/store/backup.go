package store

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"modernc.org/sqlite"
)

// MaxCopies is how many daily copies are kept. Each holds all that the earlier ones do.
const MaxCopies = 30

// Backup writes all jobs and attachments as one file. A file that is there is left
// alone unless force says otherwise.
func (l *Local) Backup(path string, force bool) (err error) {
	if _, err := os.Lstat(path); err == nil && !force {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), ".backup-*")
	if err != nil {
		return fmt.Errorf("cannot write in %s: %w", filepath.Dir(path), err)
	}
	defer os.RemoveAll(dir)
	tmp := filepath.Join(dir, File)
	if _, err := l.db.Exec("VACUUM INTO ?", tmp); err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	f, err := os.OpenFile(tmp, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = errors.Join(f.Chmod(0o600), f.Sync(), f.Close())
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	if force {
		return os.Rename(tmp, path)
	}
	return os.Link(tmp, path) // refuses what has come there meanwhile
}

// Taken counts what a restore or a salvage took over.
type Taken struct {
	Events      int `json:"events"`      // that were not here
	Had         int `json:"had"`         // that were here already
	Attachments int `json:"attachments"` // that were not here
	Refused     int `json:"refused"`     // damaged, or of another history
	Lost        int `json:"lost"`        // places from which nothing could be read
}

// Restore takes over from a backup whatever is not here. Events are only added, so
// that nothing here is overwritten, and a second time changes nothing.
func (l *Local) Restore(path string) (t Taken, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.takeOver(); err != nil {
		return t, err
	}
	dir, err := os.MkdirTemp("", "retrostage-*")
	if err != nil {
		return t, err
	}
	defer os.RemoveAll(dir)
	tmp := filepath.Join(dir, File) // reading the file itself could write beside it
	if err := copyFile(path, tmp); err != nil {
		return t, err
	}
	return l.takeFrom(tmp, filepath.Base(path))
}

// takeFrom reads a database that may be damaged anywhere, a copy of the one of that name,
// and adds what is whole.
func (l *Local) takeFrom(path, name string) (t Taken, err error) {
	if err := lengthen(path); err != nil {
		return t, err
	}
	db, err := connect(path, "rw")
	if db != nil {
		defer db.Close()
	}
	if err != nil {
		return t, fmt.Errorf("%s holds no jobs: %w", name, err)
	}
	var at int
	if err := db.QueryRow("PRAGMA user_version").Scan(&at); err != nil {
		return t, fmt.Errorf("%s holds no jobs: %w", name, err)
	}
	if at > len(schema) {
		return t, &NewerError{at, len(schema)}
	}
	var keys []Key
	if at >= 3 {
		keys, _ = keysIn(db) // what of them can be read
	}
	if err := l.takeKeys(keys); err != nil {
		return t, err
	}
	jobs := map[string][]Event{}
	if err := rescue(db, &t, func(e Event) { jobs[e.Job] = append(jobs[e.Job], e) }); err != nil {
		return t, err
	}
	for _, es := range jobs {
		slices.SortFunc(es, before)
		for len(es) > 0 { // an event that is refused leaves the others their place
			n := min(len(es), 1000)
			l.takeEvents(es[:n], &t)
			es = es[n:]
		}
	}
	err = l.takeAttachments(db, &t)
	l.states, l.bases = map[string]*State{}, map[string]*base{}
	err = errors.Join(err, l.settleKeys())
	return t, err
}

// takeEvents adds events as they are: what makes no sense is set aside by fold, here
// as it was there.
func (l *Local) takeEvents(es []Event, t *Taken) {
	tx, err := l.db.Begin()
	if err != nil {
		t.Refused += len(es)
		return
	}
	defer tx.Rollback()
	fresh, had, refused := 0, 0, 0
	for _, e := range es {
		if e.check() != nil {
			refused++
			continue
		}
		var sum []byte
		switch err := tx.QueryRow("SELECT sum FROM events WHERE id = ?", e.ID).Scan(&sum); {
		case err == nil && string(sum) == string(e.digested()):
			had++
		case errors.Is(err, sql.ErrNoRows):
			if _, err := tx.Exec(insertEvent, row(e)...); err != nil {
				refused++
				continue
			}
			l.clock = max(l.clock, e.Order)
			fresh++
		default:
			refused++
		}
	}
	if tx.Commit() != nil {
		t.Refused += len(es)
		return
	}
	t.Events, t.Had, t.Refused = t.Events+fresh, t.Had+had, t.Refused+refused
}

// rescue reads every event that can be read: in one go as far as that goes, from
// there place by place.
func rescue(db *sql.DB, t *Taken, take func(Event)) error {
	take1 := func(e Event, ok bool) {
		if ok {
			take(e)
		} else {
			t.Refused++
		}
	}
	at := int64(0)
	rows, err := db.Query("SELECT seq, " + columns + " FROM events ORDER BY seq")
	if err == nil {
		for rows.Next() {
			var e Event
			var ok bool
			e, ok, err = scan(seqRow{rows, &at})
			var broken *sqlite.Error
			if err != nil && !errors.As(err, &broken) { // the row is there, and nothing sensible in it
				err = nil
				t.Refused++
				continue
			}
			if err != nil {
				break
			}
			take1(e, ok)
		}
		err = errors.Join(err, rows.Err())
		rows.Close()
	}
	if err == nil {
		return nil
	}
	if !damaged(err) {
		return err
	}
	one, err := db.Prepare("SELECT " + columns + " FROM events WHERE seq = ?")
	if err != nil {
		return err
	}
	defer one.Close()
	last := at + places(db)
	var said int64
	if db.QueryRow("SELECT max(seq) FROM events").Scan(&said) == nil {
		last = min(last, said)
	}
	for n, missed := at+1, 0; n <= last && missed < maxMissed; n++ {
		e, ok, err := scan(one.QueryRow(n))
		switch {
		case errors.Is(err, sql.ErrNoRows):
			missed++
		case err != nil:
			missed++
			t.Lost++
		default:
			missed = 0
			take1(e, ok)
		}
	}
	return nil
}

// maxMissed is how many places in a row are tried in vain: more than stand in the
// pages that one blow damages.
const maxMissed = 20_000

// places is no less than the number of events that the file has room for.
func places(db *sql.DB) (n int64) {
	var pages, size int64
	if db.QueryRow("PRAGMA page_count").Scan(&pages) != nil || db.QueryRow("PRAGMA page_size").Scan(&size) != nil {
		return maxMissed
	}
	const least = 150 // bytes of an event: its ids and its sum
	return pages * size / least
}

// seqRow is a row with its place in front.
type seqRow struct {
	r   *sql.Rows
	seq *int64
}

func (s seqRow) Scan(to ...any) error { return s.r.Scan(append([]any{s.seq}, to...)...) }

// salvage sets a damaged database aside as it is and begins a new one with what can
// be read of it.
func (l *Local) salvage(why error) error {
	aside := fmt.Sprintf("%s.damaged-%s", l.path(), l.now().UTC().Format("20060102T150405.000000000"))
	for _, suffix := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(l.path()+suffix, aside+suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("damaged (%v), and it cannot be set aside: %w", why, err)
		}
	}
	if err := own(l.path()); err != nil {
		return err
	}
	if err := l.begin(); err != nil {
		return err
	}
	dir, err := os.MkdirTemp(l.dir, ".salvage-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	tmp := filepath.Join(dir, File)
	for _, suffix := range []string{"", "-wal"} {
		if err := copyFile(aside+suffix, tmp+suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	t, err := l.takeFrom(tmp, filepath.Base(aside))
	l.Note = fmt.Sprintf("The jobs' database was damaged (%v). It was set aside as %s. %d events could be read and are here; %d of them or of the pictures were damaged, and %d places could not be read",
		why, filepath.Base(aside), t.Events, t.Refused, t.Lost)
	if err != nil {
		l.Note += fmt.Sprintf(" (%v)", err)
	}
	l.Note += ". What is missing may be in a copy in the folder " + copies + ": jobs restore."
	return nil
}

const copies = "copies"

// DailyCopy keeps a copy of the day on which the last change was made, where there is
// none that has it.
func (l *Local) DailyCopy() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	var n, at int64
	if err := l.db.QueryRow("SELECT count(*), coalesce((SELECT at FROM events ORDER BY seq DESC LIMIT 1), 0) FROM events").Scan(&n, &at); err != nil || n == 0 {
		return err
	}
	var had int64
	l.db.QueryRow("SELECT value FROM meta WHERE name = 'copied'").Scan(&had) // none yet is 0
	if had == n {
		return nil
	}
	dir := filepath.Join(l.dir, copies)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	if err := l.Backup(filepath.Join(dir, "jobs-"+time.UnixMicro(at).Format(time.DateOnly)+".db"), true); err != nil {
		return err
	}
	if _, err := l.db.Exec("INSERT OR REPLACE INTO meta (name, value) VALUES ('copied', ?)", n); err != nil {
		return err
	}
	old, err := filepath.Glob(filepath.Join(dir, "jobs-????-??-??.db"))
	slices.Sort(old)
	for len(old) > MaxCopies {
		err = errors.Join(err, os.Remove(old[0]))
		old = old[1:]
	}
	return err
}

package store

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

// What people type about people, and every picture, is encrypted with a key of the job
// (AES-256-GCM). Its event is appended like any other; the key alone can be removed, and
// then nobody reads it again, while the rest of the job stands.

// sealable are the kinds of event that can be encrypted; a signature is not.
func sealable(k Kind) bool { return k == Entered || k == Drafted || k == Attached }

// personal tells whether what a change carries may tell of a person.
func (c change) personal() bool {
	switch {
	case !sealable(c.kind):
		return false
	case c.p.Entry != nil:
		return c.p.Entry.Key.Field().Personal()
	case c.p.Draft != nil:
		return c.p.Draft.Key.Field().Personal()
	}
	return c.p.Attachment != nil
}

// errSealed is that a key is not here: it was discarded, or has not come yet.
var errSealed = errors.New("the key it is encrypted with is not here")

// ring is the keys of a store as far as they were used.
type ring struct {
	db   *sql.DB
	have map[string]lockKey
	ofs  map[string]string // of a job, the one that it is encrypted with
}

func newRing(db *sql.DB) *ring { return &ring{db, map[string]lockKey{}, map[string]string{}} }

type lockKey struct {
	cipher.AEAD
	raw []byte
}

func (r *ring) key(id string) (k lockKey, err error) {
	if r == nil {
		return k, errSealed
	}
	if k, ok := r.have[id]; ok {
		return k, nil
	}
	err = r.db.QueryRow("SELECT key FROM keys WHERE id = ?", id).Scan(&k.raw)
	if errors.Is(err, sql.ErrNoRows) {
		return k, errSealed
	}
	if err != nil {
		return k, err
	}
	b, err := aes.NewCipher(k.raw)
	if err == nil {
		k.AEAD, err = cipher.NewGCM(b)
	}
	if err == nil {
		r.have[id] = k
	}
	return k, err
}

// seal encrypts what belongs to an event, or a picture, of a job; of cannot be another's.
// The nonce comes from all of that under the key, so that one picture twice is the same.
func (r *ring) seal(id, of string, plain []byte) ([]byte, error) {
	k, err := r.key(id)
	if err != nil {
		return nil, err
	}
	m := hmac.New(sha256.New, k.raw)
	io.WriteString(m, of+"\x1f")
	m.Write(plain)
	nonce := m.Sum(nil)[:k.NonceSize()]
	return k.Seal(slices.Clone(nonce), nonce, plain, []byte(of)), nil
}

func (r *ring) unseal(id, of string, b []byte) ([]byte, error) {
	k, err := r.key(id)
	if err != nil {
		return nil, err
	}
	err = errors.New("it was not encrypted with the key it names")
	if n := k.NonceSize(); len(b) >= n {
		var plain []byte
		if plain, e := k.Open(plain, b[:n], b[n:], []byte(of)); e == nil {
			return plain, nil
		}
	}
	return nil, err
}

func (e Event) of() string { return e.Job + "\x1f" + e.ID + "\x1f" + string(e.Kind) }

// opened is e with its payload readable.
func (r *ring) opened(e Event) (Event, error) {
	if e.JobKey == "" {
		return e, nil
	}
	if !sealable(e.Kind) {
		return e, fmt.Errorf("an event of the kind %s is not encrypted", e.Kind)
	}
	b, err := r.unseal(e.JobKey, e.of(), e.Payload)
	e.Payload = b
	return e, err
}

// keyFor is the key of a job, made where there is none.
func (l *Local) keyFor(job string) (id string, err error) {
	if id, ok := l.keys.ofs[job]; ok {
		return id, nil
	}
	defer func() {
		if err == nil {
			l.keys.ofs[job] = id
		}
	}()
	err = l.db.QueryRow("SELECT id FROM keys WHERE job = ? ORDER BY id LIMIT 1", job).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, err
	}
	k := make([]byte, 32)
	rand.Read(k) // never fails
	id = NewID()
	_, err = l.db.Exec("INSERT INTO keys VALUES (?, ?, ?)", id, job, k)
	return id, err
}

// Discarded is what a discarding came to.
type Discarded struct {
	Keys   int      `json:"keys"`
	Sealed int      `json:"unreadable"`       // events that nobody reads any more
	Plain  int      `json:"still_readable"`   // events about the person from before they were encrypted
	Copies int      `json:"copies_changed"`   // copies of the day that had the key
	Left   []string `json:"files_left_alone"` // set aside as damaged: they may have the key
}

// Discard removes the keys of a job here, in the copies of the day and, by an exchange,
// everywhere else. What is in workbooks, job files and backups is not reached.
func (l *Local) Discard(job, who, reason string) (d Discarded, err error) {
	if reason == "" {
		return d, errors.New("say why the data are discarded")
	}
	ids, err := l.keysOf(job)
	if err != nil {
		return d, err
	}
	if len(ids) == 0 {
		if _, err := l.State(job); err != nil {
			return d, err
		}
		return d, errors.New("nothing of this job is encrypted here, or its key was discarded already")
	}
	if err := l.act(job, who, change{kind: KeyDiscarded, p: payload{Keys: ids, Reason: reason}}); err != nil {
		return d, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.purge(job, ids); err != nil {
		return d, err
	}
	delete(l.bases, job) // it has to be loaded anew
	d.Keys = len(ids)
	if d.Copies, err = l.purgeCopies(job, ids); err != nil {
		return d, err
	}
	d.Left, _ = filepath.Glob(l.path() + ".damaged-*") // the pattern is sound
	s, err := l.state(job)
	if err != nil {
		return d, err
	}
	d.Sealed = s.Sealed
	es, _, err := l.events(job)
	for _, e := range es {
		if p, err := decode(e.Payload); e.JobKey == "" && err == nil && (change{kind: e.Kind, p: p}).personal() {
			d.Plain++
		}
	}
	return d, err
}

func (l *Local) keysOf(job string) (ids []string, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.column("SELECT id FROM keys WHERE job = ? ORDER BY id", job)
}

// purge removes keys of a job so that their bytes are gone from the file and its log.
func (l *Local) purge(job string, ids []string) error {
	if err := removeKeys(l.db, job, ids); err != nil {
		return &writeError{l.path(), err}
	}
	l.keys = newRing(l.db)
	delete(l.states, job)
	delete(l.heads, job)
	return nil
}

func removeKeys(db *sql.DB, job string, ids []string) error {
	if _, err := db.Exec("PRAGMA secure_delete = ON"); err != nil {
		return err
	}
	for _, id := range ids {
		if _, err := db.Exec("DELETE FROM keys WHERE id = ? AND job = ?", id, job); err != nil {
			return err
		}
	}
	_, err := db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	return err
}

// purgeCopies removes keys from the copies of the day that have them.
func (l *Local) purgeCopies(job string, ids []string) (n int, err error) {
	paths, _ := filepath.Glob(filepath.Join(l.dir, copies, "jobs-????-??-??.db")) // the pattern is sound
	for _, path := range paths {
		db, err := connect(path, "rw")
		if err != nil {
			return n, fmt.Errorf("the key may stand in %s: %w", path, err)
		}
		var form, has int
		err = db.QueryRow("PRAGMA user_version").Scan(&form)
		if err == nil && form >= 3 {
			if err = db.QueryRow("SELECT count(*) FROM keys WHERE job = ?", job).Scan(&has); err == nil && has > 0 {
				n++
				err = removeKeys(db, job, ids)
			}
		}
		if err := errors.Join(err, db.Close()); err != nil {
			return n, fmt.Errorf("the key may stand in %s: %w", path, err)
		}
	}
	return n, nil
}

// discards are the keys that events here have discarded, by job.
func (l *Local) discards() (map[string][]string, error) {
	out := map[string][]string{}
	rows, err := l.db.Query("SELECT job, payload FROM events WHERE kind = ?", string(KeyDiscarded))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var job string
		var b []byte
		if err := rows.Scan(&job, &b); err != nil {
			return nil, err
		}
		if p, err := decode(b); err == nil {
			out[job] = append(out[job], p.Keys...)
		}
	}
	return out, rows.Err()
}

// settleKeys removes the keys whose end has come from elsewhere, or that a crash left.
func (l *Local) settleKeys() error {
	gone, err := l.discards()
	if err != nil {
		return err
	}
	for job, ids := range gone {
		var n int
		if err := l.db.QueryRow("SELECT count(*) FROM keys WHERE job = ?", job).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			continue
		}
		if err := l.purge(job, ids); err != nil {
			return err
		}
		if _, err := l.purgeCopies(job, ids); err != nil {
			return err
		}
	}
	return nil
}

// Key is a job's key on its way between tablets and office.
type Key struct {
	ID  string `json:"id"`
	Job string `json:"job"`
	Key []byte `json:"key"`
}

func (k Key) check() error {
	if !isID(k.ID) || len(k.Key) != 32 {
		return errors.New("it is no key")
	}
	return record.CheckID(k.Job)
}

func keysIn(db *sql.DB) (ks []Key, err error) {
	rows, err := db.Query("SELECT id, job, key FROM keys")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var k Key
		if err := rows.Scan(&k.ID, &k.Job, &k.Key); err != nil {
			return nil, err
		}
		ks = append(ks, k)
	}
	return ks, rows.Err()
}

// takeKeys takes over keys, but for those that were discarded; jobs are those in which
// something may be read now.
func (l *Local) takeKeys(ks []Key) error {
	gone, err := l.discards()
	if err != nil {
		return err
	}
	dead := map[string]bool{}
	for _, ids := range gone {
		for _, id := range ids {
			dead[id] = true
		}
	}
	for _, k := range ks {
		if k.check() != nil || dead[k.ID] {
			continue
		}
		r, err := l.db.Exec("INSERT OR IGNORE INTO keys VALUES (?, ?, ?)", k.ID, k.Job, k.Key)
		if err != nil {
			return &writeError{l.path(), err}
		}
		if n, _ := r.RowsAffected(); n > 0 {
			delete(l.states, k.Job)
			delete(l.heads, k.Job)
		}
	}
	return nil
}

const keyDir = "keys"

// exchangeKeys brings the keys here and in a shared folder up to date. One that was
// discarded is removed there.
func (l *Local) exchangeKeys(dir string) error {
	paths, err := filepath.Glob(filepath.Join(dir, keyDir, "*.json"))
	if err != nil {
		return err
	}
	var come []Key
	there := map[string]bool{}
	for _, path := range paths {
		b, err := archive.Read(path, 4096)
		var k Key
		if err != nil || json.Unmarshal(b, &k) != nil || k.check() != nil || filepath.Base(path) != k.ID+".json" {
			continue // not whole yet
		}
		there[k.ID] = true
		come = append(come, k)
	}
	if err := l.takeKeys(come); err != nil {
		return err
	}
	gone, err := l.discards()
	if err != nil {
		return err
	}
	for _, ids := range gone {
		for _, id := range ids {
			if !isID(id) {
				continue
			}
			if err := os.Remove(filepath.Join(dir, keyDir, id+".json")); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
	}
	ks, err := keysIn(l.db)
	if err != nil {
		return err
	}
	for _, k := range ks {
		if there[k.ID] {
			continue
		}
		b, err := json.Marshal(k)
		if err != nil {
			return err
		}
		l.outside(func() { err = put(filepath.Join(dir, keyDir, k.ID+".json"), b) })
		if err != nil {
			return err
		}
	}
	return nil
}

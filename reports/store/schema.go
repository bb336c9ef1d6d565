package store

import (
	"context"
	"database/sql"
	"fmt"
)

// schema is the steps from an empty file to the newest form, forwards only. A step
// that was released is never changed; another is added below it.
var schema = []string{`
CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE events (
	seq     INTEGER PRIMARY KEY,
	id      TEXT NOT NULL UNIQUE,
	device  TEXT NOT NULL,
	ord     INTEGER NOT NULL,
	who     TEXT NOT NULL,
	at      INTEGER NOT NULL,
	kind    TEXT NOT NULL,
	answers TEXT NOT NULL,
	job     TEXT NOT NULL,
	visit   TEXT NOT NULL,
	jobkey  TEXT NOT NULL,
	payload BLOB NOT NULL,
	sum     BLOB NOT NULL
);
CREATE INDEX by_job ON events (job, ord);
CREATE TABLE attachments (hash TEXT PRIMARY KEY, mime TEXT NOT NULL, data BLOB NOT NULL);
CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER events_remain BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END;
`, `
CREATE TABLE exchanged (folder TEXT NOT NULL, name TEXT NOT NULL, PRIMARY KEY (folder, name)) WITHOUT ROWID;
`, `
CREATE TABLE keys (id TEXT PRIMARY KEY, job TEXT NOT NULL, key BLOB NOT NULL) WITHOUT ROWID;
CREATE INDEX keys_by_job ON keys (job);
`}

// migrate brings the file to the newest form, each step whole or not at all.
func migrate(db *sql.DB, steps []string) error {
	var at int
	if err := db.QueryRow("PRAGMA user_version").Scan(&at); err != nil {
		return err
	}
	if at > len(steps) {
		return &NewerError{at, len(steps)}
	}
	for n := at; n < len(steps); n++ {
		tx, err := db.BeginTx(context.Background(), nil)
		if err != nil {
			return err
		}
		if _, err = tx.Exec(steps[n]); err == nil {
			_, err = tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", n+1))
		}
		if err != nil {
			tx.Rollback()
			return fmt.Errorf("the jobs cannot be brought to form %d: %w", n+1, err)
		}
		if err := tx.Commit(); err != nil {
			return err
		}
	}
	return nil
}

// NewerError is a file that a newer program has written.
type NewerError struct{ has, knows int }

func (e *NewerError) Error() string {
	return fmt.Sprintf("the jobs are kept in form %d; this program knows up to %d. Nothing was changed; use the newer program", e.has, e.knows)
}

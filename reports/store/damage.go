package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// damage is what the integrity check found.
type damage struct{ said string }

func (d *damage) Error() string { return strings.Join(strings.Fields(d.said), " ") }

// damaged tells that a database is no whole database, apart from a disk that is full
// or cannot be reached.
func damaged(err error) bool {
	var d *damage
	if errors.As(err, &d) {
		return true
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return false
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB, lib.SQLITE_SCHEMA, lib.SQLITE_ERROR:
		return true
	}
	return false
}

// maxDatabase is the size beyond which no backup is read: more than photos of years.
const maxDatabase = 16 << 30

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	info, err := in.Stat()
	switch {
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is not a file", from)
	case info.Size() > maxDatabase:
		return fmt.Errorf("%s is too large", from)
	}
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

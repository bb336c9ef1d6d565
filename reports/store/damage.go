package store

import (
	"encoding/binary"
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

// lengthen gives the copy of a database that was cut off its length again, with nothing in
// it: one that is shorter than its header has it SQLite does not open at all, though what
// stands before the cut can be read.
func lengthen(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	var head [32]byte
	if _, err := f.ReadAt(head[:], 0); err != nil || string(head[:16]) != "SQLite format 3\x00" {
		return nil // to be told of it by who opens it
	}
	page := int64(binary.BigEndian.Uint16(head[16:]))
	if page == 1 {
		page = 65536
	}
	if page < 512 || page&(page-1) != 0 {
		return nil
	}
	said := int64(binary.BigEndian.Uint32(head[28:])) * page
	if info.Size() < page || said <= info.Size() || said > maxDatabase {
		return nil
	}
	return f.Truncate(said)
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

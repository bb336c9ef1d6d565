package store

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"retrostage/reports/archive"
)

// Writer is the one process that writes.
type Writer struct {
	PID   int       `json:"pid"`
	Host  string    `json:"host"`
	Since time.Time `json:"since"`
}

func (w Writer) String() string {
	if w.PID == 0 {
		return "another window"
	}
	return fmt.Sprintf("process %d on %s, since %s", w.PID, w.Host, w.Since.Format("2006-01-02 15:04"))
}

// lockFolder makes this process the folder's writer, or tells who is. The file stays
// when the lock is given up: a file that comes and goes can be locked twice.
func lockFolder(dir string) (f *os.File, who Writer, err error) {
	path := filepath.Join(dir, "writer")
	if f, err = os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o640); err != nil {
		return nil, who, err
	}
	if !tryLock(f) {
		b, _ := archive.Read(path, 4096)
		json.Unmarshal(b, &who) // what cannot be read is "another window"
		f.Close()
		return nil, who, nil
	}
	who = Writer{PID: os.Getpid(), Since: time.Now().Truncate(time.Second)}
	who.Host, _ = os.Hostname()
	b, _ := json.Marshal(who)
	if err = f.Truncate(0); err == nil {
		_, err = f.WriteAt(b, 0)
	}
	if err != nil {
		f.Close()
		return nil, who, err
	}
	return f, who, nil
}

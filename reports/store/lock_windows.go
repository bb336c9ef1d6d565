package store

import (
	"os"

	"golang.org/x/sys/windows"
)

// tryLock takes the lock that the system gives back when the process ends, however
// it ends. The byte locked lies beyond what the file holds, so that others may read
// who has it.
func tryLock(f *os.File) bool {
	o := &windows.Overlapped{Offset: 1 << 30}
	return windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, o) == nil
}

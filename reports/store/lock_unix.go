//go:build unix

package store

import (
	"os"
	"syscall"
)

// tryLock takes the lock that the system gives back when the process ends, however
// it ends.
func tryLock(f *os.File) bool {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}

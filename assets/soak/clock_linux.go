package soak

import (
	"syscall"
	"time"
)

// ProcessorTime is that of the process so far, 0 where it cannot be told.
func ProcessorTime() time.Duration {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

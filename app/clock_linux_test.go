package app

import (
	"syscall"
	"time"
	"unsafe"
)

// threadTime is the processor time of the calling thread: what others do on the
// machine does not count.
func threadTime() time.Duration {
	const threadCPU = 3 // CLOCK_THREAD_CPUTIME_ID
	var t syscall.Timespec
	syscall.Syscall(syscall.SYS_CLOCK_GETTIME, threadCPU, uintptr(unsafe.Pointer(&t)), 0)
	return time.Duration(t.Nano())
}

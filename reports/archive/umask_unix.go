//go:build unix

package archive

import (
	"io/fs"
	"sync"
	"syscall"
)

// umask is what the person wants left out of every file's mode. It can only be read
// by setting it, so that is done once.
var umask = sync.OnceValue(func() fs.FileMode {
	m := syscall.Umask(0o077)
	syscall.Umask(m)
	return fs.FileMode(m)
})

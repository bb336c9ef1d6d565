//go:build !linux

package soak

import "time"

// ProcessorTime is that of the process so far, 0 where it cannot be told.
func ProcessorTime() time.Duration { return 0 }

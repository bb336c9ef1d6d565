//go:build !linux

package store

import "time"

func processorTime() time.Duration { return 0 }

//go:build !linux

package app

import "time"

var began = time.Now()

// threadTime is the time that passed: of the thread's own there is no clock here.
func threadTime() time.Duration { return time.Since(began) }

//go:build race

package app

// Under the race detector the program that is opened on a display is built with it too:
// there the bench's work runs beside the toolkit's thread, which it does not in memory.
func init() { buildFlags = append(buildFlags, "-race") }

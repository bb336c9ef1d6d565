// Package soak says how long the tests run. Every loop over invented jobs,
// machines or files is there in the usual run, shorter; with RETROSTAGE_SOAK
// set (make soak) it runs at the length its figures in README come from.
package soak

import "os"

// On tells whether RETROSTAGE_SOAK is set.
func On() bool { return os.Getenv("RETROSTAGE_SOAK") != "" }

// Count is how often a loop turns: usual, or full in a soak.
func Count(usual, full int) int {
	if On() {
		return full
	}
	return usual
}

//go:build !windows

package console

import (
	"fmt"
	"os"
)

// Attach has nothing to do: the streams are the terminal's.
func Attach() {}

// Tell says text on standard error.
func Tell(text string) { fmt.Fprintln(os.Stderr, "retrostage:", text) }

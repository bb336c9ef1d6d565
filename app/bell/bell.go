// Package bell rings where the system lets a program be heard.
package bell

import (
	"io"
	"os"
)

// Ring is heard where that can be: by the system's own sound on Windows, by the
// terminal that the program was started from elsewhere. It tells whether anything was
// asked to sound; nobody can tell whether it was heard.
func Ring() bool { return ring(os.Stderr, isTerminal(os.Stderr)) }

// terminal rings the terminal's bell.
func terminal(w io.Writer, is bool) bool {
	if !is {
		return false
	}
	_, err := io.WriteString(w, "\a")
	return err == nil
}

// isTerminal tells a terminal from a file or a pipe.
func isTerminal(f *os.File) bool {
	s, err := f.Stat()
	return err == nil && s.Mode()&os.ModeCharDevice != 0 && s.Mode()&os.ModeDevice != 0
}

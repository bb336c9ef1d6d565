// Package console is how a program without a console window speaks: to the
// prompt it was called from, or in a message box where there is none.
package console

import (
	"bytes"
	"io"
)

// NoWindow is what is said where the toolkit cannot make a window.
const NoWindow = "Retrostage cannot open its window here. The graphics driver does not offer OpenGL 2.1 or newer. " +
	"Nothing was changed. Install the maker's graphics driver, or put a software OpenGL (opengl32.dll) beside the program, as README says. " +
	"The verbs (retrostage --help) work without a window."

// failed is how the toolkit's log names the failure after which it ends the
// program; it returns no error that could be looked at.
var failed = []byte("window creation error")

// Watch is a writer for the log: it passes all on to w, and tells once, in plain
// words, that no window could be made.
func Watch(w io.Writer, tell func(string)) io.Writer { return &watch{w: w, tell: tell} }

type watch struct {
	w    io.Writer
	tell func(string)
	told bool
}

func (w *watch) Write(b []byte) (int, error) {
	n, err := w.w.Write(b)
	if !w.told && bytes.Contains(b, failed) {
		w.told = true
		w.tell(NoWindow)
	}
	// A program without a console has nowhere to write to: no reason to stop.
	if err != nil {
		return len(b), nil
	}
	return n, nil
}

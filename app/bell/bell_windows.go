package bell

import (
	"io"
	"syscall"
)

var beep = syscall.NewLazyDLL("user32.dll").NewProc("MessageBeep")

const iconWarning = 0x30 // MB_ICONWARNING

func ring(w io.Writer, is bool) bool {
	if ok, _, _ := beep.Call(iconWarning); ok != 0 {
		return true
	}
	return terminal(w, is)
}

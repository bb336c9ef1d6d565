package console

import (
	"os"
	"syscall"
	"unsafe"
)

var (
	kernel  = syscall.NewLazyDLL("kernel32.dll")
	user    = syscall.NewLazyDLL("user32.dll")
	attach  = kernel.NewProc("AttachConsole")
	message = user.NewProc("MessageBoxW")
)

const (
	parentProcess = ^uintptr(0) // ATTACH_PARENT_PROCESS, (DWORD)-1
	iconWarning   = 0x30        // MB_ICONWARNING
)

// Attach gives a program of the windows subsystem the streams of the prompt it
// was called from. A stream that leads to a file or a pipe stays as it is; where
// there is no prompt (a tap on the icon), nothing happens.
func Attach() {
	out, errs := lacking(syscall.STD_OUTPUT_HANDLE), lacking(syscall.STD_ERROR_HANDLE)
	if !out && !errs {
		return
	}
	if ok, _, _ := attach.Call(parentProcess); ok == 0 {
		return
	}
	f, err := os.OpenFile("CONOUT$", os.O_RDWR, 0)
	if err != nil {
		return
	}
	if out {
		os.Stdout = f
	}
	if errs {
		os.Stderr = f
	}
}

// lacking tells that a stream leads nowhere.
func lacking(which int) bool {
	h, err := syscall.GetStdHandle(which)
	if err != nil || h == 0 || h == syscall.InvalidHandle {
		return true
	}
	kind, err := syscall.GetFileType(h)
	return err != nil || kind == syscall.FILE_TYPE_UNKNOWN
}

// Tell says text in a message box: whoever tapped the icon sees no stream.
func Tell(text string) {
	t, err := syscall.UTF16PtrFromString(text)
	if err != nil {
		return
	}
	title, err := syscall.UTF16PtrFromString("Retrostage")
	if err != nil {
		return
	}
	message.Call(0, uintptr(unsafe.Pointer(t)), uintptr(unsafe.Pointer(title)), iconWarning)
}

package console

import (
	"bytes"
	"errors"
	"log"
	"testing"
)

func TestWatchTellsOnceThatNoWindowWasMade(t *testing.T) {
	var out bytes.Buffer
	told := 0
	l := log.New(Watch(&out, func(string) { told++ }), "", 0)
	l.Print("something else")
	if told != 0 {
		t.Fatal("told of a window where none failed")
	}
	l.Print("Fyne error: window creation error")
	l.Print("Fyne error: window creation error")
	if told != 1 {
		t.Errorf("told %d times, not once", told)
	}
	if n := bytes.Count(out.Bytes(), []byte("\n")); n != 3 {
		t.Errorf("%d lines passed on, not 3", n)
	}
}

type nowhere struct{}

func (nowhere) Write([]byte) (int, error) { return 0, errors.New("no console") }

// Without a console every write fails; the message is told all the same.
func TestWatchTellsWithoutAConsole(t *testing.T) {
	told := false
	n, err := Watch(nowhere{}, func(string) { told = true }).Write([]byte("window creation error"))
	if !told || err != nil || n == 0 {
		t.Errorf("told %v, wrote %d, %v", told, n, err)
	}
}

package bell

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

func TestATerminalRingsAndAFileDoesNot(t *testing.T) {
	var b bytes.Buffer
	if !terminal(&b, true) || b.String() != "\a" {
		t.Errorf("a terminal got %q", b.String())
	}
	b.Reset()
	if terminal(&b, false) || b.Len() > 0 {
		t.Errorf("what is no terminal got %q", b.String())
	}
	f, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if isTerminal(f) {
		t.Error("a file is taken for a terminal")
	}
}

package archive

import (
	"os"
	"path/filepath"
	"testing"
)

func TestPortable(t *testing.T) {
	dir := t.TempDir()
	exe := filepath.Join(dir, "retrostage.exe")
	if got, ok := portable(exe); ok {
		t.Fatalf("without a marker: %q", got)
	}
	if err := os.WriteFile(filepath.Join(dir, marker), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if got, ok := portable(exe); !ok || got != filepath.Join(dir, "jobs") {
		t.Errorf("with a file: %q, %v", got, ok)
	}
	if err := os.Remove(filepath.Join(dir, marker)); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, marker), 0o700); err != nil {
		t.Fatal(err)
	}
	if got, ok := portable(exe); !ok || got != filepath.Join(dir, marker) {
		t.Errorf("with a folder: %q, %v", got, ok)
	}
}

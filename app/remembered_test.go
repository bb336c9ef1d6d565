package app

import (
	"strings"
	"testing"
	"time"
)

// FuzzPreferences: whatever the toolkit's file of settings holds, the window opens.
func FuzzPreferences(f *testing.F) {
	f.Add(`{"suction":{"Key":"suction_pressure","Unit":"psig"}}`, `{"model":"model"}`)
	f.Add("null", "[]")
	f.Add(strings.Repeat("[", 4000), `{"a":1}`)
	f.Fuzz(func(t *testing.T, columns, lists string) {
		began := time.Now()
		c, l := remembered(columns, lists)
		if c == nil || l == nil {
			t.Fatal("nothing to remember in")
		}
		if d := time.Since(began); d > 10*time.Second {
			t.Errorf("took %v", d)
		}
	})
}

package register

import (
	"os"
	"path/filepath"
	"testing"

	"retrostage/assets/soak"
)

// Ten megabytes of anything in place of a journal or a policy are read or refused in a
// second of the processor and 200 MB, and what is no journal is left as it is.
func TestTenMegabytes(t *testing.T) {
	things := soak.Hostile(journalHead+"\n", `{"file":"a.xlsx","size":4,"state":"signed"}`+"\n")
	for name, b := range things {
		path := filepath.Join(t.TempDir(), "journal")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		soak.Bounded(t, "a journal of "+name, func() {
			j, known, err := openJournal(path)
			if err != nil {
				return
			}
			j.close()
			if len(known) > 0 && name != "its own lines" {
				t.Errorf("%s: %d rows out of nothing", name, len(known))
			}
		})
	}
	for name, b := range soak.Hostile(`{"keys":[`, `{"key":"","who":"x"},`) {
		soak.Bounded(t, "a policy of "+name, func() {
			if _, err := ParsePolicy(b); err == nil {
				t.Errorf("%s: a policy out of nothing", name)
			}
		})
	}
}

package judge

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// A subject of files: NAME.old.json, NAME.new.json and NAME.data.json.
func bring(t testing.TB, base string) *subject {
	file := func(ext string) []byte {
		b, err := os.ReadFile(base + ext)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	s := &subject{name: filepath.Base(base)}
	if err := json.Unmarshal(file(".data.json"), &s.data); err != nil {
		t.Fatal(err)
	}
	// Neither has to be a valid file: an attempt may hold what no file may.
	for _, x := range []struct {
		ext string
		to  **netlist.Unit
	}{{".old.json", &s.old}, {".new.json", &s.new}} {
		var u netlist.Unit
		if err := json.Unmarshal(file(x.ext), &u); err != nil {
			t.Fatal(err)
		}
		*x.to = &u
	}
	return s
}

// stillProved are known false proofs that wait for the proof to be mended.
var stillProved = map[string]bool{}

// Circuits that were proved once although they do harm are not proved any more,
// and the judge says of each that it does harm.
func TestAttempts(t *testing.T) {
	files, err := filepath.Glob("../../testdata/attempts/wiring/*.data.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no attempts: %v", err)
	}
	for _, f := range files {
		s := bring(t, strings.TrimSuffix(f, ".data.json"))
		t.Run(s.name, func(t *testing.T) {
			old, err := observe(reread(s.old))
			if err != nil {
				t.Fatal(err)
			}
			h := harmful(old, reread(s.new), wantOf(s.data.Compressor, sortedKeys(s.data.Omitted)...))
			if len(h) == 0 {
				t.Error("the judge finds no harm")
			}
			verdict, why := prove(s.old, s.new, s.data)
			t.Logf("%s: %s; the judge: %v", verdict, ids(why), h)
			switch known := stillProved[s.name]; {
			case verdict == proof.Holds && !known:
				t.Error("FALSE PROOF")
			case verdict == proof.Holds:
				t.Log("OPEN: a known false proof")
			case known:
				t.Error("not proved any more: take it off the list of open ones")
			}
		})
	}
}
